"""What pikepdf (libqpdf) finds in a PDF; and copies of it with one layer switched off each.

Reads JSON: {"pdf": path, "folder": where the copies go}. Writes JSON: info (document information), language,
bookmarks (title, page from 1, children), layers (name to the path of the copy without it), links (page from 1 and the
page it leads to), fonts without a file, and what the catalogue says of tags and PDF/A.
"""
import json
import sys
from pathlib import Path

import pikepdf

question = json.load(sys.stdin)
pdf = pikepdf.open(question["pdf"])
number = {page.objgen: index + 1 for index, page in enumerate(pdf.pages)}


def entries(first):
    found = []
    while first is not None:
        found.append([str(first.Title), number[first.Dest[0].objgen], entries(first.get("/First"))])
        first = first.get("/Next")
    return found


layers = {}
for index, layer in enumerate(pdf.Root.OCProperties.OCGs):
    copy = pikepdf.open(question["pdf"])
    copy.Root.OCProperties.D.OFF = pikepdf.Array([copy.Root.OCProperties.OCGs[index]])
    path = Path(question["folder"]) / f"without-{layer.Name}.pdf"
    copy.save(path)
    layers[str(layer.Name)] = str(path)

links = [
    [index + 1, number[link.Dest[0].objgen]]
    for index, page in enumerate(pdf.pages)
    for link in page.get("/Annots", [])
]
unembedded = [
    str(item.BaseFont)
    for item in pdf.objects
    if isinstance(item, pikepdf.Dictionary)
    and item.get("/Type") == "/FontDescriptor"
    and not any(key in item for key in ("/FontFile", "/FontFile2", "/FontFile3"))
]
print(
    json.dumps(
        {
            "info": {key[1:]: str(value) for key, value in pdf.docinfo.items()},
            "language": str(pdf.Root.Lang),
            "bookmarks": entries(pdf.Root.Outlines.get("/First")),
            "layers": layers,
            "links": links,
            "unembedded": unembedded,
            "tagged": "/StructTreeRoot" in pdf.Root,
            "pdfa": pdf.open_metadata().pdfa_status,
        }
    )
)
