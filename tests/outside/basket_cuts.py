"""Cuts the power at each flush and looks at what is left of a workbasket.

Usage: basket_cuts.py BREDE PIECE BASKET

Runs `brede done` a number of times under strace, which logs every call that changes a file of the basket, and every
flush. Then a model of a disk plays the log back: what was written to a file is certain to be there only when that file
was flushed (POSIX.1-2017, fsync); of what came after, none may be there, all, or any part. At each flush, and at each
acknowledgement (the line that the command writes to standard output), the disk is laid into a folder as it may be then,
the file is checked by SQLite (PRAGMA integrity_check, through Python's sqlite3) and opened by brede, which must know at
least as many stitches as were acknowledged. New and removed names are taken to be there at once and in their order, as
journals of file systems keep them.

Prints JSON: how many cuts were looked at, and what was lost.
"""

import json
import os
import random
import re
import shutil
import sqlite3
import subprocess
import sys
import tempfile

brede, piece, basket = sys.argv[1:4]
TICKS = 14
CALLS = "openat,pwrite64,write,fsync,fdatasync,ftruncate,unlink,unlinkat,rename,renameat,renameat2"


def command(folder, *arguments):
    return subprocess.run(
        [brede, *arguments], env={**os.environ, "BREDE_BASKET": folder}, capture_output=True, text=True
    )


def unescaped(text):
    """The bytes of a string as `strace -xx` writes it."""
    return bytes(int(text[at + 2 : at + 4], 16) for at in range(0, len(text), 4))


class Disk:
    """Files of one folder: what is certain, and what was written since the last flush."""

    def __init__(self, folder):
        self.files = {}
        for path, _, names in os.walk(folder):
            for name in names:
                whole = os.path.join(path, name)
                with open(whole, "rb") as file:
                    self.files[whole] = [bytearray(file.read()), []]

    def write(self, path, at, data):
        self.files.setdefault(path, [bytearray(), []])[1].append((at, data))

    def truncate(self, path, size):
        self.files.setdefault(path, [bytearray(), []])[1].append((size, None))

    def flush(self, path):
        if path in self.files:
            content, waiting = self.files[path]
            for change in waiting:
                self.apply(content, change)
            waiting.clear()

    def remove(self, path):
        self.files.pop(path, None)

    def rename(self, old, new):
        if old in self.files:
            self.files[new] = self.files.pop(old)

    @staticmethod
    def apply(content, change):
        at, data = change
        if data is None:
            del content[at:]
            content.extend(bytes(at - len(content)))
            return
        if len(content) < at:
            content.extend(bytes(at - len(content)))
        content[at : at + len(data)] = data

    def lay(self, root, folder, choose):
        """Into a folder, with those of the waiting changes that `choose` picks; it may shorten one."""
        for path, (content, waiting) in self.files.items():
            content = bytearray(content)
            for change in waiting:
                if (kept := choose(change)) is not None:
                    self.apply(content, kept)
            to = os.path.join(folder, os.path.relpath(path, root))
            os.makedirs(os.path.dirname(to), exist_ok=True)
            with open(to, "wb") as file:
                file.write(content)


def none(_):
    return None


def all_of(change):
    return change


def some(rng):
    def choose(change):
        at, data = change
        if rng.random() < 0.5:
            return None
        if data is not None and rng.random() < 0.3:
            # A sector of 512 bytes is whole or not there.
            return at, data[: 512 * rng.randrange(len(data) // 512 + 1)]
        return change

    return choose


def events(log):
    """What happened to files of the basket: ('write', path, at, data), ('flush', path), ... and ('said',)."""
    places = {}
    unfinished = {}
    for line in log:
        process, _, rest = line.partition(" ")
        rest = rest.strip()
        if rest.endswith("<unfinished ...>"):
            unfinished[process] = rest[: -len("<unfinished ...>")].rstrip()
            continue
        if resumed := re.match(r"<\.\.\. \w+ resumed>(.*)", rest):
            rest = unfinished.pop(process, "") + resumed[1]
        call = re.match(r"(\w+)\((.*)\)\s+= (-?\d+)", rest)
        if not call or int(call[3]) < 0:
            continue
        name, given, result = call[1], call[2], int(call[3])
        strings = [unescaped(text) for text in re.findall(r'"((?:\\x[0-9a-f]{2})*)"', given)]
        paths = [unescaped(text).decode() for text in re.findall(r"<((?:\\x[0-9a-f]{2})+)>", given)]
        if name == "openat":
            path = os.path.join(os.getcwd(), strings[0].decode())
            if path.startswith(basket) and "O_CREAT" in given:
                yield ("create", path)
            if path.startswith(basket) and "O_TRUNC" in given:
                yield ("truncate", path, 0)
            places[path] = 0
        elif name == "pwrite64":
            if paths and paths[0].startswith(basket):
                yield ("write", paths[0], int(given.rsplit(",", 1)[1]), strings[0][:result])
        elif name == "write":
            if given.startswith("1<") or given.startswith("1,"):
                yield ("said",)
            elif paths and paths[0].startswith(basket):
                at = places.get(paths[0], 0)
                places[paths[0]] = at + result
                yield ("write", paths[0], at, strings[0][:result])
        elif name in ("fsync", "fdatasync"):
            if paths and paths[0].startswith(basket):
                yield ("flush", paths[0])
        elif name == "ftruncate":
            if paths and paths[0].startswith(basket):
                yield ("truncate", paths[0], int(given.rsplit(",", 1)[1]))
        elif name in ("unlink", "unlinkat"):
            path = strings[0].decode()
            if path.startswith(basket):
                yield ("remove", path)
        elif name.startswith("rename"):
            yield ("rename", strings[0].decode(), strings[1].decode())


def main():
    rng = random.Random(20260307)
    disk = Disk(basket)
    logs = []
    for tick in range(TICKS):
        with tempfile.NamedTemporaryFile("r", suffix=".strace") as log:
            ticking = [brede, "done", piece, "--rectangle", f"{tick + 1},{tick * 3 + 1},4,2"]
            trace = ["strace", "-f", "-y", "-xx", "-s", "4000000", "-e", f"trace={CALLS}", "-o", log.name]
            ran = subprocess.run(trace + ticking, env={**os.environ, "BREDE_BASKET": basket}, capture_output=True, text=True)
            if ran.returncode != 0:
                sys.exit(f"brede done failed: {ran.stderr}")
            done = json.loads(command(basket, "left", piece, "--json").stdout)["done"]
            logs.append((log.readlines(), done))
    cuts, lost, acknowledged = 0, [], 0

    def cut(where):
        nonlocal cuts
        for how, choose in (("none", none), ("all", all_of), ("some", some(rng)), ("some", some(rng))):
            with tempfile.TemporaryDirectory() as folder:
                disk.lay(basket, folder, choose)
                cuts += 1
                left = command(folder, "left", piece, "--json")
                if left.returncode != 0:
                    lost.append(f"{where}, {how}: {left.stderr.strip()}")
                    continue
                known = json.loads(left.stdout)["done"]
                if known < acknowledged:
                    lost.append(f"{where}, {how}: {known} stitches of {acknowledged}")
                store = sqlite3.connect(os.path.join(folder, "basket.sqlite"))
                fault = store.execute("PRAGMA integrity_check").fetchone()[0]
                store.close()
                if fault != "ok":
                    lost.append(f"{where}, {how}: {fault}")

    for number, (log, done) in enumerate(logs):
        said = False
        for at, event in enumerate(events(log)):
            match event:
                case ("create", path):
                    disk.files.setdefault(path, [bytearray(), []])
                case ("write", path, offset, data):
                    disk.write(path, offset, data)
                case ("truncate", path, size):
                    disk.truncate(path, size)
                case ("remove", path):
                    disk.remove(path)
                case ("rename", old, new):
                    disk.rename(old, new)
                case ("flush", path):
                    # Just before it, and just after.
                    cut(f"tick {number}, call {at}, before")
                    disk.flush(path)
                    cut(f"tick {number}, call {at}, after")
                case ("said",):
                    acknowledged, said = done, True
                    cut(f"tick {number}, acknowledged")
        if not said:
            sys.exit(f"tick {number} was never acknowledged in the log")
    shutil.rmtree(basket, ignore_errors=True)
    print(json.dumps({"cuts": cuts, "lost": lost}))


main()
