"""Colour choice beside plainer ways, on openly licensed pictures.

    cargo build --release --features workshop --example colour_choice
    python tests/outside/colour_table.py target/release/examples/colour_choice [COLOURS] [KIND:NAME=FILE ...]

Prints a table: mean CIEDE2000 to the picture and, after the bar, per cent of stitches that are single (no side
neighbour of the same thread), at 168 stitches across with threads of tests/checks/range-450.csv; then the same as shares
of plain k-means. The pictures are samples of scikit-image and scikit-learn, those in tests/photos (SOURCES.md says whence),
our own rock pool, and any more that are given, such as "night sky:sea=sea.jpg". Needs numpy, pillow, scikit-image and
scikit-learn. scikit-image says what CIEDE2000 is; nothing of brede's own arithmetic is used.
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
PHOTOS = HERE / "../photos"
PICTURES = [
    ("portrait", "astronaut", SK / "astronaut.png"),
    ("portrait", "painted", PHOTOS / "portrait-painted.jpg"),
    ("animal", "cat", SK / "chelsea.png"),
    ("animal", "raccoon", PHOTOS / "raccoon.jpg"),
    ("flower", "dahlia", LEARN / "flower.jpg"),
    ("flower", "bee", PHOTOS / "bee.jpg"),
    ("building", "temple", LEARN / "china.jpg"),
    ("night sky", "deep field", SK / "hubble_deep_field.jpg"),
    ("night sky", "bridge", PHOTOS / "bridge-night.jpg"),
    ("painting", "rock pool", HERE / "../../samples-own/rock-pool.jpg"),
    ("painting", "church", PHOTOS / "church-painted.jpg"),
    ("painting", "café", PHOTOS / "cafe-painted.jpg"),
    ("painting", "harvest", PHOTOS / "harvest-painted.jpg"),
    ("other", "coffee", SK / "coffee.png"),
    ("other", "rocket", SK / "rocket.jpg"),
    ("other", "citrus", PHOTOS / "citrus.jpg"),
]

PLAIN, FLOOR = "k-means, snapped by CIE 1976", "all 450 threads (floor)"
CONFETTI = ("keep", "few", "none")


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
    yield PLAIN, figures(lab, snap[means.labels_].reshape(shape), shades)
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
        for confetti in CONFETTI:
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
    yield FLOOR, (floor.mean(), None)


def main(example, count=30, *more):
    with open(HERE / "../checks/range-450.csv") as file:
        rows = [row["colour"].lstrip("#") for row in csv.DictReader(file)]
    rgb = np.array([[int(row[i : i + 2], 16) for i in (0, 2, 4)] for row in rows], np.uint8)
    shades = rgb2lab(rgb[None])[0]
    pictures = PICTURES + [(*name.split(":", 1), Path(path)) for name, path in (one.split("=", 1) for one in more)]
    table, ways_met = [], []
    for kind, name, path in pictures:
        results = dict(ways(small(path), rgb, shades, int(count), example))
        table.append((kind, name, results))
        ways_met = list(results)
    print("| picture | " + " | ".join(ways_met) + " |")
    print("|---" * (len(ways_met) + 1) + "|")
    for kind, name, results in table:
        cells = [f"{d:.2f}" + ("" if s is None else f" / {s:.1f}") for d, s in results.values()]
        print(f"| {kind}: {name} | " + " | ".join(cells) + " |")
    kinds = list(dict.fromkeys(kind for kind, _, _ in table if kind != "other"))
    chosen = {"all pictures": table, "of the six kinds": [row for row in table if row[0] != "other"]}
    print("\n| of | confetti | mean of ratios | ratio of means | mean of kinds | singles % | at most | excess removed |")
    print("|---" * 8 + "|")
    for of, rows in chosen.items():
        plain = np.array([results[PLAIN][0] for _, _, results in rows])
        floor = np.array([results[FLOOR][0] for _, _, results in rows])
        for confetti in CONFETTI:
            ours = np.array([results[f"brede, confetti {confetti}"] for _, _, results in rows])
            ratios = ours[:, 0] / plain
            by_kind = [np.mean([r for r, row in zip(ratios, rows) if row[0] == kind]) for kind in kinds]
            excess = 1 - (ours[:, 0] - floor) / (plain - floor)
            print(
                f"| {of} | {confetti} | {ratios.mean():.4f} | {ours[:, 0].mean() / plain.mean():.4f} | {np.mean(by_kind):.4f} "
                f"| {ours[:, 1].mean():.2f} | {ours[:, 1].max():.2f} | {excess.mean():.2f} |"
            )


if __name__ == "__main__":
    main(*sys.argv[1:])
