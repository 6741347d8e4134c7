"""Holds every crate that brede is built of to licences that go with its own, and to one source.

Reads `cargo metadata` (locked), evaluates each SPDX expression, and ends with 1 and a list where one is not allowed.
"""

import json
import re
import subprocess
import sys

# Permissive ones: they ask for a notice at most.
ALLOWED = {
    "0BSD", "Apache-2.0", "BSD-2-Clause", "BSD-3-Clause", "BSL-1.0", "CC0-1.0", "MIT", "NCSA", "Unicode-3.0",
    "Unlicense", "Zlib",
}

def allows(expression):
    """Whether an SPDX expression can be met with what is allowed; `/` is the old way to write OR."""
    words = re.findall(r"\(|\)|[^\s()]+", expression.replace("/", " OR "))

    def either():
        met = both()
        while words and words[0] == "OR":
            words.pop(0)
            other = both()
            met = met or other
        return met

    def both():
        met = one()
        while words and words[0] == "AND":
            words.pop(0)
            other = one()
            met = met and other
        return met

    def one():
        word = words.pop(0)
        if word == "(":
            met = either()
            words.pop(0)
            return met
        if words and words[0] == "WITH":
            # An exception only adds to what may be done.
            del words[:2]
        return word in ALLOWED

    met = either()
    return met and not words


def main():
    told = subprocess.run(
        ["cargo", "metadata", "--format-version", "1", "--locked"], check=True, capture_output=True, text=True
    )
    packages = [package for package in json.loads(told.stdout)["packages"] if package["name"] != "brede"]
    # One registry serves all: that of the most.
    sources = [package["source"] or "no registry" for package in packages]
    source = max(set(sources), key=sources.count)
    assert source.startswith("registry+"), source
    bad = [
        f"{package['name']} {package['version']}: {package['license']} from {package['source']}"
        for package in packages
        if not (package["license"] and allows(package["license"])) or package["source"] != source
    ]
    print("\n".join(bad) if bad else f"{len(packages)} crates, all under licences that are allowed")
    # The judge itself must be able to say no.
    assert allows("(MIT OR GPL-3.0-only) AND Zlib") and not allows("MIT AND GPL-3.0-only") and not allows("MPL-2.0")
    return 1 if bad else 0


sys.exit(main())
