"""Whose turn it is to write in a season: a lock in its folder says so, or its database."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from fieldbook.ledger.database import Database, open_engine
from fieldbook.ledger.folder import LOCK_WAIT_S, SeasonBusyError, SeasonFolder, season_lock

if TYPE_CHECKING:
    import sqlalchemy as sa


@contextmanager
def turn_on(engine: "sa.Engine", database: Database, *, wait_s: float) -> Iterator[None]:
    """Be the only one who writes in the season, on any computer; SeasonBusyError after `wait_s`.

    The database ends the turn of a command that was killed as soon as it misses the connection.
    """
    import sqlalchemy as sa

    lock = {"lock": database.lock}
    with engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        connection.execute(sa.text(f"SET lock_timeout TO {int(wait_s * 1000)}"))
        try:
            connection.execute(sa.text("SELECT pg_advisory_lock(:lock)"), lock)
        except sa.exc.OperationalError as fault:
            if type(fault.orig).__name__ == "LockNotAvailable":
                raise SeasonBusyError(database.schema) from None
            raise
        try:
            yield
        finally:
            connection.execute(sa.text("SELECT pg_advisory_unlock(:lock)"), lock)


@contextmanager
def season_turn(folder: SeasonFolder, *, wait_s: float = LOCK_WAIT_S) -> Iterator[None]:
    """Be the only one who writes in the season; SeasonBusyError after `wait_s` seconds.

    A lock in the folder keeps the order of those who write; with a ledger in a database, that.
    """
    if folder.database is None:
        with season_lock(folder, wait_s=wait_s):
            yield
        return
    engine = open_engine(folder.database)
    try:
        with turn_on(engine, folder.database, wait_s=wait_s):
            yield
    finally:
        engine.dispose()
