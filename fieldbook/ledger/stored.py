"""A visit as the ledger has it: its readings that count, sheet by sheet."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, TypeVar

from fieldbook.check.photos import Photo

R = TypeVar("R")


@dataclass(frozen=True, kw_only=True)
class StoredVisit:
    """A visit as the ledger has it, with its sheets' rows as records and its photos.

    ``field`` and ``grower`` are the names that its book was printed with.
    """

    visit_id: str
    field_id: str
    field: str
    grower: str
    round: str
    scout: str
    units: str
    row_width_in: float
    sequence: int
    records: Mapping[str, tuple[Any, ...]]
    photos: tuple[Photo, ...] = ()


def stored_record(kind: type[R], values: Iterable[tuple[str, Any]]) -> R:
    """Make the record of a ledger's row; what is empty is left to the defaults of its class.

    The row was checked when it was taken in, and the `__init__` of a frozen class takes ten times
    as long. So `vars` of a record lacks what is empty.
    """
    made = object.__new__(kind)
    known = {name: value for name, value in values if value is not None}
    object.__setattr__(made, "__dict__", known)
    return made


def visit_day(visit: StoredVisit) -> date | None:
    """Return the day of a visit; None where nobody typed it, or what was typed cannot be."""
    head = next(iter(visit.records["fields"]), None)
    return head.visit_date if head else None


def seen_by(visits: Iterable[StoredVisit], day: date) -> list[StoredVisit]:
    """Return the visits up to a day, in the order of their days; undated ones come first."""
    seen = [visit for visit in visits if (visit_day(visit) or date.min) <= day]
    return sorted(seen, key=lambda visit: (visit_day(visit) or date.min, visit.visit_id))


def read_by(visit: StoredVisit, names: Mapping[str, str]) -> str:
    """Name who walked: the one typed in the book, else the scout whom it was made for."""
    head = next(iter(visit.records["fields"]), None)
    return (head.scout if head else None) or names.get(visit.scout, visit.scout)


def visit_stage(visit: StoredVisit) -> str | None:
    """Return the stage that a visit saw."""
    head = next(iter(visit.records["fields"]), None)
    return head.stage if head else None
