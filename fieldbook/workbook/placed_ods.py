"""Pictures of an .ods file: they hang on a cell, or lie on the page so far below its top."""

import re
from collections.abc import Iterator

from fieldbook.workbook.guard_cells import MAX_ROW
from fieldbook.workbook.guard_ods import CONTENT
from fieldbook.workbook.placed_parts import Parts, Placed, RowHeights, inside, number_of

_POINTS = {"pt": 1.0, "in": 72.0, "cm": 72 / 2.54, "mm": 72 / 25.4, "px": 0.75}
_LENGTH = re.compile(r"(-?[0-9.]+)([a-z]+)")


def _points(text: str | None) -> float:
    match = _LENGTH.fullmatch(text or "")
    return number_of(match[1]) * _POINTS.get(match[2], 1.0) if match else 0.0


class _Tables:
    """Gathers pictures with their place, and the heights of rows, table by table."""

    def __init__(self) -> None:
        self.found: list[tuple[str, RowHeights, int, float, str]] = []
        self._styles: dict[str, float] = {}
        self._style = self._title = ""
        self._heights = RowHeights()
        self._row, self._repeats = 1, 1
        self._in_row = False
        self._down_pt = 0.0

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """Take the start of an element."""
        if name == "style":
            self._style = attributes.get("style:name", "")
        elif name == "table-row-properties":
            self._styles[self._style] = _points(attributes.get("style:row-height"))
        elif name == "table":
            self._title, self._heights = attributes.get("table:name", ""), RowHeights()
            self._row = 1
        elif name == "table-row":
            self._start_row(attributes)
        elif name == "frame":
            self._down_pt = _points(attributes.get("svg:y"))
        elif name == "image":
            row = self._row if self._in_row else 1
            path = inside("", attributes.get("xlink:href", ""))
            self.found.append((self._title, self._heights, row, self._down_pt, path))

    def _start_row(self, attributes: dict[str, str]) -> None:
        self._in_row = True
        self._repeats = max(int(number_of(attributes.get("table:number-rows-repeated", "1"))), 1)
        high = self._styles.get(attributes.get("table:style-name", ""))
        if high:
            last = min(self._row + self._repeats, MAX_ROW + 1)
            self._heights.of_row |= dict.fromkeys(range(self._row, last), high)

    def end(self, name: str) -> None:
        """Take the end of an element."""
        if name == "table-row":
            self._in_row = False
            self._row += self._repeats


def placed_in_ods(parts: Parts) -> Iterator[Placed]:
    """Find all pictures, sheet by sheet."""
    tables = _Tables()
    parts.walk(CONTENT, tables.start, tables.end)
    for title, heights, row, down_pt, path in tables.found:
        if path.startswith(("pictures/", "media/")) and parts.has(path):
            yield Placed(title=title, row=heights.row_at(row, down_pt), data=parts.read(path))
