"""Makes tests/kinds: small pictures of every kind that brede reads, from samples-own/rock-pool.jpg.

Run from the root of the tree with Pillow (requirements.txt) and jpegtran (libjpeg-turbo) at hand. Another version of
either writes other bytes; tests look at what is missing of a file that is cut, never at the bytes.
"""

import subprocess
from pathlib import Path

from PIL import Image

SIZE = (97, 73)
OUT = Path("tests/kinds")

picture = Image.open("samples-own/rock-pool.jpg").convert("RGB").resize(SIZE, Image.LANCZOS)


def save(name, of=picture, **options):
    of.save(OUT / name, **options)


save("plain.jpg", quality=85)
save("sharp.jpg", quality=90, subsampling=0)
save("wide.jpg", quality=90, subsampling=1)
save("restart-rows.jpg", quality=85, restart_marker_rows=1)
save("restart-blocks.jpg", quality=85, restart_marker_blocks=3)
save("passes.jpg", quality=85, progressive=True)
save("passes-sharp.jpg", quality=92, progressive=True, subsampling=0)
save("passes-restart.jpg", quality=85, progressive=True, restart_marker_rows=2)
save("grey.jpg", picture.convert("L"), quality=85)
save("grey-passes.jpg", picture.convert("L"), quality=85, progressive=True)
save("inks.jpg", picture.convert("CMYK"), quality=85)

# One colour channel after the other, each in a scan of its own.
(OUT / "scans.txt").write_text("0;\n1;\n2;\n")
scans = ["jpegtran", "-scans", str(OUT / "scans.txt"), str(OUT / "plain.jpg")]
(OUT / "scans.jpg").write_bytes(subprocess.run(scans, check=True, stdout=subprocess.PIPE).stdout)
(OUT / "scans.txt").unlink()

# A small picture within the camera's notes, and a second picture behind the first, as some cameras leave it.
plain = (OUT / "plain.jpg").read_bytes()
save("small.jpg", picture.resize((16, 12)), quality=60)
small = (OUT / "small.jpg").read_bytes()
(OUT / "small.jpg").unlink()
note = b"Exif\0\0II*\0\x08\0\0\0\0\0\0\0\0\0" + small
segment = b"\xff\xe1" + (len(note) + 2).to_bytes(2, "big") + note
(OUT / "small-within.jpg").write_bytes(plain[:2] + segment + plain[2:])
(OUT / "second-behind.jpg").write_bytes(plain + small + b"\0" * 20)

save("plain.png")
save("plain.bmp")
save("plain.gif", picture.quantize(64))
save("woven.gif", picture.quantize(64), interlace=True)
save("lossy.webp", quality=80)
save("lossless.webp", lossless=True)
clear = picture.convert("RGBA")
clear.putalpha(Image.linear_gradient("L").resize(SIZE))
save("clear.png", clear)
save("clear.webp", clear, quality=80)
save("plain.tiff", compression="tiff_lzw")
save("jpeg.tiff", compression="jpeg")
moving = [picture.rotate(angle) for angle in (0, 30)]
save("moving.webp", moving[0], save_all=True, append_images=moving[1:])
save("moving.gif", moving[0].quantize(32), save_all=True, append_images=[moving[1].quantize(32)])
