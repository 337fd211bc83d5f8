"""The ledger: what was taken in, as tables; always a replay of the kept events.

Readings are never overwritten: a new one replaces an old one, and both stay.
"""

from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager, nullcontext
from pathlib import Path

import sqlalchemy as sa

from fieldbook.ledger.apply import apply_event, entered_as
from fieldbook.ledger.database import make_schema
from fieldbook.ledger.engine import ledger_engine
from fieldbook.ledger.entry import Entry
from fieldbook.ledger.events import Event, event_at, event_name, read_events
from fieldbook.ledger.folder import LOCK_WAIT_S, SeasonFolder, season_lock
from fieldbook.ledger.lookup import Lookup
from fieldbook.ledger.tables import EVENTS, making
from fieldbook.ledger.turn import turn_on


class OtherKeptError(Exception):
    """A database's ledger has events that this season folder does not keep; names the last."""


class Ledger(Lookup):
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
        last = self.last_sequence()
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

    def follow(self) -> None:
        """Apply the events kept since; they bear the next numbers, so that no folder is listed."""
        number = self.next_sequence()
        while (event := event_at(self.folder, number)) is not None:
            self.apply(event)
            number += 1

    def catch_up(self) -> int:
        """Apply the events that are kept but not yet here; return how many."""
        count = 0
        for event in read_events(self.folder, after=self.last_sequence()):
            self.apply(event)
            count += 1
        return count

    def apply(self, event: Event, entries: Mapping[str, Entry] | None = None) -> None:
        """Enter one event, in one transaction; `entries` saves working out what a book does."""
        with nullcontext() if self._is_together else self._connection.begin():
            if self._database is None or self._may_enter(event.sequence):
                apply_event(self._connection, event, entries)

    @contextmanager
    def together(self) -> Iterator[None]:
        """Enter events in one transaction; what looks inside sees those entered before.

        It ends with them all, or without any where something fails inside.
        """
        with self._connection.begin():
            self._is_together = True
            try:
                yield
            finally:
                self._is_together = False

    def _may_enter(self, sequence: int) -> bool:
        """Keep others from entering events, and say whether nobody has entered this one."""
        self._connection.execute(sa.text("LOCK TABLE events IN SHARE ROW EXCLUSIVE MODE"))
        wanted = sa.select(EVENTS.c.sequence).where(EVENTS.c.sequence == sequence)
        return self._connection.execute(wanted).first() is None


@contextmanager
def writing(folder: SeasonFolder) -> Iterator[Ledger]:
    """Open the ledger to write; what one command does must lie inside its `turn`.

    With a ledger in a file nobody else writes all the while; with one in a database others do
    between two turns.
    """
    alone = nullcontext() if folder.database else season_lock(folder)
    with alone, Ledger(folder) as ledger:
        yield ledger
