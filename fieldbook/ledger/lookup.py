"""What can be asked of a ledger; nothing here changes it."""

import json
from collections.abc import Collection, Iterable, Iterator, Mapping
from contextlib import contextmanager
from itertools import islice
from typing import Any

import sqlalchemy as sa

from fieldbook.check.printed import PrintedVisit
from fieldbook.check.verdict import Question, State
from fieldbook.ledger.asking import Ask
from fieldbook.ledger.cells import cell_readings, cell_sides, sides_by_event
from fieldbook.ledger.conflicts import Conflict, conflict_of
from fieldbook.ledger.earlier import Earlier
from fieldbook.ledger.merge import Cell
from fieldbook.ledger.names import ledger_sheets
from fieldbook.ledger.photo_rows import standing_photos
from fieldbook.ledger.rows import question
from fieldbook.ledger.statements import asking
from fieldbook.ledger.stored import StoredVisit, stored_record
from fieldbook.ledger.tables import EVENTS, METADATA, QUESTIONS, READINGS, SHEET_TABLES, VISITS
from fieldbook.schema import Sheet

_FIELDS_AT_ONCE = 20
_DECIDED = """
SELECT decisions.sequence, decisions.visit_id, decisions.sheet, decisions."row", decisions.name,
decisions.against
FROM decisions JOIN readings ON readings.sequence = decisions.sequence
AND readings.visit_id = decisions.visit_id AND readings.sheet = decisions.sheet
AND readings."row" = decisions."row" AND readings.name = decisions.name
WHERE decisions.field_id = :field_id AND readings.replaced_by IS NULL
ORDER BY decisions.sequence"""


class Lookup(Earlier):
    """The questions that an open ledger answers, over its connection."""

    _connection: sa.Connection
    _is_together = False

    @contextmanager
    def _looking(self) -> Iterator[sa.Connection]:
        """Lend the connection, and end the transaction that a look begins."""
        try:
            yield self._connection
        finally:
            if not self._is_together:
                self._connection.rollback()

    @contextmanager
    def asking(self) -> Iterator[Ask]:
        """Lend what asks the ledger, in one transaction."""
        with self._looking() as connection:
            yield asking(connection)

    # ---- books --------------------------------------------------------------------------

    def taken_in(self, sha256: str) -> tuple[int, str] | None:
        """Return by which event a file of this hash was taken in, and when; None if never."""
        wanted = sa.select(EVENTS.c.sequence, EVENTS.c.received).where(EVENTS.c.sha256 == sha256)
        with self._looking() as connection:
            found = connection.execute(wanted).first()
        return None if found is None else (int(found.sequence), str(found.received))

    def last_event(self, visit_ids: Iterable[str]) -> int:
        """Return the last event that changed a reading or a question of these visits; 0 if none."""
        ids = list(visit_ids)
        parts = (
            sa.select(sa.func.max(table.c.sequence)).where(table.c.visit_id.in_(ids))
            for table in (READINGS, QUESTIONS)
        )
        with self._looking() as connection:
            return max(int(connection.execute(part).scalar() or 0) for part in parts)

    # ---- readings and questions ---------------------------------------------------------

    def readings_now(self, visit_id: str) -> dict[tuple[str, str, str], Mapping[str, Any]]:
        """Return the readings of a visit that stand now, by sheet, row and column."""
        with self.asking() as ask:
            return dict(cell_readings(ask, [visit_id])[visit_id])

    def typed_now(self, visit_ids: Collection[str]) -> dict[str, dict[Cell, str]]:
        """Return by visit what stands as typed, by sheet, row and column."""
        with self.asking() as ask:
            return {
                visit_id: {place: str(row["typed"]) for place, row in cells.items()}
                for visit_id, cells in cell_readings(ask, visit_ids).items()
            }

    def questions(self, *states: State, visit_ids: Collection[str] | None = None) -> list[Question]:
        """Return the questions that stand now, of all visits or of some: open ones, or in `states`.

        They come in the order of visits, and of one visit as they were raised.
        """
        wanted_states = [str(state) for state in states or (State.OPEN,)]
        standing = QUESTIONS.c.replaced_by.is_(None) & QUESTIONS.c.state.in_(wanted_states)
        if visit_ids is not None:
            standing &= QUESTIONS.c.visit_id.in_(visit_ids)
        wanted = sa.select(QUESTIONS).where(standing).order_by(*QUESTIONS.primary_key)
        return [question(row) for row in self.rows(wanted)]

    def conflicts(self, field_id: str | None = None) -> tuple[Conflict, ...]:
        """Return the conflicts of a field, or of all, in the order of visits and cells."""
        wanted = sa.select(VISITS.c.visit_id, VISITS.c.field_id).order_by(VISITS.c.visit_id)
        if field_id is not None:
            wanted = wanted.where(VISITS.c.field_id == field_id)
        with self._looking() as connection:
            visits = [tuple(row) for row in connection.execute(wanted)]
            ask = asking(connection)
            found = [
                (visit_id, of_field, cell, tuple(sides))
                for visit_id, of_field in visits
                for cell, sides in sorted(cell_sides(ask, visit_id).items())
                if len(sides) > 1
            ]
        return tuple(conflict_of(number, *one) for number, one in enumerate(found, start=1))

    def decided(self, field_id: str) -> tuple[Conflict, ...]:
        """Return what was decided in a field and still counts, numbered on behind its conflicts."""
        open_ = self.conflicts(field_id)
        differing = {(one.visit_id, one.cell) for one in open_}
        with self._looking() as connection:
            ask = asking(connection)
            made = ask(_DECIDED, field_id=field_id)
            known = {one: sides_by_event(ask, one) for one in {row["visit_id"] for row in made}}
        found = []
        for row in made:
            cell = row["sheet"], row["row"], row["name"]
            sides = known[row["visit_id"]][cell]
            if (row["visit_id"], cell) not in differing:
                against = tuple(sides[event] for event in json.loads(row["against"]))
                found.append((row["visit_id"], field_id, cell, against, sides[row["sequence"]]))
        first = len(open_) + 1
        return tuple(conflict_of(number, *one) for number, one in enumerate(found, start=first))

    # ---- visits -------------------------------------------------------------------------

    def walked(self) -> list[tuple[str, str]]:
        """Return the field and the round of every visit, in the order of visits."""
        wanted = sa.select(VISITS.c.field_id, VISITS.c.round).order_by(VISITS.c.visit_id)
        with self._looking() as connection:
            return [(field_id, round_) for field_id, round_ in connection.execute(wanted)]

    def printed(self) -> Iterator[PrintedVisit]:
        """Yield every visit with the names that its book was printed with, in their order."""
        names = ("visit_id", "field_id", "field", "grower")
        wanted = sa.select(*(VISITS.c[name] for name in names)).order_by(VISITS.c.visit_id)
        with self._looking() as connection:
            for row in connection.execute(wanted).mappings():
                yield PrintedVisit(**row)

    def visits(self, field_ids: Collection[str] | None = None) -> list[StoredVisit]:
        """Return all visits, or those of some fields, with their usable readings as records."""
        wanted = sa.select(VISITS).order_by(VISITS.c.visit_id)
        if field_ids is not None:
            wanted = wanted.where(VISITS.c.field_id.in_(field_ids))
        with self._looking() as connection:
            heads = [dict(row) for row in connection.execute(wanted).mappings()]
            field_of = {head["visit_id"]: head["field_id"] for head in heads}
            of_some = None if field_ids is None else [*field_of]
            records = {
                sheet.name: _records(connection, sheet, field_of, of_some)
                for sheet in ledger_sheets()
            }
            photos = standing_photos(connection, of_some)
        return [
            StoredVisit(
                **head,
                records={
                    name: tuple(found.get(head["visit_id"], ())) for name, found in records.items()
                },
                photos=photos.get(head["visit_id"], ()),
            )
            for head in heads
        ]

    def by_field(self, field_ids: Iterable[str]) -> Iterator[dict[str, list[StoredVisit]]]:
        """Yield these fields with their visits, a few fields at a time."""
        left = iter(field_ids)
        while some := tuple(islice(left, _FIELDS_AT_ONCE)):
            found: dict[str, list[StoredVisit]] = {field_id: [] for field_id in some}
            for visit in self.visits(some):
                found[visit.field_id].append(visit)
            yield found

    # ---- anything -----------------------------------------------------------------------

    def rows(self, wanted: sa.Select[Any]) -> list[Mapping[str, Any]]:
        """Return what a selection finds, row by row."""
        with self._looking() as connection:
            return [dict(row) for row in connection.execute(wanted).mappings()]

    def dump(self) -> Iterator[str]:
        """Write every row of every table, sorted, for comparing two ledgers."""
        with self._looking() as connection:
            for table in METADATA.sorted_tables:
                rows = connection.execute(sa.select(table))
                yield from sorted(f"{table.name}: {tuple(row)!r}" for row in rows)


def _records(
    connection: sa.Connection,
    sheet: Sheet,
    field_of: Mapping[str, str],
    of_some: Collection[str] | None,
) -> dict[str, list[Any]]:
    """Return the records of a sheet by visit: of all visits, or `of_some`."""
    table = SHEET_TABLES[sheet.name]
    wanted = sa.select(table).order_by(*table.primary_key)
    if of_some is not None:
        wanted = wanted.where(table.c.visit_id.in_(of_some))
    names = ("field_id", *[column.name for column in table.columns][1:])
    found: dict[str, list[Any]] = {}
    for visit_id, *values in connection.execute(wanted).all():
        named = zip(names, (field_of[visit_id], *values), strict=True)
        found.setdefault(visit_id, []).append(stored_record(sheet.record, named))
    return found
