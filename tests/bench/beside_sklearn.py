"""The reduce stage beside scikit-learn's KMeans and a snap to the card, on the same pixels in one run.

    cargo build --release --features workshop --example colour_choice
    python tests/bench/beside_sklearn.py target/release/examples/colour_choice

brede's time is that of the stage alone, as the example prints it; scikit-learn's that of fit, snap and labels.
"""
import csv
import json
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from PIL import Image
from skimage.color import rgb2lab
from sklearn.cluster import KMeans

HERE = Path(__file__).parent
POOL = HERE / "../../samples-own/rock-pool.jpg"
CARD = HERE / "../checks/range-450.csv"


def main(example):
    with open(CARD) as file:
        rows = [row["colour"].lstrip("#") for row in csv.DictReader(file)]
    rgb = np.array([[int(row[i : i + 2], 16) for i in (0, 2, 4)] for row in rows], np.uint8)
    shades = rgb2lab(rgb[None])[0]
    for (width, height), count in (((560, 400), 30), ((1400, 1000), 100)):
        picture = Image.open(POOL).convert("RGB").resize((width, height), Image.BOX)
        with tempfile.TemporaryDirectory() as folder:
            small = Path(folder) / "small.png"
            picture.save(small)
            lab = rgb2lab(np.asarray(picture)).reshape(-1, 3)
            start = time.perf_counter()
            means = KMeans(count, n_init=3, random_state=1).fit(lab)
            snap = np.linalg.norm(means.cluster_centers_[:, None] - shades[None], axis=2).argmin(1)
            snap[means.labels_]
            plain = time.perf_counter() - start
            for confetti in ("keep", "few", "none"):
                out = Path(folder) / "out.png"
                said = [
                    subprocess.run([example, small, CARD, out, str(count), confetti], check=True, capture_output=True, text=True).stdout
                    for _ in range(3)
                ]
                ours = sorted(json.loads(text)["seconds"] for text in said)[1]
                print(f"{width} x {height}, {count} threads, {confetti}: brede {ours:.2f} s, scikit-learn {plain:.2f} s, ratio {plain / ours:.1f}")


if __name__ == "__main__":
    main(*sys.argv[1:])
