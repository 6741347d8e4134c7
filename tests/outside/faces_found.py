"""Looks for a frontal face with the cascade that scikit-image ships (LBP, trained on frontal faces).

    python tests/outside/faces_found.py PHOTO CELLS.png

Prints JSON: how many faces are found in the photo brought to the size of the chart, and in the chart's cells.
"""
import json
import sys

import numpy as np
from PIL import Image
from skimage.data import lbp_frontal_face_cascade_filename
from skimage.feature import Cascade

cells = Image.open(sys.argv[2]).convert("RGBA")
cloth = Image.new("RGBA", cells.size, "#f4ecd8")
cells = Image.alpha_composite(cloth, cells).convert("RGB")
photo = Image.open(sys.argv[1]).convert("RGB").resize(cells.size, Image.BOX)
cascade = Cascade(lbp_frontal_face_cascade_filename())


def faces(picture):
    found = cascade.detect_multi_scale(
        img=np.asarray(picture), scale_factor=1.1, step_ratio=1, min_size=(24, 24), max_size=picture.size
    )
    return len(found)


print(json.dumps({"photo": faces(photo), "cells": faces(cells)}))
