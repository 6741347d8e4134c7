"""Letters by Pillow (FreeType) at the native size of a pixel font, for the texts on standard input.

Reads JSON: [{"font": path, "size": pixels, "text": ...}, ...]. Writes JSON: a list of [column, row] each, moved
so that the leftmost is 0 and the base line is row 0; one pixel for one cell.

FreeType moves the outlines of a TrueType font without instructions about before it draws them. So that the
letters are drawn as the font has them, fontTools first gives such a font a program that does nothing.
"""
import functools
import io
import json
import sys

from fontTools.ttLib import TTFont, newTable
from fontTools.ttLib.tables.ttProgram import Program
from PIL import Image, ImageDraw, ImageFont


@functools.cache
def unmoved(path):
    font = TTFont(path)
    if "glyf" in font:
        font["prep"] = newTable("prep")
        font["prep"].program = Program()
        # PUSHB 0, POP, eight times.
        font["prep"].program.fromBytecode(bytes([0xB0, 0x00, 0x21] * 8))
        font["maxp"].maxStackElements = max(font["maxp"].maxStackElements, 8)
    copy = io.BytesIO()
    font.save(copy)
    return copy.getvalue()


answers = []
for request in json.load(sys.stdin):
    font = ImageFont.truetype(io.BytesIO(unmoved(request["font"])), request["size"], layout_engine=ImageFont.Layout.BASIC)
    picture = Image.new("1", (request["size"] * (len(request["text"]) + 4), request["size"] * 4))
    base = request["size"] * 2
    ImageDraw.Draw(picture).text((request["size"], base), request["text"], fill=1, font=font, anchor="ls")
    pixels = picture.load()
    cells = [(x, y - base) for y in range(picture.height) for x in range(picture.width) if pixels[x, y]]
    left = min((x for x, _ in cells), default=0)
    answers.append(sorted([x - left, y] for x, y in cells))
json.dump(answers, sys.stdout)
