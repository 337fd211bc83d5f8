"""Plain tables as a workbook: sheets of facts to read, filter and print; none comes back."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from math import ceil
from typing import Any

from fieldbook.workbook.paper import Paper, must

TableValue = str | int | float | date | None
_HEAD_ROW, _HEAD_POINTS, _TITLE_POINTS = 1, 36, 30
_LINE_POINTS = 18


@dataclass(frozen=True, kw_only=True)
class TableColumn:
    """A column: its head, and its width in letters."""

    head: str
    width: int


@dataclass(frozen=True, kw_only=True)
class TableSheet:
    """A sheet of one table; ``title`` names the sheet, ``heading`` stands above the table.

    Rows may be made as they are written.
    """

    title: str
    heading: str
    columns: Sequence[TableColumn]
    rows: Iterable[Sequence[TableValue]]


def write_tables(sheets: Iterable[TableSheet], *, title: str, year: int, paper: str) -> bytes:
    """Return the bytes of a workbook of tables, the same for the same tables.

    Raises
    ------
    ValueError
        Where a cell or a name does not fit a workbook, or a row has more or fewer values than
        there are columns.
    """
    created = datetime(year, 1, 1)
    with Paper(created=created, paper=paper, title=title, row_by_row=True) as book:
        for table in sheets:
            _write_sheet(book, table, title)
        return book.close()


def _write_sheet(book: Paper, table: TableSheet, title: str) -> None:
    sheet = book.sheet(table.title, footer=title, locked=False)
    book.text(sheet, 0, 0, table.heading, "title")
    must(sheet.set_row(0, _TITLE_POINTS))
    must(sheet.set_row(_HEAD_ROW, _HEAD_POINTS))
    for at, column in enumerate(table.columns):
        must(sheet.set_column(at, at, column.width))
        book.text(sheet, _HEAD_ROW, at, column.head, "table-head")
    row = _HEAD_ROW
    for row, values in enumerate(table.rows, start=_HEAD_ROW + 1):
        for at, (_, value) in enumerate(zip(table.columns, values, strict=True)):
            _write_value(book, sheet, row, at, value)
        must(sheet.set_row(row, _LINE_POINTS * _lines(table.columns, values)))
    must(sheet.autofilter(_HEAD_ROW, 0, max(row, _HEAD_ROW + 1), len(table.columns) - 1))
    sheet.freeze_panes(_HEAD_ROW + 1, 0)
    sheet.repeat_rows(_HEAD_ROW)


def _lines(columns: Sequence[TableColumn], values: Sequence[TableValue]) -> int:
    """Count the lines that the longest text of a row takes; not every app finds that by itself."""
    texts = ((len(str(v)), c.width) for c, v in zip(columns, values, strict=True) if v is not None)
    return max((ceil(length / width) for length, width in texts), default=1)


def _write_value(book: Paper, sheet: Any, row: int, column: int, value: TableValue) -> None:
    if value is None:
        must(sheet.write_blank(row, column, None, book.style("table-text")))
    elif isinstance(value, str):
        book.text(sheet, row, column, value, "table-text")
    elif isinstance(value, date):
        must(sheet.write_datetime(row, column, value, book.style("table-day")))
    else:
        style = "table-number" if isinstance(value, int) else "table-tenth"
        must(sheet.write_number(row, column, value, book.style(style)))
