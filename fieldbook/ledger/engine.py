"""Where a season's ledger is opened: a file in its folder, or a database that a team shares."""

from pathlib import Path
from typing import Any

import sqlalchemy as sa

from fieldbook.ledger.database import (
    Database,
    OtherVersionError,
    must_be_of_this_version,
    open_engine,
)
from fieldbook.ledger.disk import must_be_local
from fieldbook.ledger.folder import SeasonFolder
from fieldbook.ledger.tables import layout_number


def ledger_engine(folder: SeasonFolder, path: Path | None) -> sa.Engine:
    """Return the engine of a season's ledger; `path` is a file elsewhere than at its own place."""
    if path is None and folder.database is not None:
        return _shared(folder.database)
    if path is None:
        must_be_local(folder.path)
    return file_engine(path or folder.ledger)


def file_engine(path: Path) -> sa.Engine:
    """Return the engine of a ledger in a file, which is made by whoever connects first."""
    engine = sa.create_engine(f"sqlite:///{path}")
    sa.event.listen(engine, "connect", _enter_file)
    return engine


def _shared(database: Database) -> sa.Engine:
    engine = open_engine(database)
    sa.event.listen(
        engine,
        "connect",
        lambda connection, _: must_be_of_this_version(connection, database.schema),
    )
    return engine


def _enter_file(connection: Any, _: object) -> None:
    """Let a new file bear the number of the tables that it will have; refuse another one's.

    It bears it before it has tables: who finds tables finds their number, if they have one.
    """
    connection.execute("PRAGMA journal_mode=DELETE")
    is_made = connection.execute("SELECT 1 FROM sqlite_master LIMIT 1").fetchone() is not None
    (number,) = connection.execute("PRAGMA user_version").fetchone()
    if number == layout_number():
        return
    if is_made or number:
        raise OtherVersionError
    connection.execute(f"PRAGMA user_version={layout_number()}")
