"""Strange things typed or put into cells of a sound file."""

import re
from collections.abc import Callable

from hostile.books import unzipped
from hostile.damage_kinds import Draw, as_xml, content_of, kind, one_match, replaced, with_part

# ---- cells ----------------------------------------------------------------------------------

_CELL = re.compile(rb'<c r="([A-Z]+[0-9]+)"[^<>]*?(?:/>|>.*?</c>)', re.DOTALL)
_ODS_CELL = re.compile(rb"<table:table-cell(?:[^<>]*/>|[^<>]*>.*?</table:table-cell>)", re.DOTALL)
_TYPED = (
    *("16 rows", "~30", "3O", "12,5", "1e3", "inf", "nan", "1e400", "-0", "0x10", "\u0661\u0662"),
    *("=1+1", "@SUM(A1)", "<b>x</b>", "{{ 7*7 }}", "%s %n {0}", "a\u0000b", "\ufffe", "\u202ex"),
    *("../../etc", "x" * 40_000, "\U0001f33d" * 300, "_x0000_", "_xD800_", "R4 ", "tRuE", "N/A"),
)
_NUMBERS = (
    "1e308",
    "-1e308",
    "1e-320",
    "NaN",
    "INF",
    "-0.0",
    "2958466",
    "-1",
    "0.1",
    "1e15",
    "9" * 400,
)


def _cells(data: bytes, draw: Draw, changes: int, fresh: Callable[[bytes, bool], bytes]) -> bytes:
    """Write some cells of one sheet anew; `fresh` gets the cell's name ('' in .ods)."""
    parts = unzipped(data)
    is_ods = "content.xml" in parts
    sheets = ["content.xml"] if is_ods else [n for n in parts if n.startswith("xl/worksheets/s")]
    name = draw.choice(sheets)
    content = content_of(data, name)
    for _ in range(changes):
        found = one_match(_ODS_CELL if is_ods else _CELL, content, draw)
        where = b"" if found is None or is_ods else found[1]
        content = replaced(content, found, fresh(where, is_ods))
    return with_part(data, name, content)


def _ods_value(kind: str, value: bytes, text: bytes) -> bytes:
    attribute = {"float": "value", "date": "date-value", "boolean": "boolean-value"}.get(kind)
    typed = b' office:%s="%s"' % (attribute.encode(), value) if attribute else b""
    head = b'<table:table-cell office:value-type="%s"' % kind.encode()
    return head + typed + b"><text:p>" + text + b"</text:p></table:table-cell>"


@kind("cells")
def type_texts(data: bytes, draw: Draw) -> bytes:
    """Type words where a number, a date or a choice belongs."""

    def fresh(where: bytes, is_ods: bool) -> bytes:
        text = as_xml(draw.choice(_TYPED))
        if is_ods:
            return _ods_value("string", b"", text)
        return b'<c r="%s" t="inlineStr"><is><t>%s</t></is></c>' % (where, text)

    return _cells(data, draw, draw.choice([1, 1, 2, 5, 40]), fresh)


@kind("cells")
def type_numbers(data: bytes, draw: Draw) -> bytes:
    """Type numbers that no cell should hold."""

    def fresh(where: bytes, is_ods: bool) -> bytes:
        number = draw.choice([*_NUMBERS, str(draw.randint(-10, 60)), repr(draw.gauss(50, 500))])
        if is_ods:
            return _ods_value("float", number.encode(), number.encode())
        return b'<c r="%s" s="%d"><v>%s</v></c>' % (where, draw.randrange(30), number.encode())

    return _cells(data, draw, draw.choice([1, 1, 2, 5, 40]), fresh)


@kind("cells")
def type_other_kinds(data: bytes, draw: Draw) -> bytes:
    """Put in formulas, errors, truth values, dates, texts by a wrong number, cells of no kind."""
    xlsx = (
        b"<f>1/0</f><v>#DIV/0!</v>", b"<f>A1</f>", b"<v>#REF!</v>", b"<v>1</v>", b"<v>999999</v>",
        b"<v>2026-13-45</v>", b"<v>2026-07-22T10:00:00</v>", b"<is/>", b"", b"<v/>",
        b"<v></v><v>2</v>",
    )  # fmt: skip
    types = (b"", b' t="e"', b' t="b"', b' t="s"', b' t="d"', b' t="str"', b' t="n"', b' t="zz"')
    ods = (("boolean", b"maybe"), ("date", b"2026-02-31"), ("date", b"-9999-01-01"), ("zz", b""))

    def fresh(where: bytes, is_ods: bool) -> bytes:
        if not is_ods:
            return b'<c r="%s"%s>%s</c>' % (where, draw.choice(types), draw.choice(xlsx))
        if draw.random() < 0.4:
            return b'<table:table-cell table:formula="of:=1/0" calcext:value-type="error"/>'
        kind, value = draw.choice(ods)
        return _ods_value(kind, value, value)

    return _cells(data, draw, draw.choice([1, 1, 2, 5, 40]), fresh)
