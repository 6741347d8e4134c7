"""Pairs of colours that some eyes take for one, by colour-science: matrices of Machado, Oliveira & Fernandes (2009),
sRGB by IEC 61966-2-1, and CIEDE2000.

Reads JSON: {"colours": ["#rrggbb", ...]}. Writes JSON: for every pair [one, two], one before two,
[usual, protan, deutan, tritan].
"""
import json
import sys
import warnings

import numpy as np

warnings.simplefilter("ignore")
import colour
from colour.blindness import matrix_cvd_Machado2009

texts = json.load(sys.stdin)["colours"]
srgb = np.array([[int(text[i : i + 2], 16) for i in (1, 3, 5)] for text in texts]) / 255
light = colour.cctf_decoding(srgb, "sRGB")


def lab(light):
    return colour.XYZ_to_Lab(colour.RGB_to_XYZ(light, "sRGB"), colour.RGB_COLOURSPACES["sRGB"].whitepoint)


kinds = ("Protanomaly", "Deuteranomaly", "Tritanomaly")
seen = [lab(light)] + [lab(np.clip(light @ matrix_cvd_Machado2009(kind, 1.0).T, 0, 1)) for kind in kinds]
answers = []
for one in range(len(texts)):
    for two in range(one + 1, len(texts)):
        answers.append([float(colour.delta_E(labs[one], labs[two], method="CIE 2000")) for labs in seen])
print(json.dumps(answers))
