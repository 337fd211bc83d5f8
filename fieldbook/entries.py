"""What a reader hands on: cells as typed, and the identity a book carries."""

from collections.abc import Container, Iterator, Mapping, Set
from dataclasses import dataclass, fields
from datetime import date, datetime
from functools import lru_cache
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
        return is_blank(self.value) and not self.is_error


@lru_cache(maxsize=4096)
def row_text(row: tuple[int, ...]) -> str:
    """Write the numbers of a row within its field, such as stop and ear: "1, 3"."""
    return ", ".join(str(part) for part in row)


def row_numbers(text: str) -> tuple[int, ...]:
    """Read the numbers of a row back; none for a row of the field itself."""
    return tuple(int(part) for part in text.split(", ") if part)


def is_blank(value: CellValue) -> bool:
    """Say whether a value is none, or a text of which nothing can be seen."""
    return value is None or (isinstance(value, str) and not value.strip(BLANKS))


class Mark(NamedTuple):
    """What is in a cell that nobody typed: a formula, an error that it shows, or both."""

    is_formula: bool = False
    is_error: bool = False


_NO_MARK = Mark()
_NO_MARKS: Mapping[str, Mark] = {}
_NONE: Set[str] = frozenset()


class RowCells(Mapping[str, Cell]):
    """The cells of one row by column name; a cell is made when somebody asks for it.

    A book has thousands of cells, and most are blank. `typed` holds the values of the others, and
    `marks` says which have a formula or an error. `letters` names the columns of the sheet as an
    app does and is shared by its rows.
    """

    __slots__ = ("letters", "marks", "number", "typed")

    def __init__(
        self,
        typed: Mapping[str, CellValue],
        letters: Mapping[str, str],
        number: int,
        marks: Mapping[str, Mark] = _NO_MARKS,
    ) -> None:
        self.typed = typed
        self.letters = letters
        self.number = number
        self.marks = marks

    def __reduce__(self) -> tuple[Any, ...]:
        return RowCells, (self.typed, self.letters, self.number, self.marks)

    def __getitem__(self, name: str) -> Cell:
        mark = self.marks.get(name, _NO_MARK)
        return Cell(self.typed.get(name), self.ref(name), *mark)

    def __contains__(self, name: object) -> bool:
        return name in self.letters

    def __iter__(self) -> Iterator[str]:
        return iter(self.letters)

    def __len__(self) -> int:
        return len(self.letters)

    def __repr__(self) -> str:
        return repr(dict(self))

    def ref(self, name: str) -> str:
        """Return where the app shows a cell, for example ``E7``."""
        return f"{self.letters[name]}{self.number}"

    @property
    def errors(self) -> Set[str]:
        """The columns whose cells show an error."""
        return {name for name, mark in self.marks.items() if mark.is_error} if self.marks else _NONE

    def is_filled(self, names: Set[str]) -> bool:
        """Say whether anything stands in one of these cells: typed, worked out, or an error."""
        return not (self.typed.keys().isdisjoint(names) and self.errors.isdisjoint(names))

    def typing(self, name: str, value: CellValue) -> "RowCells":
        """Return the row with something else typed into a cell; what is blank empties it."""
        typed = {one: value for one, value in self.typed.items() if one != name}
        if not is_blank(value):
            typed[name] = value
        return RowCells(typed, self.letters, self.number, self.marks)

    def only(self, names: Container[str]) -> "RowCells":
        """Return the row as if the sheet had no other columns than these."""
        typed = {name: value for name, value in self.typed.items() if name in names}
        letters = {name: value for name, value in self.letters.items() if name in names}
        marks = {name: mark for name, mark in self.marks.items() if name in names}
        return RowCells(typed, letters, self.number, marks)


@dataclass(frozen=True, kw_only=True)
class EntryRow:
    """One row: the sheet's row number and its cells by column name."""

    number: int
    cells: RowCells


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
