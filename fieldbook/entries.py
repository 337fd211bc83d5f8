"""What a reader hands on: cells as typed, and the identity a book carries."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields
from datetime import date, datetime
from typing import Any, NamedTuple

from fieldbook.problems import Problem

BLANKS = "\xa0\u202f \t\r\n"
CellValue = str | int | float | bool | date | datetime | None


class Cell(NamedTuple):
    """One cell as typed, and where the app shows it."""

    value: CellValue
    ref: str
    is_formula: bool = False
    is_error: bool = False

    @property
    def is_empty(self) -> bool:
        """Say whether nothing was typed."""
        if self.is_error:
            return False
        value = self.value
        return value is None or (isinstance(value, str) and not value.strip(BLANKS))

    @property
    def is_blank(self) -> bool:
        """Say whether nothing at all is in it, neither typed nor worked out."""
        return self.value is None and not self.is_error and not self.is_formula


class RowCells(Mapping[str, Cell]):
    """The cells of one row by column name: those with anything in them, and the blank ones.

    A book has thousands of blank cells; one is made when somebody asks for it. `letters` names
    the columns of the sheet as an app does and is shared by its rows.
    """

    __slots__ = ("filled", "letters", "number")

    def __init__(self, filled: Mapping[str, Cell], letters: Mapping[str, str], number: int) -> None:
        self.filled = filled
        self.letters = letters
        self.number = number

    def __getitem__(self, name: str) -> Cell:
        found = self.filled.get(name)
        if found is not None:
            return found
        return Cell(value=None, ref=f"{self.letters[name]}{self.number}")

    def __contains__(self, name: object) -> bool:
        return name in self.letters

    def __iter__(self) -> Iterator[str]:
        return iter(self.letters)

    def __len__(self) -> int:
        return len(self.letters)

    def __repr__(self) -> str:
        return repr(dict(self))


@dataclass(frozen=True, kw_only=True)
class EntryRow:
    """One row: the sheet's row number and its cells by column name."""

    number: int
    cells: Mapping[str, Cell]

    @property
    def filled(self) -> Mapping[str, Cell]:
        """The cells with anything in them."""
        return filled_cells(self.cells)


def filled_cells(cells: Mapping[str, Cell]) -> Mapping[str, Cell]:
    """Return those cells of a row that have anything in them, typed or worked out."""
    if isinstance(cells, RowCells):
        return cells.filled
    return {name: cell for name, cell in cells.items() if not cell.is_blank}


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
    ``written_after`` is the last event whose readings a correction book shows: what its cells say
    is held against the ledger as it stood then. None in books written before this was kept.
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
    written_after: int | None = None


def identity_from(raw: Mapping[str, Any]) -> Identity:
    """Make an identity from what a book or an event carries, of any version so far.

    Parts that this version does not know are left out, so that a book of a newer version can at
    least be told what it is. KeyError or TypeError where a part is missing.
    """
    visits = tuple(_slip(slip) for slip in raw["visits"])
    return Identity(**{**_known(Identity, raw), "visits": visits})


def _slip(raw: Mapping[str, Any]) -> VisitSlip:
    """Make a slip; the first format named stops and ears where now ``rows`` holds all numbers."""
    if "rows" not in raw:
        raw = {**raw, "rows": {"stop": raw["stops"], "ear": raw["ears"]}}
    return VisitSlip(**_known(VisitSlip, raw))


def _known(record: type[Any], raw: Mapping[str, Any]) -> dict[str, Any]:
    return {field.name: raw[field.name] for field in fields(record) if field.name in raw}


@dataclass(frozen=True, kw_only=True)
class ReadyPhoto:
    """A picture beside a row of the Photos sheet, made ready: JPEG, upright, nothing beside it.

    ``row`` is the sheet's row number; ``sha256`` is the hash of ``data``.
    """

    row: int
    data: bytes
    sha256: str
    width_px: int
    height_px: int


@dataclass(frozen=True, kw_only=True)
class BookEntries:
    """A whole book as read."""

    file: str
    sha256: str
    identity: Identity
    sheets: Mapping[str, SheetEntries]
    problems: tuple[Problem, ...] = ()
    photos: tuple[ReadyPhoto, ...] = ()
