"""A short look into a ledger that is a file, without SQLAlchemy, which takes long to load.

It is only for a ledger as this version leaves one, with its tables and with all events that the
folder keeps. For any other there is `fieldbook.ledger.ledger.Ledger`, which makes what is missing
and says what is wrong.
"""

import sqlite3
from collections.abc import Iterator
from contextlib import AbstractContextManager, closing, contextmanager, nullcontext
from typing import Any

from fieldbook.ledger.asking import Ask, Row, spelled
from fieldbook.ledger.disk import must_be_local
from fieldbook.ledger.earlier import Earlier
from fieldbook.ledger.events import event_paths
from fieldbook.ledger.folder import SeasonFolder
from fieldbook.ledger.names import LAYOUT


class Glance(Earlier):
    """The ledger of a file, over a connection that may only read."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection

    def asking(self) -> AbstractContextManager[Ask]:
        """Lend what asks the ledger."""
        return nullcontext(self._ask)

    def _ask(self, sql: str, /, **values: Any) -> list[Row]:
        found = self._connection.execute(*spelled(sql, values))
        names = [column[0] for column in found.description]
        return [dict(zip(names, row, strict=True)) for row in found]

    def is_of_this_version(self) -> bool:
        """Say whether it has the tables of this version."""
        return self._ask("PRAGMA user_version") == [{"user_version": LAYOUT}]


@contextmanager
def glanced(folder: SeasonFolder) -> Iterator[Glance | None]:
    """Open a season's ledger for a short look; None where it takes more than that to open it.

    Whatever SQLite refuses while it is open, at once and without waiting, is a `sqlite3.Error`.
    """
    if folder.database is not None:
        yield None
        return
    must_be_local(folder.path)
    address = f"{folder.ledger.absolute().as_uri()}?mode=ro"
    with closing(sqlite3.connect(address, timeout=0, uri=True)) as connection:
        glance = Glance(connection)
        yield glance if glance.is_of_this_version() and _is_complete(glance, folder) else None


def _is_complete(glance: Glance, folder: SeasonFolder) -> bool:
    """Say whether the last event that the folder keeps was entered."""
    kept = event_paths(folder)
    return bool(kept) and glance.last_sequence() == int(kept[-1].stem)
