"""Looks for a frontal face with the cascade that scikit-image ships (LBP, trained on frontal faces), and how near it is.

    python tests/outside/faces_found.py PHOTO LEFT,TOP,SIDE CELLS.png [OTHER.png]

LEFT, TOP and SIDE are the square about the face in pixels of the photo. Prints JSON: in how many windows at least the
cascade must see the face in the photo brought to the size of the chart to find it there (`photo`: 0 where it does not, else
4, as it usually asks for, 6 or 8), the same in the chart's cells (`cells`), and the mean CIEDE2000 of the cells to the photo
(its light averaged) over all, in the face and in both eyes (`near`). With OTHER, also as shares of that chart's (`ratio`).
"""
import json
import sys

import numpy as np
from PIL import Image
from skimage.color import deltaE_ciede2000, rgb2lab
from skimage.data import lbp_frontal_face_cascade_filename
from skimage.feature import Cascade

cascade = Cascade(lbp_frontal_face_cascade_filename())


def read(path):
    picture = Image.open(path).convert("RGBA")
    return Image.alpha_composite(Image.new("RGBA", picture.size, "#f4ecd8"), picture).convert("RGB")


def found(picture, square):
    """The most windows of 4, 6 and 8 with which a face is found where it is and about as large."""
    left, top, side = square
    most = 0
    for windows in (4, 6, 8):
        faces = cascade.detect_multi_scale(
            img=np.asarray(picture),
            scale_factor=1.1,
            step_ratio=1,
            min_size=(24, 24),
            max_size=picture.size,
            min_neighbor_number=windows,
        )
        for face in faces:
            x, y = face["c"] + face["width"] / 2 - left, face["r"] + face["height"] / 2 - top
            if 0 < x < side and 0 < y < side and side / 2 < face["width"] < 2 * side:
                most = windows
    return most


def averaged(photo, size):
    light = np.asarray(photo, float) / 255
    light = np.where(light <= 0.04045, light / 12.92, ((light + 0.055) / 1.055) ** 2.4).astype(np.float32)
    planes = [np.asarray(Image.fromarray(light[..., c]).resize(size, Image.BOX)) for c in range(3)]
    light = np.clip(np.stack(planes, 2), 0, 1)
    return np.where(light <= 0.0031308, light * 12.92, 1.055 * light ** (1 / 2.4) - 0.055)


def near(photo, cells, square):
    off = deltaE_ciede2000(rgb2lab(averaged(photo, cells.size)), rgb2lab(np.asarray(cells) / 255))
    left, top, side = square
    y, x = np.mgrid[0 : cells.height, 0 : cells.width] + 0.5

    def within(across, down, wide, high):
        return ((x - left - across * side) / (wide * side)) ** 2 + ((y - top - down * side) / (high * side)) ** 2 < 1

    face = within(0.5, 0.5, 0.45, 0.55)
    eyes = within(0.31, 0.38, 0.15, 0.1) | within(0.69, 0.38, 0.15, 0.1)
    return [round(float(off[part].mean()), 3) for part in (np.ones_like(face), face, eyes)]


photo, cells = read(sys.argv[1]), read(sys.argv[3])
square = [float(value) * cells.width / photo.width for value in sys.argv[2].split(",")]
small = photo.resize(cells.size, Image.BOX)
told = {"photo": found(small, square), "cells": found(cells, square), "near": near(photo, cells, square)}
if len(sys.argv) > 4:
    other = near(photo, read(sys.argv[4]), square)
    told["ratio"] = [round(one / two, 3) for one, two in zip(told["near"], other)]
print(json.dumps(told))
