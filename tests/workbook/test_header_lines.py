"""Header lines that somebody deleted: neither they nor the first row are taken for the other."""

import io

import pytest
from hostile.books import real_book
from openpyxl import load_workbook

from fieldbook.entries import BookEntries
from fieldbook.workbook.read import read_book

_KEY, _TITLE, _LABELS, _UNITS = range(1, 5)  # the lines above the first row, as an app counts


def entries(data: bytes) -> BookEntries:
    """Read a book that has nothing to be refused for."""
    book = read_book(data, "book.xlsx").book
    assert book is not None
    return book


def without(*lines: int) -> bytes:
    """Fill one ear in, and delete lines above the ears."""
    book = load_workbook(io.BytesIO(real_book()))
    ears = book["Ears"]
    names = [cell.value for cell in ears[_KEY]]
    ears.cell(_UNITS + 1, names.index("rows_around") + 1, 16)
    for line in sorted(lines, reverse=True):
        ears.delete_rows(line)
    saved = io.BytesIO()
    book.save(saved)
    return saved.getvalue()


@pytest.mark.parametrize(
    "lines",
    [
        (_TITLE,),
        (_LABELS,),
        (_UNITS,),
        (_LABELS, _UNITS),
        (_TITLE, _LABELS),
        (_TITLE, _LABELS, _UNITS),
        (_KEY,),
        (_KEY, _TITLE, _UNITS),
    ],
)
def test_rows_are_the_same_without_header_lines(lines: tuple[int, ...]) -> None:
    """While the mark or the labels are there, every row is read, and the ear with its value."""
    whole, cut = (entries(without(*gone)).sheets["ears"] for gone in ((), lines))
    wanted = [row.cells.typed for row in whole.rows]
    assert wanted[0]["rows_around"] == 16
    assert [row.cells.typed for row in cut.rows] == wanted
