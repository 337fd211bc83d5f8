"""Rows, columns, sheets and the identity of a sound file, changed."""

import json
import re
from collections.abc import Callable, Sequence
from typing import Any

from hostile.books import unzipped
from hostile.damage_kinds import Draw, as_xml, content_of, kind, one_match, replaced, with_part

# ---- structure --------------------------------------------------------------------------------

_ROW = re.compile(rb"<(?:table:table-)?row\b.*?</(?:table:table-)?row>", re.DOTALL)
_TITLE = re.compile(rb'(?<=<sheet name=")[^"]+|(?<=<table:table table:name=")[^"]+')
_BARE_ROW = re.compile(rb"<row (?=(?![^<>]*hidden))")
_IDENTITY = re.compile(rb"\{&quot;book_id.*?\}(?=<)|\{\"book_id.*?\}(?=<)", re.DOTALL)


def _rows_changed(
    data: bytes, draw: Draw, change: Callable[[list[bytes]], Sequence[bytes]]
) -> bytes:
    """Change the order and number of the rows of one sheet; their own numbers stay."""
    name = draw.choice(
        [n for n in unzipped(data) if n.startswith("xl/worksheets/s")] or ["content.xml"]
    )
    content = content_of(data, name)
    found = list(_ROW.finditer(content))
    if not found:
        return data
    start = draw.randrange(len(found))
    some = found[start : start + draw.randint(2, 60)]
    between = content[some[0].start() : some[-1].end()]
    rows = _ROW.findall(between)
    return with_part(
        data,
        name,
        content[: some[0].start()] + b"".join(change(rows)) + content[some[-1].end() :],
    )


@kind("structure")
def drop_rows(data: bytes, draw: Draw) -> bytes:
    """Lose some rows."""
    return _rows_changed(data, draw, lambda rows: [r for r in rows if draw.random() < 0.5])


@kind("structure")
def double_rows(data: bytes, draw: Draw) -> bytes:
    """Have some rows twice or very often."""
    often = draw.choice([2, 2, 300])
    return _rows_changed(data, draw, lambda rows: [*rows[:1] * often, *rows[1:]])


@kind("structure")
def sort_rows(data: bytes, draw: Draw) -> bytes:
    """Bring rows into another order; in .xlsx with numbers that run with their new places."""

    def shuffled(rows: list[bytes]) -> list[bytes]:
        fresh = draw.sample(rows, len(rows))
        numbers = [re.search(rb'(?<=<row r=")[0-9]+', row) for row in rows]
        return [
            row if number is None else _renumbered(row, number[0])
            for row, number in zip(fresh, numbers, strict=True)
        ]

    return _rows_changed(data, draw, shuffled)


def _renumbered(row: bytes, number: bytes) -> bytes:
    row = re.sub(rb'(?<=<row r=")[0-9]+', number, row, count=1)
    return re.sub(rb'(?<=<c r=")([A-Z]+)[0-9]+', lambda found: found[1] + number, row)


@kind("structure")
def move_columns(data: bytes, draw: Draw) -> bytes:
    """Exchange two columns of a sheet, or lay one over another (.xlsx; rows sorted in .ods)."""
    sheets = [name for name in unzipped(data) if name.startswith("xl/worksheets/s")]
    if not sheets:
        return sort_rows(data, draw)
    name, (one, other) = draw.choice(sheets), draw.sample([b"A", b"B", b"C", b"E", b"F", b"H"], 2)
    to = {one: other, other: draw.choice([one, other])}
    pattern = re.compile(rb'(?<=<c r=")(%s|%s)(?=[0-9])' % (one, other))
    return with_part(data, name, pattern.sub(lambda found: to[found[1]], content_of(data, name)))


@kind("structure")
def rename_sheets(data: bytes, draw: Draw) -> bytes:
    """Give sheets other titles, exchange two, or let two have the same."""
    name = "xl/workbook.xml" if "xl/workbook.xml" in unzipped(data) else "content.xml"
    content = content_of(data, name)
    titles = _TITLE.findall(content)
    new = [*titles, b"Sheet1", b"", b"a/b", b"x" * 300, "Ähren".encode(), b"=1+1", b"Identity"]
    few = draw.sample(titles, min(draw.choice([1, 1, 3]), len(titles)))
    to = {title: draw.choice(new) for title in few}
    if draw.random() < 0.3:
        to = dict(zip(titles, draw.sample(titles, len(titles)), strict=True))
    return with_part(data, name, _TITLE.sub(lambda found: to.get(found[0], found[0]), content))


def _hidden(draw: Draw) -> bytes:
    return b'<row hidden="%s" ' % draw.choice([b"1", b"1", b"1", b"x"])


@kind("structure")
def hide_and_merge(data: bytes, draw: Draw) -> bytes:
    """Hide rows and merge cells, within the sheet and far beyond."""
    area = draw.choice([b"A1:B2", b"E5:H60", b"A1:XFD1048576", b"B2", b"A5:A5001", b"C:C"])
    merged = b'</sheetData><mergeCells count="1"><mergeCell ref="%s"/></mergeCells>' % area
    name = draw.choice(
        [n for n in unzipped(data) if n.startswith("xl/worksheets/s")] or ["content.xml"]
    )
    out = content_of(data, name).replace(b"</sheetData>", merged)
    spans = b'<table:table-cell table:number-columns-spanned="%d"' % draw.choice([2, 99, 9999])
    out = replaced(out, one_match(re.compile(b"<table:table-cell"), out, draw), spans)
    return with_part(data, name, _BARE_ROW.sub(_hidden(draw), out, draw.randint(1, 50)))


_OTHER_KIND: tuple[object, ...] = (None, [], {}, -1, 1.5, 10**9, True, "x" * 5_000, [[]])
_SAME_KIND: dict[type, tuple[object, ...]] = {
    str: ("x", "../../x", "\u202ex", "=1+1", "<b>", "metric", "xx", "kernel-count", "y" * 200),
    int: (1, 2, 3, 40, 0),
    bool: (True, False),
    dict: ({"stop": 60, "ear": 60}, {"stop": 1}, {"line": 60, "photo": 60}, {"stop": 10**9}),
}


@kind("structure")
def false_identity(data: bytes, draw: Draw) -> bytes:
    """Change what a book says of itself: some of it, or of one visit, or the whole."""
    name = "content.xml" if "content.xml" in unzipped(data) else "xl/sharedStrings.xml"
    content = content_of(data, name)
    found = _IDENTITY.search(content)
    assert found is not None
    facts = json.loads(found[0].replace(b"&quot;", b'"').replace(b"&amp;", b"&"))
    place = draw.choice([facts, *facts["visits"]])
    key = draw.choice(sorted(place))
    alike = _SAME_KIND.get(type(place[key]), _OTHER_KIND)
    place[key] = draw.choice(draw.choice([alike, alike, _OTHER_KIND]))
    if draw.random() < 0.3 and isinstance(facts["visits"], list):
        facts["visits"] = _other_visits(facts["visits"], draw)
    whole = draw.choice([json.dumps(facts)] * 8 + ["[" * 30_000, "null"])
    return with_part(data, name, replaced(content, found, as_xml(whole)))


def _other_visits(visits: list[Any], draw: Draw) -> list[Any]:
    """Lose a visit, have one twice, or have very many."""
    first = visits[0]
    many = [
        {**first, "visit_id": f"{first['field_id']}.{number}", "rows": {"stop": 60, "ear": 60}}
        for number in range(100)
        if isinstance(first, dict) and "field_id" in first
    ]
    return draw.choice([visits[1:], [*visits, first], many])
