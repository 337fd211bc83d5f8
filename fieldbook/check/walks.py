"""Which walk a book tells of: the visit that it was printed for, or another one of that field.

All books of a round that are printed before any of them comes back bear the same visits, and one
book may be filled twice. A walk on another day is a visit of its own, with the next number.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from fieldbook.check.visit import VisitDraft
from fieldbook.entries import row_text

Cell = tuple[str, str, str]
DAY: Cell = ("fields", "", "visit_date")
# Of the readings that both have, more than these differ in another walk (assumed): many counts are
# alike by chance, and who mends a day mends few counts with it.
_ANOTHER = 0.2


@dataclass(frozen=True, kw_only=True)
class Walk:
    """What was read in one walk of a field, by sheet, row and column; its day apart."""

    day: date | None
    readings: Mapping[Cell, Any]


@dataclass(frozen=True, kw_only=True)
class KnownWalk:
    """A walk that was taken in: its visit, and the books that brought it."""

    visit_id: str
    book_ids: frozenset[str]
    walk: Walk


def walk_of(readings: Mapping[Cell, Any]) -> Walk:
    """Make a walk of its readings, those without a value left out."""
    day = readings.get(DAY)
    return Walk(
        day=day if isinstance(day, date) else None,
        readings={
            cell: value for cell, value in readings.items() if cell != DAY and value is not None
        },
    )


def typed_walk(visit: VisitDraft) -> Walk:
    """Return the walk that a visit's rows in a book tell of."""
    return walk_of(
        {
            (name, row_text(key), column): draft.values.get(column)
            for name, rows in visit.rows.items()
            for key, draft in rows.items()
            for column in draft.form.entry_order
        }
    )


def visit_of(printed: str, book_id: str, walk: Walk, known: Sequence[KnownWalk]) -> str:
    """Return the visit that a book's walk of a field belongs to.

    Parameters
    ----------
    printed
        The visit that the book was printed for.
    book_id
        The book; it may have been filled twice.
    walk
        What the book says.
    known
        The walks of this field in this round that were taken in.

    Returns
    -------
    str
        `printed` as long as nothing speaks against it, else a visit that this book brought
        before, else the next number that no visit has.
    """
    by_id = {one.visit_id: one for one in known}
    if printed not in by_id or walk.day is None:
        return printed
    own = [one for one in known if book_id in one.book_ids]
    for one in (by_id[printed], *own):
        if one.walk.day in (None, walk.day):
            return one.visit_id
    near = min(own, key=lambda one: _share_that_differs(walk, one.walk), default=None)
    if near is not None and _share_that_differs(walk, near.walk) <= _ANOTHER:
        return near.visit_id  # its day was mended
    return _next_free(printed, by_id)


def _share_that_differs(walk: Walk, other: Walk) -> float:
    both = walk.readings.keys() & other.readings.keys()
    differing = sum(walk.readings[cell] != other.readings[cell] for cell in both)
    return differing / len(both) if both else 0.0


def _next_free(visit_id: str, taken: Iterable[str]) -> str:
    start = visit_id.rstrip("0123456789")
    number = int(visit_id[len(start) :] or 1) + 1
    while f"{start}{number}" in taken:
        number += 1
    return f"{start}{number}"
