"""Counts the cells of a cells.png by colour, with Pillow. Prints JSON: colour to number of cells."""
import json
import sys

from PIL import Image

picture = Image.open(sys.argv[1]).convert("RGBA")
counts = {}
for count, (r, g, b, a) in picture.getcolors(picture.width * picture.height):
    if a not in (0, 255):
        sys.exit(f"a cell is neither stitched nor bare: alpha {a}")
    if a == 255:
        key = f"#{r:02x}{g:02x}{b:02x}"
        counts[key] = counts.get(key, 0) + count
print(json.dumps(counts))
