"""Look through a worksheet that is written as plainly as apps write them, with one pattern.

A parser that calls Python for every element takes three times as long. In well-formed XML without
comments, character blocks and instructions every ``<`` begins a tag, so the pattern sees each one.
A tag that matters and is not written in the plain way leaves the sheet to the parser.
"""

import re

from fieldbook.workbook.guard_cells import SheetFacts, area_corners, column_number, whole_number
from fieldbook.workbook.guard_package import Refused

_DECLARED = re.compile(rb'<\?xml version="1\.0"(?: encoding="(?:UTF|utf)-8")?[^?<>]*\?>')
_OTHERS = rb'(?: [\w:.]+="[^"]*")*'
_TAG = re.compile(
    rb'<(?:c r="(?P<column>[A-Z]{1,3})(?P<number>[1-9][0-9]{0,6})"'
    rb'(?: s="[0-9]+")?(?: t="(?P<kind>[A-Za-z]+)")?/?>'
    rb'(?P<formula><f(?: a?ca="[a-z0-9]+")*>)?'
    rb'|row(?P<of_row>(?: [\w:.]+="[^"&]*")*)(?P<closed>/?)>'
    rb"|(?P<end>/row)>"
    rb"|(?:mergeCell|hyperlink)" + _OTHERS + rb' ref="(?P<area>[A-Za-z0-9:$]*)"' + _OTHERS + rb"/>"
    rb'|(?:[^\s<>/:"]+:)?(?:row|c|f|mergeCell|hyperlink)[\s/>])'
)
_NUMBER, _HIDDEN = re.compile(rb' r="([^"]*)"'), re.compile(rb' hidden="(?:1|true)"')


def plain_facts(content: bytes) -> SheetFacts | None:
    """Gather the facts of a well-formed worksheet; None if it is not plain enough or is refused."""
    declared = _DECLARED.match(content)
    start = declared.end() if declared else 0
    if content.find(b"<!", start) >= 0 or content.find(b"<?", start) >= 0:
        return None
    try:
        return _facts(content, start)
    except Refused:
        return None  # the parser says why


def _facts(content: bytes, start: int) -> SheetFacts | None:
    facts, row, in_row = SheetFacts(), 0, False
    letters, numbers = set[bytes](), set[bytes]()
    for tag in _TAG.finditer(content, start):
        column, number, kind, formula, of_row, closed, end, area = tag.groups()
        if number is not None and (in_row or formula is None):
            letters.add(column)
            numbers.add(number)
            if formula is not None or kind is not None:
                _mark(facts, (column + number).decode(), kind, has_formula=formula is not None)
        elif of_row is not None and not in_row:
            row, in_row = _row(facts, of_row, row), not closed
        elif end is not None:
            in_row = False
        elif area is not None:
            for corner in area_corners(area.decode()):
                facts.reach(*corner)
        else:  # a row inside a row, a formula outside one, or a tag written in another way
            return None
    if numbers:
        facts.reach(max(map(int, numbers)), max(column_number(one.decode()) for one in letters))
    return facts


def _mark(facts: SheetFacts, ref: str, kind: bytes | None, *, has_formula: bool) -> None:
    if has_formula:
        facts.formulas.add(ref)
    if kind == b"s":
        facts.shared_texts += 1
    elif kind == b"e":
        facts.errors.add(ref)


def _row(facts: SheetFacts, attributes: bytes, last: int) -> int:
    """Note a row if it is hidden, and return its number; one without a number is the next."""
    number = _NUMBER.search(attributes)
    row = whole_number(number[1].decode("ascii", "replace"), "a row called") if number else last + 1
    if _HIDDEN.search(attributes):
        facts.hide(row)
    return row
