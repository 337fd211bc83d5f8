"""What a blank book is to hold: the writer's whole input, with no file and no rule in it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from fieldbook.entries import Identity, VisitSlip
from fieldbook.units import System

EntryKey = tuple[str, tuple[str | int, ...], str]
EntryValue = str | int | float | date


@dataclass(frozen=True, kw_only=True)
class StopPlan:
    """One stop as laid out beforehand."""

    stop: int
    go_to: str
    measure: str
    standard_length_ft: float


@dataclass(frozen=True, kw_only=True)
class VisitPlan:
    """One field's part of a book."""

    slip: VisitSlip
    hybrid: str
    acres: float
    may_enter: str
    stops: tuple[StopPlan, ...]


@dataclass(frozen=True, kw_only=True)
class LaidPicture:
    """A picture to be put into a book: floating over its row, or placed in the cell itself."""

    data: bytes
    in_cell: bool = False


@dataclass(frozen=True, kw_only=True)
class BookPlan:
    """A whole book.

    ``kernel_counts`` are thousands of kernels per bushel by grain-fill key, for the live yield.
    ``entries`` are values to fill in beforehand, by sheet, row key and column, in stored units.
    ``asked`` are the questions of a correction book, by the cell that they are about.
    ``pictures`` lie in the rows of the Photos sheet, by field and number.
    """

    identity: Identity
    season_name: str
    year: int
    paper: str
    kernel_counts: Mapping[str, float]
    visits: tuple[VisitPlan, ...]
    entries: Mapping[EntryKey, EntryValue] = field(default_factory=dict)
    asked: Mapping[EntryKey, str] = field(default_factory=dict)
    pictures: Mapping[tuple[str, int], LaidPicture] = field(default_factory=dict)

    @property
    def units(self) -> System:
        """The book's unit system."""
        return System(self.identity.units)
