"""Reads how a PDF is built for those who hear it: its tree of tags, and what has no tag at all."""

import itertools
import re
from collections.abc import Iterator
from typing import Any

from pypdf import PdfReader
from pypdf.generic import ContentStream

_PAINTS = frozenset(
    [*b"Tj TJ ' \" f F f* B B* b b* S s sh Do".split(), b"INLINE IMAGE"],
)
_NOTHING = ("/Artifact",)
_FOOT_PIECES = 2
"""Name and number at the foot of a page: WeasyPrint 70 marks them and leaves them out of the tree.

They repeat what the title and the reader's own page count say, so nothing that matters is lost.
"""


def tags(reader: PdfReader) -> Iterator[Any]:
    """Yield every element of the tree, in reading order."""
    tree = reader.trailer["/Root"].get("/StructTreeRoot")
    if tree is not None:
        yield from _beneath(tree.get_object())


def _beneath(node: Any) -> Iterator[Any]:
    for kid in _kids(node):
        if hasattr(kid, "get") and "/S" in kid:
            yield kid
            yield from _beneath(kid)


def _kids(node: Any) -> list[Any]:
    kids = node.get("/K")
    if kids is None:
        return []
    kids = kids.get_object() if hasattr(kids, "get_object") else kids
    many = kids if isinstance(kids, list) else [kids]
    return [kid.get_object() if hasattr(kid, "get_object") else kid for kid in many]


def bookmarks(outline: list[Any]) -> list[tuple[int, str]]:
    """Return the bookmarks with their depth, from 0."""
    found: list[tuple[int, str]] = []
    for one in outline:
        if isinstance(one, list):
            found += [(depth + 1, title) for depth, title in bookmarks(one)]
        else:
            found.append((0, str(one.title)))
    return found


def faults(reader: PdfReader, *, tops: int = 1) -> list[str]:
    """Say what keeps a PDF from being read aloud as PDF/UA-1 asks; empty where nothing does.

    It has so many headings of the first level: one, or one for each page bound into it.
    """
    root = reader.trailer["/Root"]
    found = [*_catalog_faults(root)]
    metadata = root.get("/Metadata")
    about = metadata.get_object().get_data().decode() if metadata else ""
    if not re.search(r"pdfuaid:part(=\"|>)1", about):
        found.append("does not say that it is PDF/UA-1")
    if "<dc:title>" not in about:
        found.append("no title in its metadata")
    elements = list(tags(reader))
    found += [*_figure_faults(elements), *_heading_faults(elements, tops), *_table_faults(elements)]
    for number, page in enumerate(reader.pages, start=1):
        found += [f"page {number}: {fault}" for fault in _page_faults(page, reader)]
    return found


def _catalog_faults(root: Any) -> Iterator[str]:
    if "/StructTreeRoot" not in root:
        yield "no tree of tags"
    if not root.get("/MarkInfo", {}).get("/Marked"):
        yield "not marked as tagged"
    if not root.get("/Lang"):
        yield "no language"
    if not root.get("/ViewerPreferences", {}).get("/DisplayDocTitle"):
        yield "the window shows a file name in place of its title"
    if "/Outlines" not in root:
        yield "no bookmarks"


def _figure_faults(elements: list[Any]) -> Iterator[str]:
    for one in elements:
        if one["/S"] == "/Figure" and not str(one.get("/Alt", "")).strip():
            yield "a drawing without words"


def _heading_faults(elements: list[Any], tops: int) -> Iterator[str]:
    levels = [int(name[2:]) for one in elements if re.fullmatch(r"/H[1-6]", name := str(one["/S"]))]
    if levels.count(1) != tops or levels[:1] != [1]:
        yield "headings do not begin with the one of the page"
    if any(after > before + 1 for before, after in itertools.pairwise(levels)):
        yield "a level of headings is skipped"


def _table_faults(elements: list[Any]) -> Iterator[str]:
    for table in (one for one in elements if one["/S"] == "/Table"):
        cells = [one for one in _beneath(table) if one["/S"] == "/TH"]
        if not cells:
            yield "a table without heads"
            continue
        named = {str(one.get("/ID")) for one in cells}
        told = [one.get("/A", {}).get("/Headers", []) for one in _beneath(table) if _is_cell(one)]
        if any(not heads or not {str(head) for head in heads} <= named for heads in told):
            yield "a cell that does not say what its heads are"


def _is_cell(element: Any) -> bool:
    return bool(element["/S"] == "/TD")


def _page_faults(page: Any, reader: PdfReader) -> Iterator[str]:
    if page.get("/Tabs") != "/S":
        yield "the tab key does not follow the tags"
    used, loose = _content(page, reader)
    if loose:
        yield f"{loose} things are painted without a tag"
    named = set(_numbered(reader, page))
    if len(used - named) > _FOOT_PIECES:
        yield f"{len(used - named)} pieces have a tag that the tree does not know"
    if named - used:
        yield f"{len(named - used)} tags stand for nothing on the page"


def _content(page: Any, reader: PdfReader) -> tuple[set[int], int]:
    """Return the numbers of the marked pieces, and how much is painted outside of any mark."""
    open_marks, used, loose = 0, set(), 0
    for operands, operator in ContentStream(page.get_contents(), reader).operations:
        if operator in (b"BDC", b"BMC"):
            open_marks += 1
            if operator == b"BDC" and operands[0] not in _NOTHING and "/MCID" in operands[1]:
                used.add(int(operands[1]["/MCID"]))
        elif operator == b"EMC":
            open_marks -= 1
        elif operator in _PAINTS and not open_marks:
            loose += 1
    return used, loose


def _numbered(reader: PdfReader, page: Any) -> Iterator[int]:
    """Yield the numbers of the pieces on a page that the tree names."""
    for one in tags(reader):
        here = one.get("/Pg")
        for kid in _kids(one):
            if isinstance(kid, int) and here is not None and here.get_object() == page:
                yield int(kid)
            elif hasattr(kid, "get") and kid.get("/Type") == "/MCR":
                where = kid.get("/Pg", here)
                if where is not None and where.get_object() == page:
                    yield int(kid["/MCID"])
