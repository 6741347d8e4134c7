"""Colour choice beside plainer ways, on the sample pictures of scikit-image and scikit-learn.

    cargo build --release --example colour_choice
    python tests/outside/colour_table.py target/release/examples/colour_choice [COLOURS]

Prints a table: mean CIEDE2000 to the picture and, after the bar, per cent of stitches that are single (no side
neighbour of the same thread), at 168 stitches across with threads of tests/checks/range-450.csv. Needs numpy,
pillow, scikit-image and scikit-learn. scikit-image says what CIEDE2000 is; nothing of brede's own arithmetic is used.
"""
import csv
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
import skimage
import sklearn
from PIL import Image
from skimage.color import deltaE_ciede2000, rgb2lab
from sklearn.cluster import KMeans

HERE = Path(__file__).parent
SK, LEARN = Path(skimage.__file__).parent / "data", Path(sklearn.__file__).parent / "datasets/images"
PICTURES = {
    "portrait": SK / "astronaut.png",
    "animal": SK / "chelsea.png",
    "flower": LEARN / "flower.jpg",
    "building": LEARN / "china.jpg",
    "night sky": SK / "hubble_deep_field.jpg",
    "still life": SK / "coffee.png",
    "sky": SK / "rocket.jpg",
    "painting": HERE / "../../samples-own/rock-pool.jpg",
}


def small(path, columns=168):
    """The picture at one pixel a stitch: averaged in linear light (IEC 61966-2-1)."""
    picture = Image.open(path).convert("RGB")
    rows = round(picture.height * columns / picture.width)
    a = np.asarray(picture, np.float64) / 255
    a = np.where(a <= 0.04045, a / 12.92, ((a + 0.055) / 1.055) ** 2.4)
    planes = [Image.fromarray(a[..., c].astype(np.float32)).resize((columns, rows), Image.BOX) for c in range(3)]
    a = np.stack([np.asarray(plane) for plane in planes], 2).clip(0, 1)
    a = np.where(a <= 0.0031308, a * 12.92, 1.055 * a ** (1 / 2.4) - 0.055)
    return np.round(a * 255).astype(np.uint8)


def singles(labels):
    p = np.pad(labels, 1, constant_values=-1)
    c = p[1:-1, 1:-1]
    same = (p[:-2, 1:-1] == c) | (p[2:, 1:-1] == c) | (p[1:-1, :-2] == c) | (p[1:-1, 2:] == c)
    return 100 * (~same).mean()


def figures(lab, labels, shades):
    return deltaE_ciede2000(lab, shades[labels.ravel()]).mean(), singles(labels)


def ways(picture, rgb, shades, count, example):
    lab = rgb2lab(picture).reshape(-1, 3)
    shape = picture.shape[:2]
    cut = Image.fromarray(picture).quantize(count, Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE).convert("RGB")
    nearest = np.linalg.norm(rgb2lab(np.asarray(cut)).reshape(-1, 1, 3) - shades[None], axis=2).argmin(1)
    yield "median cut, snapped", figures(lab, nearest.reshape(shape), shades)
    means = KMeans(count, n_init=3, random_state=1).fit(lab)
    snap = np.linalg.norm(means.cluster_centers_[:, None] - shades[None], axis=2).argmin(1)
    yield "k-means, snapped by CIE 1976", figures(lab, snap[means.labels_].reshape(shape), shades)
    taken = []
    for place in np.argsort(-np.bincount(means.labels_)):
        order = np.argsort(deltaE_ciede2000(means.cluster_centers_[place][None], shades))
        taken.append(next(shade for shade in order if shade not in taken))
    best = np.stack([deltaE_ciede2000(lab, shades[shade][None]) for shade in taken]).argmin(0)
    yield "k-means, distinct by CIEDE2000, reassigned", figures(lab, np.array(taken)[best].reshape(shape), shades)
    key = {tuple(colour): place for place, colour in enumerate(rgb)}
    with tempfile.TemporaryDirectory() as folder:
        source, target = Path(folder) / "small.png", Path(folder) / "stitches.png"
        Image.fromarray(picture).save(source)
        for confetti in ("keep", "few", "none"):
            subprocess.run(
                [example, source, HERE / "../checks/range-450.csv", target, str(count), confetti],
                check=True,
                stdout=subprocess.DEVNULL,
            )
            stitches = np.asarray(Image.open(target).convert("RGB"))
            labels = np.array([key[tuple(pixel)] for pixel in stitches.reshape(-1, 3)]).reshape(shape)
            assert len(np.unique(labels)) == count, f"{confetti}: {len(np.unique(labels))} threads"
            yield f"brede, confetti {confetti}", figures(lab, labels, shades)
    floor = np.full(len(lab), np.inf)
    for shade in shades:
        floor = np.minimum(floor, deltaE_ciede2000(lab, shade[None]))
    yield "all 450 threads (floor)", (floor.mean(), None)


def main(example, count=30):
    with open(HERE / "../checks/range-450.csv") as file:
        rows = [row["colour"].lstrip("#") for row in csv.DictReader(file)]
    rgb = np.array([[int(row[i : i + 2], 16) for i in (0, 2, 4)] for row in rows], np.uint8)
    shades = rgb2lab(rgb[None])[0]
    table = {}
    for name, path in PICTURES.items():
        for way, result in ways(small(path), rgb, shades, int(count), example):
            table.setdefault(way, {})[name] = result
    print("| way | " + " | ".join(PICTURES) + " | mean |")
    print("|---" * (len(PICTURES) + 2) + "|")
    for way, results in table.items():
        mean = np.mean([result[0] for result in results.values()])
        cells = [f"{d:.2f}" + ("" if s is None else f" / {s:.1f}") for d, s in results.values()]
        single = [s for _, s in results.values() if s is not None]
        cells.append(f"{mean:.2f}" + (f" / {np.mean(single):.1f}" if single else ""))
        print(f"| {way} | " + " | ".join(cells) + " |")


if __name__ == "__main__":
    main(*sys.argv[1:])
