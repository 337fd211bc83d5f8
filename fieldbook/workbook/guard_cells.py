"""What the guard notes of cells, whichever format they came in, and how large a book may be."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import lru_cache

from fieldbook.workbook.guard_package import broken, too_large

MAX_ROW = 5_000
MAX_COLUMN = 300
MAX_CELLS = 2_000_000
"""Rows times columns, all sheets together: a reader fills the whole rectangle of each."""

MAX_TEXT = 500_000_000
"""Characters in all cells together, once shared and repeated texts are written out."""

_MAX_DIGITS = 12
_REF = re.compile(r"([A-Z]{1,3})([1-9][0-9]{0,6})")
_CORNER = re.compile(r"\$?([A-Za-z]{0,3})\$?([0-9]{0,7})")
_APP_ROWS, _APP_COLUMNS = 2**20, 2**14
_NAMES_KNOWN = 2**14  # cells of some books; all books of a round use the same ones


@dataclass(kw_only=True)
class SheetFacts:
    """What one sheet holds, gathered while its cells go by.

    ``shared_texts`` counts the cells that show a text of the book's common list.
    """

    formulas: set[str] = field(default_factory=set)
    errors: set[str] = field(default_factory=set)
    hidden_rows: set[int] = field(default_factory=set)
    last_row: int = 0
    last_column: int = 0
    shared_texts: int = 0

    def reach(self, row: int, column: int) -> None:
        """Note a cell, refusing one outside the limits."""
        if row > MAX_ROW or column > MAX_COLUMN:
            raise too_large(f"it reaches to cell {cell_ref(row, column)}")
        if row > self.last_row or column > self.last_column:
            self.last_row = max(self.last_row, row)
            self.last_column = max(self.last_column, column)

    def hide(self, first: int, count: int = 1) -> None:
        """Note hidden rows; those below every possible entry do not matter."""
        self.hidden_rows.update(range(first, min(first + count, MAX_ROW + 1)))


@dataclass(frozen=True, kw_only=True)
class Findings:
    """All sheets by title, and whether the file holds macros or links to other files."""

    sheets: Mapping[str, SheetFacts]
    macros: bool


class Budget:
    """Counts what a reader would have to hold, over the whole file."""

    def __init__(self) -> None:
        self._cells = MAX_CELLS
        self._text = MAX_TEXT

    def spend(self, rows: int, columns: int) -> None:
        """Count a rectangle of cells; a reader fills it whole."""
        self._cells -= rows * columns
        if self._cells < 0:
            raise too_large(f"more than {MAX_CELLS:,} cells")

    def spend_text(self, characters: int, times: int) -> None:
        """Count a text as often as it will be copied."""
        self._text -= characters * times
        if self._text < 0:
            raise too_large("one text in too many cells")


@lru_cache(maxsize=1024)
def column_number(letters: str) -> int:
    """Return a column's number, counted from 1, by its letters."""
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - ord("A") + 1
    return number


@lru_cache(maxsize=1024)
def column_letters(number: int) -> str:
    """Return a column's letters by its number, counted from 1."""
    letters = ""
    while number > 0:
        number, digit = divmod(number - 1, 26)
        letters = chr(ord("A") + digit) + letters
    return letters


@lru_cache(maxsize=_NAMES_KNOWN)
def cell_ref(row: int, column: int) -> str:
    """Write a cell's name, both numbers counted from 1."""
    return f"{column_letters(column)}{row}"


@lru_cache(maxsize=_NAMES_KNOWN)
def cell_position(ref: str) -> tuple[int, int]:
    """Return row and column, counted from 1, of a cell's name."""
    match = _REF.fullmatch(ref) or _REF.fullmatch(ref.upper())
    if match is None:
        raise broken(f"a cell called '{ref[:20]}'")
    return int(match[2]), column_number(match[1])


def area_corners(area: str) -> list[tuple[int, int]]:
    """Return the corners of ``A1:B2``; whole rows or columns reach beyond every limit."""
    return [_corner(corner) for corner in area.split(":")]


def _corner(corner: str) -> tuple[int, int]:
    match = _CORNER.fullmatch(corner)
    if match is None or not corner:
        raise broken(f"an area called '{corner[:20]}'")
    row = int(match[2]) if match[2] else _APP_ROWS
    column = column_number(match[1].upper()) if match[1] else _APP_COLUMNS
    return row, column


def area_refs(row: int, column: int, rows: int, columns: int) -> Iterator[str]:
    """Write the names of all cells of an area."""
    for down in range(row, row + rows):
        for right in range(column, column + columns):
            yield cell_ref(down, right)


def whole_number(text: str, what: str) -> int:
    """Read a count or a row number; refuse what no app would write."""
    if not (text.isascii() and text.isdigit() and len(text) <= _MAX_DIGITS and int(text)):
        raise broken(f"{what} '{text[:20]}'")
    return int(text)
