"""Draws charts beside their pictures, a row a picture: what to look at before figures are believed.

    python tests/outside/eye_pairs.py OUT.png PICTURE.png,CHART.cells.png,OTHER.cells.png ...

All of a row have as many pixels; the upper left 140 x 92 of each are drawn, twice as large. The sheet of DEVELOPERS.md was
drawn so, of photos of tests/photos brought to 140 pixels in linear light: chart of before, chart now, chart for 4 m.
"""
import sys

from PIL import Image

WIDE, HIGH, BETWEEN = 280, 184, 3

rows = [row.split(",") for row in sys.argv[2:]]
across = max(len(row) for row in rows)
sheet = Image.new("RGB", (across * (WIDE + BETWEEN) - BETWEEN, len(rows) * (HIGH + 4) - 4), "white")
for down, row in enumerate(rows):
    for place, path in enumerate(row):
        picture = Image.open(path).convert("RGB").crop((0, 0, WIDE // 2, HIGH // 2)).resize((WIDE, HIGH), Image.NEAREST)
        sheet.paste(picture, (place * (WIDE + BETWEEN), down * (HIGH + 4)))
sheet.quantize(256, kmeans=8, dither=0).save(sys.argv[1], optimize=True)
