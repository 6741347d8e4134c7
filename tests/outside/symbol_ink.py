"""The ink of every symbol by Pillow (FreeType): the share of the cell that is filled, by character.

Reads the path of the font and the number of symbols. Writes JSON: a list of [ink, advance, outside], ink and
outside (ink that leaves the cell) as shares of the cell, the advance in cells.
"""
import json
import sys

import numpy as np
from PIL import Image, ImageDraw, ImageFont

SIDE = 400
path, count = sys.argv[1], int(sys.argv[2])
font = ImageFont.truetype(path, SIDE, layout_engine=ImageFont.Layout.BASIC)
answers = []
for index in range(count):
    character = chr(0xE000 + index)
    picture = Image.new("L", (3 * SIDE, 3 * SIDE))
    ImageDraw.Draw(picture).text((SIDE, 2 * SIDE), character, fill=255, font=font, anchor="ls")
    ink = np.asarray(picture, dtype=float) / 255 / SIDE**2
    inside = ink[SIDE : 2 * SIDE, SIDE : 2 * SIDE].sum()
    answers.append([inside, font.getlength(character) / SIDE, ink.sum() - inside])
print(json.dumps(answers))
