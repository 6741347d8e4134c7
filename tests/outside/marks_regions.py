"""Regions and boundaries by scikit-image, for the masks on standard input.

Reads JSON: {"masks": [[[0, 1, ...], ...], ...], "seeds": [[column, row], ...]}, seeds from 0.
Writes JSON, one object a mask: the cells of the seed's region by sides and by corners (skimage.measure.label),
the cells just inside its boundary (skimage.segmentation.find_boundaries, mode inner), the same region with its
holes filled (scipy.ndimage.binary_fill_holes), and its area and perimeter along the cells' sides.
"""
import json
import sys

import numpy as np
from scipy import ndimage
from skimage.measure import label
from skimage.segmentation import find_boundaries

request = json.load(sys.stdin)
answers = []
for mask, (column, row) in zip(request["masks"], request["seeds"]):
    mask = np.array(mask, dtype=np.int64)

    def region(connectivity):
        # Background -1: zeros are a colour like any other.
        labels = label(mask, connectivity=connectivity, background=-1)
        return labels == labels[row, column]

    sides = region(1)
    padded = np.pad(sides, 1)
    perimeter = int(sum(np.sum(padded != np.roll(padded, 1, axis)) for axis in (0, 1)))
    inner = find_boundaries(np.pad(sides, 1).astype(int), connectivity=1, mode="inner")[1:-1, 1:-1]
    answers.append(
        {
            "sides": sides.astype(int).tolist(),
            "corners": region(2).astype(int).tolist(),
            "inner": inner.astype(int).tolist(),
            "filled": ndimage.binary_fill_holes(sides).astype(int).tolist(),
            "perimeter": perimeter,
        }
    )
json.dump(answers, sys.stdout)
