"""What the ledger has of each field's visits, for checks to hold a book against."""

from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import Any

import sqlalchemy as sa

from fieldbook.check.history import (
    EAR_COLUMNS,
    STOP_COLUMNS,
    PastVisit,
    StopCount,
    ear_count,
    stop_count,
)
from fieldbook.check.printed import PrintedVisit, is_of_field
from fieldbook.check.roster import Roster
from fieldbook.check.verdict import Status
from fieldbook.ledger.ledger import Ledger
from fieldbook.ledger.tables import READINGS, SHEET_TABLES, VISITS
from fieldbook.units import System

_HEADS = SHEET_TABLES["fields"]
_COUNTED = ((SHEET_TABLES["ears"], EAR_COLUMNS), (SHEET_TABLES["stops"], STOP_COLUMNS))
_Row = Mapping[str, Any]


class PastVisits(Mapping[str, tuple[PastVisit, ...]]):
    """The dated visits of every field, in order of days, read when they are asked for.

    Visits whose books were printed for another field than the roster's are none of its field.
    The fields of the book at hand are read all at once, others one by one. It holds what it has
    read: make a new one once something else was taken in.
    """

    def __init__(self, ledger: Ledger, fields: Iterable[str], roster: Roster) -> None:
        self._ledger = ledger
        self._roster = roster
        self._first = frozenset(fields)
        self._known: dict[str, tuple[PastVisit, ...]] = {}

    def __getitem__(self, field_id: str) -> tuple[PastVisit, ...]:
        if field_id not in self._known:
            self._read(self._first if field_id in self._first else {field_id})
        visits = self._known[field_id]
        if not visits:
            raise KeyError(field_id)
        return visits

    def __iter__(self) -> Iterator[str]:
        wanted = _dated(sa.select(VISITS.c.field_id).distinct()).order_by(VISITS.c.field_id)
        return iter([str(row["field_id"]) for row in self._ledger.rows(wanted)])

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def _read(self, fields: Collection[str]) -> None:
        found: dict[str, list[PastVisit]] = {field_id: [] for field_id in fields}
        ears, stops = (self._rows(table, names, fields) for table, names in _COUNTED)
        for head in self._heads(fields):
            visit_id = head["visit_id"]
            visit = _visit(head, ears.get(visit_id, ()), stops.get(visit_id, ()))
            found[head["field_id"]].append(visit)
        self._known |= {field_id: tuple(visits) for field_id, visits in found.items()}

    def _heads(self, fields: Collection[str]) -> list[_Row]:
        walked_by = _HEADS.c.scout.label("walked_by")
        wanted = sa.select(VISITS, _HEADS.c.visit_date, _HEADS.c.stage, walked_by)
        dated = _dated(wanted.add_columns(READINGS.c.status))
        stages = dated.outerjoin(READINGS, _stage_reading())
        ours = stages.where(VISITS.c.field_id.in_(fields))
        rows = self._ledger.rows(ours.order_by(_HEADS.c.visit_date, VISITS.c.visit_id))
        return [row for row in rows if is_of_field(_printed(row), self._roster)]

    def _rows(
        self, table: sa.Table, names: Iterable[str], fields: Collection[str]
    ) -> dict[str, list[_Row]]:
        """Return the rows of a sheet's table by visit."""
        columns = (table.c[name] for name in ("visit_id", "stop", *names))
        joined = sa.select(*columns).join(VISITS, table.c.visit_id == VISITS.c.visit_id)
        ours = joined.where(VISITS.c.field_id.in_(fields)).order_by(*table.primary_key)
        found: dict[str, list[_Row]] = {}
        for row in self._ledger.rows(ours):
            found.setdefault(row["visit_id"], []).append(row)
        return found


def _printed(head: _Row) -> PrintedVisit:
    return PrintedVisit(
        **{name: head[name] for name in ("visit_id", "field_id", "field", "grower")}
    )


def _dated(wanted: sa.Select[Any]) -> sa.Select[Any]:
    """Keep the visits whose date can be used."""
    joined = wanted.join(_HEADS, _HEADS.c.visit_id == VISITS.c.visit_id)
    return joined.where(_HEADS.c.visit_date.is_not(None))


def _stage_reading() -> sa.ColumnElement[bool]:
    return sa.and_(
        READINGS.c.visit_id == VISITS.c.visit_id,
        READINGS.c.sheet == "fields",
        READINGS.c.name == "stage",
        READINGS.c.replaced_by.is_(None),
    )


def _visit(head: _Row, ears: Iterable[_Row], stops: Iterable[_Row]) -> PastVisit:
    return PastVisit(
        visit_id=head["visit_id"],
        day=head["visit_date"],
        stage=head["stage"],
        stage_confirmed=head["status"] == Status.CONFIRMED,
        scout=head["walked_by"] or head["scout"],
        ears=tuple(ear_count(row["stop"], row) for row in ears),
        stops=tuple(_stops(head, stops)),
    )


def _stops(head: _Row, rows: Iterable[_Row]) -> Iterator[StopCount]:
    width, units = head["row_width_in"], System(head["units"])
    for row in rows:
        count = stop_count(row["stop"], row, row_width_in=width, units=units)
        if count is not None:
            yield count
