"""Packs brede as people get it: the stripped binary, README, and every licence that goes with it.

    python3 .ci/pack.py [--target TRIPLE] [--out FOLDER]

writes brede-VERSION-TRIPLE.tar.gz (.zip for Windows) into FOLDER (default: target/packed) and prints its path. The
crates are those that `cargo tree` names for that system; each brings the licence files of its own package, also those
of data inside it. The same commit gives the same archive: times in it are those of the commit.
"""

import argparse
import io
import json
import os
import pathlib
import re
import subprocess
import tarfile
import zipfile

ROOT = pathlib.Path(__file__).resolve().parent.parent

# Names of files that say under what something is given.
LICENCE = re.compile(r"licen[cs]e|copying|copyright|notice|^ofl", re.IGNORECASE)
# Files of such names that are something else: code, pictures, settings.
OTHER = {".rs", ".py", ".toml", ".svg", ".png", ".json", ".sh"}
# Folders of a package whose files are not built into anything.
ASIDE = {"tests", "examples", "benches", "fuzz", ".github"}


def told(*command):
    return subprocess.run(command, check=True, cwd=ROOT, capture_output=True, text=True).stdout


def crates(target):
    """Every crate that is built into the binary: name, version, licence, folder; sorted."""
    tree = told(
        "cargo", "tree", "--locked", "--edges", "normal", "--target", target, "--prefix", "none", "--no-dedupe",
        "--format", "{p}",
    )
    built = {tuple(line.split()[:2]) for line in tree.splitlines() if line and "(proc-macro)" not in line}
    packages = json.loads(told("cargo", "metadata", "--format-version", "1", "--locked"))["packages"]
    known = {(package["name"], "v" + package["version"]): package for package in packages}
    found = [known[crate] for crate in sorted(built) if crate[0] != "brede"]
    return [
        (package["name"], package["version"], package["license"], pathlib.Path(package["manifest_path"]).parent)
        for package in found
    ]


def licences_of(folder):
    """The files of a package that say under what it is given, those of data in it included."""
    found = []
    for path in sorted(folder.rglob("*")):
        within = path.relative_to(folder)
        if (
            path.is_file()
            and LICENCE.search(path.name)
            and path.suffix.lower() not in OTHER
            and not ASIDE.intersection(within.parts[:-1])
        ):
            found.append(path)
    return found


def notices(target):
    """One text with the licences of all crates, each text once, and who gives under it."""
    texts = {}
    without = []
    for name, version, expression, folder in crates(target):
        files = licences_of(folder)
        crate = f"{name} {version} ({expression})"
        for path in files:
            text = path.read_text(encoding="utf-8", errors="replace").replace("\r\n", "\n").strip()
            within = path.relative_to(folder).as_posix()
            texts.setdefault(text, []).append(crate if "/" not in within else f"{crate}: {within}")
        if not any(path.parent == folder for path in files):
            without.append((name, version, expression, folder))
    lines = ["brede is built of the crates below. Each text stands once, under the names of those that it goes with.\n"]
    for name, version, expression, folder in without:
        # A package without a file of its own: what it says of itself stands for it. Its licences are among the texts,
        # for other crates are under them too.
        manifest = (folder / "Cargo.toml").read_text(encoding="utf-8")
        authors = re.search(r"^authors = \[(.*?)\]", manifest, re.MULTILINE | re.DOTALL)
        names = ", ".join(re.findall(r'"(.*?)"', authors.group(1))) if authors else "its authors"
        lines.append(f"{name} {version}: {expression}, by {names}; its package brings no text.")
    lines.append("Rust's standard library: MIT OR Apache-2.0, by the developers of Rust; both texts are below.")
    for text, crates_under in sorted(texts.items(), key=lambda each: each[1]):
        lines += ["", "=" * 100, *sorted(set(crates_under)), "-" * 100, text]
    return "\n".join(lines) + "\n"


def content(target, binary):
    """What goes into the archive: paths and bytes."""
    files = {binary.name: binary.read_bytes()}
    for path in [ROOT / "README.md", *sorted(ROOT.glob("LICENSE-*"))]:
        files[path.name] = path.read_bytes()
    fonts = [path for path in licences_of(ROOT / "fonts-open") if path.is_file()]
    for path in fonts:
        files[path.relative_to(ROOT).as_posix()] = path.read_bytes()
    # Every font that is built in has its licence beside it.
    for font in (ROOT / "fonts-open").iterdir():
        assert any(font in path.parents for path in fonts), f"{font} has no licence"
    files["LICENCES-OF-CRATES.txt"] = notices(target).encode()
    return files


def pack(path, name, files, time, binary):
    def mode(file):
        return 0o755 if file == binary.name else 0o644

    if path.suffix == ".zip":
        with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
            for file, data in sorted(files.items()):
                # Zip knows no time before 1980.
                entry = zipfile.ZipInfo(f"{name}/{file}", (1980, 1, 1, 0, 0, 0))
                entry.external_attr = mode(file) << 16
                entry.compress_type = zipfile.ZIP_DEFLATED
                archive.writestr(entry, data)
        return
    # Without the name and the time of now, which gzip would keep.
    raw = io.BytesIO()
    with tarfile.open(fileobj=raw, mode="w", format=tarfile.PAX_FORMAT) as archive:
        for file, data in sorted(files.items()):
            entry = tarfile.TarInfo(f"{name}/{file}")
            entry.size, entry.mode, entry.mtime = len(data), mode(file), time
            archive.addfile(entry, io.BytesIO(data))
    import gzip

    with open(path, "wb") as out, gzip.GzipFile(filename="", fileobj=out, mode="wb", mtime=time) as packed:
        packed.write(raw.getvalue())


def main():
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--target", help="the system to build for (default: this one)")
    asked.add_argument("--out", type=pathlib.Path, default=None, help="the folder for the archive")
    options = asked.parse_args()
    host = re.search(r"^host: (\S+)$", told("rustc", "-vV"), re.MULTILINE).group(1)
    target = options.target or host
    build = ["cargo", "build", "--release", "--locked", "--bin", "brede", "--message-format", "json-render-diagnostics"]
    if options.target:
        build += ["--target", target]
    messages = subprocess.run(build, check=True, cwd=ROOT, stdout=subprocess.PIPE, text=True).stdout.splitlines()
    built = [json.loads(line).get("executable") for line in messages if line.startswith("{")]
    binary = pathlib.Path([path for path in built if path][-1])
    version = json.loads(told("cargo", "metadata", "--format-version", "1", "--locked", "--no-deps"))["packages"][0]
    name = f"brede-{version['version']}-{target}"
    time = int(os.environ.get("SOURCE_DATE_EPOCH") or told("git", "log", "-1", "--format=%ct"))
    out = options.out or ROOT / "target" / "packed"
    out.mkdir(parents=True, exist_ok=True)
    path = out / (name + (".zip" if "windows" in target else ".tar.gz"))
    pack(path, name, content(target, binary), time, binary)
    print(path)


main()
