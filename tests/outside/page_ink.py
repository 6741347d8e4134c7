"""The ink of pages, by Pillow and numpy: what red, green and blue lack of white, what all three lack counted once as
black (ISO 32000-1, 10.3.4), the four inks added up.

Reads JSON: {"pages": [paths of pictures]}. Writes JSON: for every page the mean, in hundredths of the page.
"""
import json
import sys

import numpy as np
from PIL import Image

answers = []
for path in json.load(sys.stdin)["pages"]:
    lack = 1 - np.asarray(Image.open(path).convert("RGB"), dtype=float) / 255
    black = lack.min(axis=2)
    answers.append(100 * float((lack.sum(axis=2) - 2 * black).mean()))
print(json.dumps(answers))
