"""How far a PDF is one for those who have it read out: our reading of ISO 14289-1:2014 (PDF/UA-1) and of the clauses of
ISO 32000-1 it leans on, with pikepdf (libqpdf). What a machine can see, that is: whether words say the right thing, none can.

Reads JSON: {"pdf": path}. Writes JSON: wrong (a sentence a fault, with its clause), and counts of what was looked at, so
that nothing passes for want of anything to look at.
"""
import json
import sys
from collections import Counter

import pikepdf

pdf = pikepdf.open(json.load(sys.stdin)["pdf"])
root = pdf.Root
wrong = []
count = Counter()


def must(holds, clause, text):
    if not holds:
        wrong.append(f"{clause}: {text}")


# The file as a whole: 7.1 and 7.2.
must(root.get("/MarkInfo", {}).get("/Marked") is True, "7.1", "the catalogue does not say that the file is tagged")
must(root.get("/MarkInfo", {}).get("/Suspects") is not True, "7.1", "the tags are called suspect")
must(bool(str(root.get("/Lang", ""))), "7.2", "no language")
must(root.get("/ViewerPreferences", {}).get("/DisplayDocTitle") is True, "7.1", "the window would show the file's name")
with pdf.open_metadata(set_pikepdf_as_editor=False) as told:
    must(bool(told.get("dc:title")), "7.1", "no title in the metadata")
must("/Outlines" in root, "7.17", "no table of contents")
# 7.10: layers have names, and none switches itself.
for layers in [root.OCProperties.D] if "/OCProperties" in root else []:
    must("/AS" not in layers, "7.10", "a layer switches itself")
    must(bool(str(layers.get("/Name", ""))), "7.10", "the arrangement of layers has no name")

# Standard structure types (ISO 32000-1, 14.8.4) that we use, and what may stand in what.
BLOCKS = {"Sect", "H1", "H2", "P", "Table", "Figure", "Link"}
HOLDS = {
    "Document": {"Sect"},
    "Sect": BLOCKS,
    "Table": {"TR"},
    "TR": {"TH", "TD"},
    "TH": {"Figure", "P"},
    "TD": {"Figure", "P"},
    "H1": set(),
    "H2": set(),
    "P": set(),
    "Figure": set(),
    "Link": set(),
}
number = {page.objgen: index for index, page in enumerate(pdf.pages)}
owner = {}  # (page, mark) -> the element
heads = []
links = {}


def walk(element, page):
    tag = str(element.S)[1:]
    count[tag] += 1
    if "/Pg" in element:
        page = number[element.Pg.objgen]
    must(tag in HOLDS, "7.1", f"{tag} is no standard type that we know")
    kids = element.get("/K", [])
    kids = kids if isinstance(kids, pikepdf.Array) else [kids]
    inside = []
    for kid in kids:
        if isinstance(kid, int):
            must((page, kid) not in owner, "7.1", f"mark {kid} of page {page + 1} has two elements")
            owner[page, kid] = element.objgen
        elif str(kid.get("/Type", "")) == "/OBJR":
            links[kid.Obj.objgen] = element.objgen
            must(tag == "Link", "7.18.5", f"a link stands in {tag}")
        elif str(kid.get("/Type", "")) == "/MCR":
            owner[number[kid.Pg.objgen] if "/Pg" in kid else page, int(kid.MCID)] = element.objgen
        else:
            must(kid.P.objgen == element.objgen, "14.7.2", "a child names another parent")
            inside.append(str(kid.S)[1:])
            walk(kid, page)
    for kid in inside:
        must(kid in HOLDS.get(tag, ()), "7.1", f"{kid} in {tag}")
    if tag in ("H1", "H2"):
        heads.append(int(tag[1]))
    if tag == "Figure":
        must(bool(str(element.get("/Alt", "")).strip()), "7.3", f"a picture on page {page + 1} without words")
    if tag == "TH":
        must(str(element.get("/A", {}).get("/Scope", "")) in ("/Row", "/Column"), "7.5", "a head that says not of what")
    if tag == "Table":
        rows = [[str(cell.S)[1:] for cell in row.K] for row in element.K]
        must("TH" in rows[0] or all("TH" in row for row in rows), "7.5", "a table without heads")
        widths = {len(row) for row in rows}
        # A head over a whole group spans the columns; else all rows are as wide.
        spans = any("/ColSpan" in cell.get("/A", {}) for row in element.K for cell in row.K)
        must(len(widths) == 1 or spans, "7.5", f"rows of {sorted(widths)} cells in a table of page {(page or 0) + 1}")


for kid in root.StructTreeRoot.K:
    walk(kid, None)
# 7.4.2: the first head is one of the first level, and none is skipped on the way down.
must(heads[:1] == [1], "7.4.2", "the first heading is not of the first level")
must(all(after <= before + 1 for before, after in zip(heads, heads[1:])), "7.4.2", "a level of headings is skipped")

parents = {}


def tree(node):
    for kid in node.get("/Kids", []):
        tree(kid)
    numbers = list(node.get("/Nums", []))
    parents.update({int(key): value for key, value in zip(numbers[::2], numbers[1::2])})


tree(root.StructTreeRoot.ParentTree)

# 7.1: all that is drawn is marked, or is an artefact; and the marks are those of the tree.
DRAWS = {"f", "F", "f*", "S", "s", "B", "B*", "b", "b*", "Tj", "TJ", "'", '"', "Do", "sh", "EI"}
for index, page in enumerate(pdf.pages):
    opened, seen = [], set()
    for operands, operator in pikepdf.parse_content_stream(page):
        operator = str(operator)
        if operator in ("BMC", "BDC"):
            tag, mark = str(operands[0])[1:], None
            if operator == "BDC" and tag != "OC":
                mark = operands[1].get("/MCID")
            if mark is not None:
                must(not any(kind in ("mark", "Artifact") for kind in opened), "7.1", "a mark within a mark")
                seen.add(int(mark))
            opened.append("mark" if mark is not None else tag)
        elif operator == "EMC":
            opened.pop()
        elif operator in DRAWS:
            count["drawn"] += 1
            known = [kind for kind in opened if kind in ("mark", "Artifact")]
            must(len(known) == 1, "7.1", f"{operator} on page {index + 1} is neither marked nor an artefact")
    must(not opened, "14.6", f"a mark of page {index + 1} is not closed")
    count["marks"] += len(seen)
    of_page = list(parents.get(int(page.get("/StructParents", -1)), []))
    must(len(of_page) >= len(seen), "14.7.4.4", f"marks of page {index + 1} that the tree of parents lacks")
    for mark in seen:
        element = owner.get((index, mark))
        must(element is not None, "7.1", f"mark {mark} of page {index + 1} is in no element")
        must(mark < len(of_page) and of_page[mark].objgen == element, "14.7.4.4", f"mark {mark} has another parent")
    must(not {mark for at, mark in owner if at == index} - seen, "7.1", f"elements of page {index + 1} hold nothing")
    # 7.18: fields and links are reached in the order of the structure, and say what they are.
    annotations = list(page.get("/Annots", []))
    must(not annotations or str(page.get("/Tabs", "")) == "/S", "7.18.3", f"page {index + 1} has no order of fields")
    for link in annotations:
        count["links"] += 1
        must(bool(str(link.get("/Contents", ""))), "7.18.5", f"a link on page {index + 1} says nothing")
        element = parents.get(int(link.get("/StructParent", -1)))
        must(element is not None and links.get(link.objgen) == element.objgen, "7.18.5", "a link outside the tree")

# 7.21: fonts are in the file, and what they show is Unicode.
for item in pdf.objects:
    if isinstance(item, pikepdf.Dictionary) and str(item.get("/Type", "")) == "/Font":
        count["fonts"] += 1
        kind = str(item.get("/Subtype", ""))
        if kind != "/CIDFontType2":
            must("/ToUnicode" in item, "7.21.7", f"{item.get('/BaseFont', kind)} has no way to Unicode")
        if kind in ("/TrueType", "/Type1", "/CIDFontType2", "/CIDFontType0"):
            file = item.get("/FontDescriptor", {})
            must(any(f"/FontFile{n}" in file for n in ("", 2, 3)), "7.21.4.1", f"{item.BaseFont} is not in the file")

print(json.dumps({"wrong": sorted(set(wrong))[:40], "count": count}))
