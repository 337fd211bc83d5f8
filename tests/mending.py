"""Mend a correction book as a scout would, in its cells, found by header and printed keys."""

from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

from openpyxl import load_workbook

from fieldbook.words import SHIPPED_LANGUAGES, say
from fieldbook.workbook.grid import FIRST_ROW, MARK

_LABELS = {
    "fields": "Fields",
    "stops": "Stops",
    "ears": "Ears",
    "leaves": "Leaves",
    "stalks": "Stalks",
    "photos": "Photos",
    "harvest": "Harvest",
}
Cells = Mapping[tuple[str, tuple[str | int, ...], str], str | int | float | date | None]


def mend(book: Path, path: Path, cells: Cells) -> Path:
    """Write these values into a book's cells, None for an empty one, and save it elsewhere."""
    whole = load_workbook(book)
    for (sheet, key, column), value in cells.items():
        cell_of(_sheet_of(whole, sheet), key, column).value = value
    whole.save(path)
    return path


def _sheet_of(book: Any, sheet: str) -> Any:
    """Find a sheet by its title in the book's language."""
    titles = [say(_LABELS[sheet], language) for language in SHIPPED_LANGUAGES]
    return book[next(title for title in titles if title in book.sheetnames)]


def cell_of(sheet: Any, key: tuple[str | int, ...], column: str) -> Any:
    """Find a cell by its row's printed keys and its column's hidden name."""
    heads = {cell.value: cell.column for cell in sheet[1] if cell.value}
    assert any(str(head).startswith(MARK) for head in heads), sheet.title
    for row in range(FIRST_ROW + 1, sheet.max_row + 1):
        if tuple(sheet.cell(row, at + 1).value for at in range(len(key))) == key:
            return sheet.cell(row, heads[column])
    raise AssertionError((sheet.title, key, column))
