"""Look through a worksheet that is written as plainly as apps write them, with patterns.

A parser that calls Python for every element takes many times as long. The document is known to be
well-formed, so that every ``<`` outside of comments and character blocks begins a tag. One pattern
takes in the table of cells as a whole, and lets nothing pass that it does not name; what stands
around it is looked through tag by tag. A sheet that is not so plain is left to the parser.
"""

import re
from collections.abc import Iterator

from fieldbook.workbook.guard_cells import SheetFacts, area_corners, column_number
from fieldbook.workbook.guard_package import Content, Refused

_FORMULA = rb'<f(?: a?ca="[a-z0-9]++")*+(?:/>|>[^<]*+</f>)'
_VALUE = rb"<v(?:/>|>[^<]*+</v>)"
_TEXT = rb'<is><t(?: xml:space="preserve")?+>[^<]*+</t></is>'
_CELL = (
    rb'<c r="[A-Z]{1,3}(?P=row)"(?: s="[0-9]++")?+(?: t="[A-Za-z]++")?+'
    rb"(?:/>|>(?:" + _FORMULA + rb")?+(?:" + _VALUE + rb"|" + _TEXT + rb")?+</c>)"
)
_ROW = (
    rb'<row r="(?P<row>[1-9][0-9]{0,6})"(?: [\w:.]++="[^"&<>]*+")*+'
    rb"(?:/>|>(?:" + _CELL + rb")*+</row>)"
)
_TABLE = re.compile(rb"<sheetData>(?:" + _ROW + rb")*+</sheetData>")

# Within a table that is plain.
_CELLS = re.compile(
    rb'<c r="([A-Z]{1,3})([0-9]+)"(?: s="[0-9]+")?(?: t="([A-Za-z]+)")?(?:/|>(<f)?)'
)
_HIDDEN = re.compile(rb'<row r="([0-9]+)"[^<>]* hidden="(?:1|true)"')
_SHARED_TEXT, _ERROR = b"s", b"e"
_ROW_START = b"<row "
_PART_BYTES = 1_000_000

# Around it.
_DECLARED = re.compile(rb'<\?xml version="1\.0"(?: encoding="(?:UTF|utf)-8")?[^?<>]*\?>')
_OTHERS = rb'(?: [\w:.]+="[^"]*")*'
_AREA = re.compile(
    rb"<(?:(?:mergeCell|hyperlink)" + _OTHERS + rb' ref="([A-Za-z0-9:$]*)"' + _OTHERS + rb"/>"
    rb'|(?:[^\s<>/:"]+:)?(?:sheetData|row|c|f|mergeCell|hyperlink)[\s/>])'
)


def plain_facts(content: Content) -> SheetFacts | None:
    """Gather the facts of a well-formed worksheet; None if it is not plain enough or is refused."""
    declared = _DECLARED.match(content)
    start = declared.end() if declared else 0
    table = _TABLE.search(content, start)
    if table is None:
        return None
    facts = SheetFacts()
    for part in _parts(content, *table.span()):
        _take_cells(facts, content, *part)
    around = content[start : table.start()], content[table.end() :]
    try:
        return facts if all(_reaches(facts, part) for part in around) else None
    except Refused:
        return None  # the parser says why


def _parts(content: Content, start: int, end: int) -> Iterator[tuple[int, int]]:
    """Part a table between rows, so that few of its cells are in memory at once."""
    while start < end:
        stop = content.find(_ROW_START, start + _PART_BYTES, end)
        stop = end if stop < 0 else stop
        yield start, stop
        start = stop


def _take_cells(facts: SheetFacts, content: Content, start: int, end: int) -> None:
    """Add the facts of a part of a plain table."""
    cells = _CELLS.findall(content, start, end)
    facts.shared_texts += sum(kind == _SHARED_TEXT for _, _, kind, _ in cells)
    facts.formulas.update((column + row).decode() for column, row, _, has in cells if has)
    facts.errors.update((column + row).decode() for column, row, kind, _ in cells if kind == _ERROR)
    for row in _HIDDEN.findall(content, start, end):
        facts.hide(int(row))
    rows, columns = {row for _, row, _, _ in cells}, {cell[0] for cell in cells}
    facts.last_row = max(facts.last_row, *map(int, rows), 0)
    facts.last_column = max(facts.last_column, *(column_number(c.decode()) for c in columns), 0)


def _reaches(facts: SheetFacts, part: Content) -> bool:
    """Note the areas that a part around the table names; say whether the part is plain."""
    facts.reach(facts.last_row, facts.last_column)
    if b"<!" in part or b"<?" in part:
        return False
    for area in _AREA.findall(part):
        if not area:
            return False
        for corner in area_corners(area.decode()):
            facts.reach(*corner)
    return True
