"""Which symbols are twins, by FreeType (Pillow), scipy and scikit-image, to judge fonts-open/brede-symbols/likeness.bin.

Reads JSON: {"font": path, "pairs": [[a, b], ...], "symbols": [a, ...]}, symbols by their place in the font. Writes JSON:
"pairs", for every pair and for cells of 2.0, 2.5 and 3.0 mm the correlation of their prints as likeness.rs states it: the
greatest of prints blurred by 0.6 pixels and faded by a tenth, of 600 dots an inch each black or white scanned at 150, and
of the same with ink run by 0.05 mm, one of the two shifted by up to half a pixel; "open", for every symbol and the same
cells, the least white left in any part that it encloses (over half a hundredth of the cell) when ink has run by 0.08 mm, in pixels
at any half of them, blurred by 0.6 of one; null where it encloses none.
"""
import functools
import json
import sys

import numpy as np
from PIL import Image, ImageDraw, ImageFont
from scipy.ndimage import distance_transform_edt, gaussian_filter
from skimage.measure import label

question = json.load(sys.stdin)
SIZES = (2.0, 2.5, 3.0)
HALVES = (-0.5, 0.0, 0.5)


@functools.cache
def font(size):
    return ImageFont.truetype(question["font"], size, layout_engine=ImageFont.Layout.BASIC)


def drawn(symbol, side, whole, across=0.0, down=0.0):
    """Coverage of a square of `whole` samples with the symbol, `side` samples large, about its middle."""
    picture = Image.new("L", (whole, whole))
    left, foot = whole / 2 - side / 2 + across, whole / 2 + side / 2 + down
    ImageDraw.Draw(picture).text((left, foot), chr(0xE000 + symbol), fill=255, font=font(side), anchor="ls")
    return np.asarray(picture, float) / 255


def run(inked, reach):
    return distance_transform_edt(~inked) <= reach + 1e-9 if reach > 0 and inked.any() else inked


def means(picture, step):
    side = len(picture) // step
    return picture.reshape(side, step, side, step).mean(axis=(1, 3))


@functools.cache
def soft(symbol, mm, across, down):
    side, fine = mm / 25.4 * 150, 8
    pixels = int(np.ceil(side)) + 4
    sharp = means(drawn(symbol, side * fine, pixels * fine, across * fine, down * fine), fine)
    seen = np.maximum(gaussian_filter(sharp, 0.6, radius=2, mode="constant") - 0.1, 0)
    return direction(seen[2:-2, 2:-2])


@functools.cache
def scanned(symbol, mm, reach_mm, across, down):
    """The scanner is shifted against the print, by whole dots."""
    side, fine = mm / 25.4 * 600, 4
    pixels = int(np.ceil(side / 4))
    dots = (pixels + 2) * 4
    black = means(drawn(symbol, side * fine, dots * fine), fine) >= 0.5
    black = run(black, reach_mm / 25.4 * 600)
    top, left = 4 + int(down * 4), 4 + int(across * 4)
    return direction(means(black[top : top + pixels * 4, left : left + pixels * 4].astype(float), 4))


def direction(picture):
    centred = picture.ravel() - picture.mean()
    return centred / max(np.linalg.norm(centred), 1e-9)


def likeness(a, b, mm):
    models = (soft, lambda s, mm, *by: scanned(s, mm, 0.0, *by), lambda s, mm, *by: scanned(s, mm, 0.05, *by))
    return max(
        float(model(a, mm, 0.0, 0.0) @ model(b, mm, across, down))
        for model in models
        for across in HALVES
        for down in HALVES
    )


def white_left(symbol, mm):
    fine, side = 16, mm / 25.4 * 150
    whole = (int(np.ceil(side)) + 4) * fine
    inked = drawn(symbol, side * fine, whole) > 0.5
    parts = label(~inked, connectivity=1)
    spread = run(inked, 0.08 / 25.4 * 150 * fine).astype(float)
    seen = np.zeros_like(parts, float)
    # Pixels at four phases of half a pixel, each seen about its middle.
    for down in (0, fine // 2):
        for right in (0, fine // 2):
            moved = np.roll(spread, (-down, -right), (0, 1))
            ink = gaussian_filter(means(moved, fine), 0.6, radius=2, mode="constant")
            rows = (np.arange(len(ink)) * fine + fine // 2 + down) % whole
            columns = (np.arange(len(ink)) * fine + fine // 2 + right) % whole
            seen[np.ix_(rows, columns)] = 1 - ink
    # The part in the corner is the paper about the symbol.
    left = [
        seen[parts == part].max()
        for part in range(1, parts.max() + 1)
        if part != parts[0, 0] and (parts == part).sum() >= 0.005 * (side * fine) ** 2
    ]
    return min(left) if left else None


print(
    json.dumps(
        {
            "pairs": [[likeness(a, b, mm) for mm in SIZES] for a, b in question["pairs"]],
            "open": [[white_left(symbol, mm) for mm in SIZES] for symbol in question["symbols"]],
        }
    )
)
