"""How alike symbols look, by FreeType (Pillow) and scipy, to judge fonts-open/brede-symbols/distances.bin.

Reads JSON: {"font": path, "pairs": [[a, b], ...]}, symbols by their place in the font. Writes JSON: for every pair
the distance as measure.rs states it, the second moved, then the first moved: cells of 2.0, 2.5 and 3.0 mm at 150 dots an inch, blurred by 0.6 pixels,
faded by a tenth, one of the two shifted by up to a pixel in half pixels, or by up to half a pixel and 0.92 times as
large or as small.
"""
import functools
import json
import sys

import numpy as np
from PIL import Image, ImageDraw, ImageFont
from scipy.ndimage import gaussian_filter

FINE, PIXELS = 16, 22
question = json.load(sys.stdin)


@functools.cache
def font(size):
    return ImageFont.truetype(question["font"], size, layout_engine=ImageFont.Layout.BASIC)


@functools.cache
def ink(symbol, side, grown, across, down):
    """Ink by pixel of a symbol about the middle of a square, moved by so many pixels."""
    whole = PIXELS * FINE
    size = side * FINE * grown
    picture = Image.new("L", (whole, whole))
    left = whole / 2 - size / 2 + across * FINE
    foot = whole / 2 + size / 2 + down * FINE
    ImageDraw.Draw(picture).text((left, foot), chr(0xE000 + symbol), fill=255, font=font(size), anchor="ls")
    sharp = np.asarray(picture, float).reshape(PIXELS, FINE, PIXELS, FINE).mean(axis=(1, 3)) / 255
    soft = gaussian_filter(sharp, 0.6, radius=2, mode="constant")
    return np.maximum(soft - 0.1, 0) / 0.9


def moves():
    half = [step / 2 for step in range(-2, 3)]
    yield from ((1.0, across, down) for across in half for down in half)
    for grown in (0.92, 1 / 0.92):
        yield from ((grown, across, down) for across in half[1:4] for down in half[1:4])


def distance(a, b):
    least = 1.0
    for mm in (2.0, 2.5, 3.0):
        side = mm / 25.4 * 150
        still = ink(a, side, 1.0, 0.0, 0.0)
        for move in moves():
            moved = ink(b, side, *move)
            unlike = np.abs(still - moved).sum()
            least = min(least, unlike / ((still.sum() + moved.sum()) * side**2) ** 0.5)
    return least


print(json.dumps([[distance(a, b), distance(b, a)] for a, b in question["pairs"]]))
