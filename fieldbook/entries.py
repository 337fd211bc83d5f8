"""What a reader hands on: cells as typed, and the identity a book carries."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime

from fieldbook.problems import Problem

CellValue = str | int | float | bool | date | datetime | None


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell as typed, and where the app shows it."""

    value: CellValue
    ref: str
    is_formula: bool = False
    is_error: bool = False

    @property
    def is_empty(self) -> bool:
        """Say whether nothing was typed."""
        blank = isinstance(self.value, str) and not self.value.strip("\xa0\u202f \t\r\n")
        return not self.is_error and (self.value is None or blank)


@dataclass(frozen=True, kw_only=True)
class EntryRow:
    """One row: the sheet's row number and its cells by column name."""

    number: int
    cells: Mapping[str, Cell]


@dataclass(frozen=True, kw_only=True)
class SheetEntries:
    """One sheet as found: which declared sheet it is, and its rows below the header."""

    name: str
    title: str
    rows: tuple[EntryRow, ...]


@dataclass(frozen=True, kw_only=True)
class VisitSlip:
    """What a book was printed with for one field.

    ``rows`` says how many numbered rows there are: stops, ears a stop, lines a stop, photos.
    """

    visit_id: str
    field_id: str
    field: str
    grower: str
    row_width_in: float
    rows: Mapping[str, int]


@dataclass(frozen=True, kw_only=True)
class Identity:
    """Which book this is, as written into it.

    ``revises`` names the book whose questions a correction book asks; None for a blank one.
    """

    book_id: str
    season_id: str
    round: str
    full: bool
    form_version: int
    units: str
    language: str
    scout: str
    visits: tuple[VisitSlip, ...]
    revises: str | None = None


@dataclass(frozen=True, kw_only=True)
class BookEntries:
    """A whole book as read."""

    file: str
    sha256: str
    identity: Identity
    sheets: Mapping[str, SheetEntries]
    problems: tuple[Problem, ...] = ()
