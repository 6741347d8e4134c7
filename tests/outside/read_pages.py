"""Reads the cells of printed chart pages from their pictures, by other means than brede's.

Usage: read_pages.py DPI NEEDLES FIRST PAGE.pgm ...

The pictures are grey ones by poppler, of all pages in order; FIRST is the number of the first chart page. Boxes of
the key are connected components (scikit-image, measure.label) that are square and hollow; the grid of a page is
taken from sums of dark points; each cell is compared with each box by normalised cross-correlation at nine shifts.
Prints JSON: for each chart page its number, columns, rows and needles (from 0; -1 bare cloth), row by row.
"""
import json
import sys

import numpy as np
from skimage import io, measure, transform

DARK = 128
SIDE = 24
EDGE = 3  # of SIDE: rules and what blurs from them


def key_boxes(page, dpi):
    """The figures in the boxes of a page of the key, column by column, each SIDE x SIDE."""
    boxes = []
    for part in measure.regionprops(measure.label(page < 235, connectivity=2)):
        top, left, bottom, right = part.bbox
        is_framed = all(edge.mean() > 0.9 for edge in (part.image[0], part.image[-1], part.image[:, 0], part.image[:, -1]))
        if is_framed and 3.5 < (bottom - top) * 25.4 / dpi < 14:
            boxes.append((left, top, right, bottom))
    # The symbol stands in a square box, its shade in a narrower one to the right.
    symbols = []
    for left, top, right, bottom in boxes:
        side = bottom - top
        beside = [b for b in boxes if abs(b[1] - top) <= 2 and abs(b[3] - bottom) <= 2 and right <= b[0] < right + 0.3 * side]
        if abs(right - left - side) <= 2 and beside:
            symbols.append((left, top, right, bottom))
    symbols.sort(key=lambda s: (round(s[0] / 40), s[1]))
    figures = []
    for left, top, right, bottom in symbols:
        box = page[top:bottom, left:right].astype(float)
        figures.append(transform.resize(box, (SIDE, SIDE), anti_aliasing=True))
    return figures


def extent(line):
    """The longest dark stretch of a line."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], line.astype(int), [0]])))
    starts, ends = edges[::2], edges[1::2]
    longest = np.argmax(ends - starts)
    return starts[longest], ends[longest]


def rules(page):
    """Where bold rules stand that are upright: lines of which one stretch is nearly as long as the longest."""
    dark = (page < DARK).T
    # A column of solid symbols is dark too, but never in one stretch.
    lengths = np.array([np.subtract(*extent(line)[::-1]) if line.mean() > 0.3 else 0 for line in dark])
    long = np.flatnonzero(lengths > 0.8 * lengths.max())
    return np.array([np.mean(run) for run in np.split(long, np.flatnonzero(np.diff(long) > 1) + 1)]) + 0.5


def grid(page):
    """Left, top, side of a cell, columns and rows."""
    upright, level = rules(page), rules(page.T)
    side = np.median(np.concatenate([np.diff(upright), np.diff(level)])) / 10
    dark = page < DARK
    spans = []
    for lines, across in ((level, dark), (upright, dark.T)):
        found = [extent(across[int(line)]) for line in lines]
        spans.append((np.median([a for a, _ in found]), np.median([b for _, b in found])))
    sizes = [round((end - start) / side) for start, end in spans]
    # Bold rules are surer than the ends of others: the first stands a whole number of cells from the edge.
    starts = [line[0] - round((line[0] - start) / side) * side for line, (start, _) in zip((upright, level), spans)]
    # So is the side between the first and the last of them.
    for lines in (upright, level):
        if len(lines) > 1:
            length = lines[-1] - lines[0]
            side = length / round(length / side)
    return starts[0], starts[1], side, sizes[0], sizes[1]


def normalised(figures):
    """Rows of zero mean and unit length, from figures without their edges."""
    inner = figures[:, EDGE:-EDGE, EDGE:-EDGE].reshape(len(figures), -1)
    inner = inner - inner.mean(1, keepdims=True)
    return inner / np.maximum(np.linalg.norm(inner, axis=1, keepdims=True), 1e-9)


def read(page, signs):
    left, top, side, columns, rows = grid(page)
    best = np.full((rows * columns, len(signs)), -1.0)
    spread = None
    for dx in (-0.6, 0, 0.6):
        for dy in (-0.6, 0, 0.6):
            scale = side / SIDE
            move = transform.AffineTransform(scale=(scale, scale), translation=(left + dx - 0.5, top + dy - 0.5))
            flat = transform.warp(page.astype(float), move, output_shape=(rows * SIDE, columns * SIDE), order=1, cval=255.0)
            cells = flat.reshape(rows, SIDE, columns, SIDE).swapaxes(1, 2).reshape(-1, SIDE, SIDE)
            best = np.maximum(best, normalised(cells) @ signs.T)
            if dx == dy == 0:
                spread = cells[:, 4:-4, 4:-4].std((1, 2))
    needles = best.argmax(1)
    needles[spread < 6] = -1
    return {"columns": columns, "rows": rows, "needles": needles.tolist()}


def main():
    dpi, needles, first = float(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
    pages = [io.imread(path) for path in sys.argv[4:]]
    figures = [figure for page in pages[: first - 1] for figure in key_boxes(page, dpi)]
    if len(figures) != needles:
        sys.exit(f"{len(figures)} boxes in the key, not {needles}")
    signs = normalised(np.array(figures))
    found = [{"page": first + at, **read(page, signs)} for at, page in enumerate(pages[first - 1 :])]
    print(json.dumps(found))


main()
