"""The ledger: what was taken in, as tables; always a replay of the kept events.

Readings are never overwritten: a new one replaces an old one, and both stay.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping
from contextlib import ExitStack, contextmanager, nullcontext
from itertools import islice
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from fieldbook.check.printed import PrintedVisit
from fieldbook.check.verdict import Question, Reading, State
from fieldbook.entries import Identity
from fieldbook.ledger.apply import apply_event, entered_as
from fieldbook.ledger.cells import cell_readings, cell_sides
from fieldbook.ledger.conflicts import Conflict, conflict_of
from fieldbook.ledger.database import make_schema, turn_on
from fieldbook.ledger.engine import ledger_engine
from fieldbook.ledger.entry import Entry, cleared_cells, entries_of
from fieldbook.ledger.events import (
    BookEvent,
    Event,
    event_at,
    event_name,
    read_events,
)
from fieldbook.ledger.folder import LOCK_WAIT_S, SeasonFolder, season_lock
from fieldbook.ledger.merge import Cell
from fieldbook.ledger.photo_rows import standing_photos
from fieldbook.ledger.rows import question
from fieldbook.ledger.stored import StoredVisit, stored_record
from fieldbook.ledger.tables import (
    EVENTS,
    METADATA,
    QUESTIONS,
    READINGS,
    SHEET_TABLES,
    VISITS,
    ledger_sheets,
    making,
)
from fieldbook.schema import Sheet

_FIELDS_AT_ONCE = 20


class OtherKeptError(Exception):
    """A database's ledger has events that this season folder does not keep; names the last."""


class Ledger:
    """An open ledger; use it as a context manager.

    `path` is a file where it is, if not at the folder's own place: a rebuild makes a new one
    beside the old.
    """

    def __init__(self, folder: SeasonFolder, *, path: Path | None = None) -> None:
        self.folder = folder
        self._database = None if path else folder.database
        self._engine = ledger_engine(folder, path)
        with ExitStack() as held:
            held.callback(self._engine.dispose)
            self._connection = held.enter_context(self._engine.connect())
            self._create_tables()
            self._must_be_of_folder()
            self.caught_up = self.catch_up()
            self._held = held.pop_all()

    def _create_tables(self) -> None:
        """Create what is missing; another process may be doing the same at this moment."""
        with self._connection.begin():
            if self._database is not None:
                if sa.inspect(self._connection).has_table(EVENTS.name, self._database.schema):
                    return
                make_schema(self._connection, self._database)
            for statement in making(self._engine.url.drivername):
                self._connection.exec_driver_sql(statement)

    def __enter__(self) -> "Ledger":
        return self

    def __exit__(self, *_: object) -> None:
        self._held.close()

    def _must_be_of_folder(self) -> None:
        """Make sure that a database's ledger is a replay of this folder's events and no other's.

        The last event that it has must be the one that is kept here under that number.
        """
        if self._database is None:
            return
        last = self._last_sequence()
        for row in self.rows(sa.select(EVENTS).where(EVENTS.c.sequence == last)):
            kept = event_at(self.folder, last)
            if kept is None or entered_as(kept) != {name: row[name] for name in entered_as(kept)}:
                raise OtherKeptError(event_name(last))

    @contextmanager
    def turn(self) -> Iterator[None]:
        """Be the only one who writes, and know all that others entered before.

        With a ledger in a file the lock of the folder is held all the while; see `writing`.
        """
        if self._database is None:
            yield
            return
        with turn_on(self._engine, self._database, wait_s=LOCK_WAIT_S):
            self.follow()
            yield

    def next_sequence(self) -> int:
        """Return the number of the next event; call it when it is your turn."""
        return self._last_sequence() + 1

    def follow(self) -> None:
        """Apply the events kept since; they bear the next numbers, so that no folder is listed."""
        number = self.next_sequence()
        while (event := event_at(self.folder, number)) is not None:
            self.apply(event)
            number += 1

    def catch_up(self) -> int:
        """Apply the events that are kept but not yet here; return how many."""
        count = 0
        for event in read_events(self.folder, after=self._last_sequence()):
            self.apply(event)
            count += 1
        return count

    def cleared(self, identity: Identity, empty: Iterable[Reading]) -> tuple[Reading, ...]:
        """Return those empty cells of a book that it showed filled: what its scout cleared."""
        found = cleared_cells(self._connection, identity, empty)
        self._connection.rollback()
        return found

    def _last_sequence(self) -> int:
        found = self._connection.execute(sa.select(sa.func.max(EVENTS.c.sequence))).scalar()
        self._connection.rollback()
        return int(found or 0)

    def apply(self, event: Event, entries: Mapping[str, Entry] | None = None) -> None:
        """Enter one event, in one transaction; `entries` saves working out what a book does."""
        with self._connection.begin():
            if self._database is None or self._may_enter(event.sequence):
                apply_event(self._connection, event, entries)

    def enter(self, event: BookEvent, entries: Mapping[str, Entry]) -> None:
        """Enter the book's event that was kept last, with what `foresee` said that it does."""
        if self.next_sequence() == event.sequence:
            self.apply(event, entries)
        else:
            self.follow()

    def _may_enter(self, sequence: int) -> bool:
        """Keep others from entering events, and say whether nobody has entered this one."""
        self._connection.execute(sa.text("LOCK TABLE events IN SHARE ROW EXCLUSIVE MODE"))
        wanted = sa.select(EVENTS.c.sequence).where(EVENTS.c.sequence == sequence)
        return self._connection.execute(wanted).first() is None

    def foresee(self, event: BookEvent) -> dict[str, Entry]:
        """Say by visit what a book's event would do here, and change nothing."""
        found = entries_of(self._connection, event)
        self._connection.rollback()
        return found

    def conflicts(self, field_id: str | None = None) -> tuple[Conflict, ...]:
        """Return the conflicts of a field, or of all, in the order of visits and cells."""
        wanted = sa.select(VISITS.c.visit_id, VISITS.c.field_id).order_by(VISITS.c.visit_id)
        if field_id is not None:
            wanted = wanted.where(VISITS.c.field_id == field_id)
        visits = [tuple(row) for row in self._connection.execute(wanted)]
        found = [
            (visit_id, of_field, cell, tuple(sides))
            for visit_id, of_field in visits
            for cell, sides in sorted(cell_sides(self._connection, visit_id).items())
            if len(sides) > 1
        ]
        self._connection.rollback()
        return tuple(conflict_of(number, *one) for number, one in enumerate(found, start=1))

    def last_event(self, visit_ids: Iterable[str]) -> int:
        """Return the last event that changed a reading or a question of these visits; 0 if none."""
        ids = list(visit_ids)
        parts = (
            sa.select(sa.func.max(table.c.sequence)).where(table.c.visit_id.in_(ids))
            for table in (READINGS, QUESTIONS)
        )
        found = [self._connection.execute(part).scalar() for part in parts]
        self._connection.rollback()
        return max(int(one or 0) for one in found)

    def taken_in(self, sha256: str) -> tuple[int, str] | None:
        """Return by which event a file of this hash was taken in, and when; None if never."""
        wanted = sa.select(EVENTS.c.sequence, EVENTS.c.received).where(EVENTS.c.sha256 == sha256)
        found = self._connection.execute(wanted).first()
        self._connection.rollback()
        return None if found is None else (int(found.sequence), str(found.received))

    def readings_now(self, visit_id: str) -> dict[tuple[str, str, str], Mapping[str, Any]]:
        """Return the readings of a visit that stand now, by sheet, row and column."""
        found = cell_readings(self._connection, [visit_id])[visit_id]
        self._connection.rollback()
        return dict(found)

    def typed_now(self, visit_ids: Collection[str]) -> dict[str, dict[Cell, str]]:
        """Return by visit what stands as typed, by sheet, row and column."""
        found = {
            visit_id: {place: str(row["typed"]) for place, row in cells.items()}
            for visit_id, cells in cell_readings(self._connection, visit_ids).items()
        }
        self._connection.rollback()
        return found

    def walked(self) -> list[tuple[str, str]]:
        """Return the field and the round of every visit, in the order of visits."""
        wanted = sa.select(VISITS.c.field_id, VISITS.c.round).order_by(VISITS.c.visit_id)
        found = [(field_id, round_) for field_id, round_ in self._connection.execute(wanted)]
        self._connection.rollback()
        return found

    def printed(self) -> Iterator[PrintedVisit]:
        """Yield every visit with the names that its book was printed with, in their order."""
        names = ("visit_id", "field_id", "field", "grower")
        wanted = sa.select(*(VISITS.c[name] for name in names)).order_by(VISITS.c.visit_id)
        for row in self._connection.execute(wanted).mappings():
            yield PrintedVisit(**row)
        self._connection.rollback()

    def visits(self, field_ids: Collection[str] | None = None) -> list[StoredVisit]:
        """Return all visits, or those of some fields, with their usable readings as records."""
        wanted = sa.select(VISITS).order_by(VISITS.c.visit_id)
        if field_ids is not None:
            wanted = wanted.where(VISITS.c.field_id.in_(field_ids))
        heads = [dict(row) for row in self._connection.execute(wanted).mappings()]
        field_of = {head["visit_id"]: head["field_id"] for head in heads}
        of_some = None if field_ids is None else [*field_of]
        records = {sheet.name: self._records(sheet, field_of, of_some) for sheet in ledger_sheets()}
        photos = standing_photos(self._connection, of_some)
        self._connection.rollback()
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

    def by_field(self, field_ids: Iterable[str]) -> Iterator[tuple[str, list[StoredVisit]]]:
        """Yield each of these fields with its visits; few are in memory at once."""
        left = iter(field_ids)
        while some := tuple(islice(left, _FIELDS_AT_ONCE)):
            found: dict[str, list[StoredVisit]] = {field_id: [] for field_id in some}
            for visit in self.visits(some):
                found[visit.field_id].append(visit)
            yield from found.items()

    def _records(
        self, sheet: Sheet, field_of: Mapping[str, str], of_some: Collection[str] | None
    ) -> dict[str, list[Any]]:
        table = SHEET_TABLES[sheet.name]
        wanted = sa.select(table).order_by(*table.primary_key)
        if of_some is not None:
            wanted = wanted.where(table.c.visit_id.in_(of_some))
        names = ("field_id", *[column.name for column in table.columns][1:])
        found: dict[str, list[Any]] = {}
        for visit_id, *values in self._connection.execute(wanted).all():
            named = zip(names, (field_of[visit_id], *values), strict=True)
            found.setdefault(visit_id, []).append(stored_record(sheet.record, named))
        return found

    def questions(
        self, state: State = State.OPEN, *, visit_ids: Collection[str] | None = None
    ) -> list[Question]:
        """Return the questions that stand now in one state, of all visits or of some."""
        standing = QUESTIONS.c.replaced_by.is_(None) & (QUESTIONS.c.state == str(state))
        if visit_ids is not None:
            standing &= QUESTIONS.c.visit_id.in_(visit_ids)
        wanted = sa.select(QUESTIONS).where(standing).order_by(*QUESTIONS.primary_key)
        rows = self._connection.execute(wanted).mappings()
        found = [question(dict(row)) for row in rows]
        self._connection.rollback()
        return found

    def rows(self, wanted: sa.Select[Any]) -> list[Mapping[str, Any]]:
        """Return what a selection finds, row by row."""
        rows = self._connection.execute(wanted).mappings()
        found: list[Mapping[str, Any]] = [dict(row) for row in rows]
        self._connection.rollback()
        return found

    def dump(self) -> Iterator[str]:
        """Write every row of every table, sorted, for comparing two ledgers."""
        for table in METADATA.sorted_tables:
            rows = self._connection.execute(sa.select(table))
            yield from sorted(f"{table.name}: {tuple(row)!r}" for row in rows)
        self._connection.rollback()


@contextmanager
def writing(folder: SeasonFolder) -> Iterator[Ledger]:
    """Open the ledger to write; what one command does must lie inside its `turn`.

    With a ledger in a file nobody else writes all the while; with one in a database others do
    between two turns.
    """
    alone = nullcontext() if folder.database else season_lock(folder)
    with alone, Ledger(folder) as ledger:
        yield ledger
