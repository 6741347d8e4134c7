"""A photo of twelve megapixels to a chart in 40 threads and its files, beside numpy, scikit-learn and reportlab doing less.

    cargo build --release --bin brede
    python tests/bench/beside_python.py target/release/brede

brede is a whole process with all that `make` does: the subject, calm grounds, pages with key and map, pages proof-read,
the stitched picture, lists. The other way is what a person would write with Python's libraries: Pillow decodes, numpy
takes the mean in linear light, scikit-image goes to CIELAB, scikit-learn's KMeans finds 40 colours, each goes to the
nearest thread of the card, and reportlab draws the chart pages, a rectangle and a string a square. The time to load the
libraries is not counted. Both say the median of three, in seconds, and brede its processor time too.
"""
import csv
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from beside_reportlab import HERE, SYMBOLS, plainly
from PIL import Image
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from skimage.color import rgb2lab
from sklearn.cluster import KMeans

CARD = HERE / "../checks/range-450.csv"
COLUMNS, ROWS, THREADS = 280, 210, 40
ACROSS, DOWN, MM = 58, 74, 72 / 25.4


def charted(photo, card):
    """The thread of each cell, and the threads' colours as 0 to 1."""
    picture = np.asarray(Image.open(photo).convert("RGB"))
    value = np.arange(256) / 255
    linear = np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4).astype(np.float32)
    light = linear[picture]
    # Whole pixels: nearest edges stand for the exact share of a pixel that a cell's edge cuts.
    down = np.linspace(0, light.shape[0], ROWS + 1).round().astype(int)
    across = np.linspace(0, light.shape[1], COLUMNS + 1).round().astype(int)
    sums = np.add.reduceat(np.add.reduceat(light, down[:-1], axis=0), across[:-1], axis=1)
    means = sums / (np.diff(down)[:, None] * np.diff(across)[None])[..., None]
    coded = np.where(means <= 0.0031308, means * 12.92, 1.055 * means ** (1 / 2.4) - 0.055)
    lab = rgb2lab(coded).reshape(-1, 3)
    found = KMeans(THREADS, n_init=3, random_state=1).fit(lab)
    shades = rgb2lab(card[None])[0]
    snap = np.linalg.norm(found.cluster_centers_[:, None] - shades[None], axis=2).argmin(1)
    return found.labels_.reshape(ROWS, COLUMNS).tolist(), card[snap] / 255


def drawn(cells, colours, target):
    letters = [chr(0xE000 + int(row["glyph"]) - 1) for row in csv.DictReader(open(SYMBOLS / "symbols.csv"))]
    tints = [[1 - (1 - part) * 0.3 for part in colour] for colour in colours.tolist()]
    canvas = Canvas(str(target), pagesize=(210 * MM, 297 * MM), pageCompression=1)
    for top in range(0, ROWS, DOWN):
        for left in range(0, COLUMNS, ACROSS):
            part = [row[left : left + ACROSS] for row in cells[top : top + DOWN]]
            plainly(canvas, part, tints, letters, [18 * MM, 270 * MM, 3 * MM])
            canvas.showPage()
    canvas.save()


def main(brede):
    pdfmetrics.registerFont(TTFont("Symbols", str(SYMBOLS / "BredeSymbols.ttf")))
    with open(CARD) as file:
        rows = [row["colour"].lstrip("#") for row in csv.DictReader(file)]
    card = np.array([[int(row[i : i + 2], 16) for i in (0, 2, 4)] for row in rows], np.uint8)
    with tempfile.TemporaryDirectory() as folder:
        folder = Path(folder)
        photo = folder / "photo.jpg"
        # With grain as a camera has it: a picture made larger alone is too smooth for one.
        pool = Image.open(HERE / "../../samples-own/rock-pool.jpg").convert("RGB").resize((4000, 3000), Image.BICUBIC)
        grain = np.random.default_rng(1).normal(0, 3, (3000, 4000, 1))
        Image.fromarray((np.asarray(pool) + grain).clip(0, 255).astype(np.uint8)).save(photo, quality=92)
        command = [brede, "make", photo, "--columns", str(COLUMNS), "--colours", str(THREADS), "--shades", CARD, "--quiet", "--out", folder / "out"]
        ours = []
        theirs = []
        for _ in range(3):
            start, before = time.perf_counter(), os.times()
            subprocess.run(command, check=True)
            after = os.times()
            processor = after.children_user + after.children_system - before.children_user - before.children_system
            ours.append((time.perf_counter() - start, processor))
            start = time.perf_counter()
            cells, colours = charted(photo, card)
            chosen = time.perf_counter()
            drawn(cells, colours, folder / "plain.pdf")
            theirs.append((time.perf_counter() - start, chosen - start))
        (seconds, processor), (plain, choosing) = sorted(ours)[1], sorted(theirs)[1]
        print(f"{COLUMNS} x {ROWS}, {THREADS} threads: brede {seconds:.2f} s ({processor:.2f} s of all processors); ", end="")
        print(f"numpy, scikit-learn and reportlab {plain:.2f} s ({choosing:.2f} s without the pages), {plain / seconds:.1f} times")


if __name__ == "__main__":
    main(*sys.argv[1:])
