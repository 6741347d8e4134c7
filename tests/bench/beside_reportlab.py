"""A chart of 1,000 x 1,400 cells in 100 threads to PDF: brede beside the same pages drawn with reportlab, in one run.

    cargo build --release --bin brede
    python tests/bench/beside_reportlab.py target/release/brede

All are whole processes, from the chart's JSON to the file: time, peak memory and bytes a cell, the median of three.
Two charts: the rock pool as brede makes it, and noise with grain, which no maker of charts would leave so. reportlab
draws the chart pages alone, in two ways: plainly, a rectangle and a string for each cell; and batched as well as we
know to, a path for each tint and a string for each row. brede draws cover, key, map, rulers, repeats and links as well,
and reckons the thread. Needs reportlab (5.1 was used), numpy and scipy.
"""
import csv
import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).parent
SYMBOLS = HERE / "../../fonts-open/brede-symbols"
COLUMNS, ROWS, THREADS = 1000, 1400, 100
ACROSS, DOWN, CELL = 58, 74, 3.0


def noise(path):
    """100 threads by the value of smooth noise with grain: few neighbours are alike."""
    import numpy as np
    from scipy.ndimage import gaussian_filter

    dice = np.random.default_rng(1)
    field = sum(gaussian_filter(dice.normal(size=(ROWS, COLUMNS)), blur) * blur for blur in (2, 8, 40))
    field += dice.normal(size=field.shape) * 0.02
    cells = (field.argsort(axis=None).argsort().reshape(field.shape) * THREADS // field.size).tolist()
    names = [row["name"] for row in csv.DictReader(open(SYMBOLS / "symbols.csv"))]
    colours = dice.integers(0, 256, size=(THREADS, 3)).tolist()
    needles = [
        {
            "symbol": names[at],
            "threads": [{"code": f"R{at:03}", "name": f"Rock pool {at}", "colour": "#%02x%02x%02x" % tuple(colours[at]), "strands": 2}],
            "stitch": "full-cross",
        }
        for at in range(THREADS)
    ]
    rows = []
    for row in cells:
        runs, start = [], 0
        for at in range(1, COLUMNS + 1):
            if at == COLUMNS or row[at] != row[start]:
                runs.append(f"{row[start]}*{at - start}" if at - start > 1 else f"{row[start]}")
                start = at
        rows.append(" ".join(runs))
    size = {"columns": COLUMNS, "rows": ROWS}
    cloth = {"count": "14", "colour": "#f4ecd8"}
    path.write_text(json.dumps({"brede_chart": 1, "title": "Rock pool", "size": size, "cloth": cloth, "needles": needles, "rows": rows}))


def with_reportlab(source, target, batched):
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont
    from reportlab.pdfgen.canvas import Canvas

    document = json.loads(Path(source).read_text())
    glyphs = {row["name"]: chr(0xE000 + int(row["glyph"]) - 1) for row in csv.DictReader(open(SYMBOLS / "symbols.csv"))}
    letters = [glyphs[needle["symbol"]] for needle in document["needles"]]
    tints = []
    for needle in document["needles"]:
        text = needle["threads"][0]["colour"]
        tints.append([1 - (1 - int(text[i : i + 2], 16) / 255) * 0.3 for i in (1, 3, 5)])
    cells = []
    for row in document["rows"]:
        line = []
        for run in row.split():
            needle, _, length = run.partition("*")
            line += [int(needle)] * int(length or 1)
        cells.append(line)
    pdfmetrics.registerFont(TTFont("Symbols", str(SYMBOLS / "BredeSymbols.ttf")))
    mm = 72 / 25.4
    canvas = Canvas(target, pagesize=(210 * mm, 297 * mm), pageCompression=1)
    side, left, top = CELL * mm, 18 * mm, 270 * mm
    for first_row in range(0, ROWS, DOWN):
        for first in range(0, COLUMNS, ACROSS):
            part = [row[first : first + ACROSS] for row in cells[first_row : first_row + DOWN]]
            wide, high = len(part[0]), len(part)
            if not batched:
                plainly(canvas, part, tints, letters, [left, top, side])
                canvas.showPage()
                continue
            runs = {}
            for y, row in enumerate(part):
                start = 0
                for at in range(1, wide + 1):
                    if at == wide or row[at] != row[start]:
                        runs.setdefault(row[start], []).append((start, y, at - start))
                        start = at
            for needle, rects in runs.items():
                canvas.setFillColorRGB(*tints[needle])
                path = canvas.beginPath()
                for x, y, length in rects:
                    path.rect(left + x * side, top - (y + 1) * side, length * side, side)
                canvas.drawPath(path, stroke=0, fill=1)
            canvas.setFillColorRGB(0, 0, 0)
            text = canvas.beginText()
            text.setFont("Symbols", side)
            for y, row in enumerate(part):
                text.setTextOrigin(left, top - (y + 1) * side)
                text.textOut("".join(letters[needle] for needle in row))
            canvas.drawText(text)
            canvas.setLineWidth(0.3)
            path = canvas.beginPath()
            for x in range(wide + 1):
                path.moveTo(left + x * side, top)
                path.lineTo(left + x * side, top - high * side)
            for y in range(high + 1):
                path.moveTo(left, top - y * side)
                path.lineTo(left + wide * side, top - y * side)
            canvas.drawPath(path)
            canvas.showPage()
    canvas.save()


def plainly(canvas, part, tints, letters, place):
    left, top, side = place
    canvas.setFont("Symbols", side)
    canvas.setLineWidth(0.3)
    for y, row in enumerate(part):
        for x, needle in enumerate(row):
            canvas.setFillColorRGB(*tints[needle])
            canvas.rect(left + x * side, top - (y + 1) * side, side, side, stroke=1, fill=1)
            canvas.setFillColorRGB(0, 0, 0)
            canvas.drawString(left + x * side, top - (y + 1) * side, letters[needle])


def run(command, target):
    """Seconds, megabytes at the most, and bytes a cell of a whole process."""
    start = time.perf_counter()
    child = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    _, status, usage = os.wait4(child.pid, 0)
    seconds = time.perf_counter() - start
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode:
        sys.exit(f"{command} failed")
    return seconds, usage.ru_maxrss / 1000, target.stat().st_size / (COLUMNS * ROWS)


def main(brede):
    with tempfile.TemporaryDirectory() as folder:
        folder = Path(folder)
        made = [brede, "make", HERE / "../../samples-own/rock-pool.jpg", "--shades", HERE / "../checks/range-450.csv", "--quiet"]
        made += ["--columns", str(COLUMNS), "--rows", str(ROWS), "--colours", str(THREADS), "--out", folder]
        subprocess.run(made, check=True)
        # In a process of its own: what a parent holds would count as its children's peak.
        subprocess.run([sys.executable, __file__, "--noise", folder / "noise.chart.json"], check=True)
        for chart in ("rock-pool", "noise"):
            beside(brede, folder / f"{chart}.chart.json", folder / "out.pdf")


def beside(brede, source, target):
    ways = {
        "brede": [brede, "print", source, "-o", target, "--quiet"],
        "reportlab, batched": [sys.executable, __file__, "--batched", source, target],
        "reportlab, plainly": [sys.executable, __file__, "--plainly", source, target],
    }
    ours = None
    for name, command in ways.items():
        seconds, memory, size = sorted(run(command, target) for _ in range(3))[1]
        ours = ours or (seconds, memory, size)
        ratio = "; {:.1f} times brede's time, {:.1f} its memory, {:.1f} its bytes".format(seconds / ours[0], memory / ours[1], size / ours[2])
        print(f"{source.stem.split('.')[0]}, {name}: {seconds:.2f} s, {memory:.0f} MB, {size:.2f} bytes a cell{ratio if name != 'brede' else ''}", flush=True)


if __name__ == "__main__":
    match sys.argv[1:]:
        case ["--noise", path]:
            noise(Path(path))
        case ["--batched" | "--plainly" as way, source, target]:
            with_reportlab(source, target, way == "--batched")
        case [brede]:
            main(brede)
        case _:
            sys.exit(__doc__)
