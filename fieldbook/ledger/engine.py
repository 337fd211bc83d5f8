"""Where a season's ledger is opened: a file in its folder, or a database that a team shares."""

from pathlib import Path
from typing import Any

import sqlalchemy as sa

from fieldbook.ledger.database import open_engine
from fieldbook.ledger.disk import must_be_local
from fieldbook.ledger.folder import SeasonFolder


def ledger_engine(folder: SeasonFolder, path: Path | None) -> sa.Engine:
    """Return the engine of a season's ledger; `path` is a file elsewhere than at its own place."""
    if path is None and folder.database is not None:
        return open_engine(folder.database)
    if path is None:
        must_be_local(folder.path)
    engine = sa.create_engine(f"sqlite:///{path or folder.ledger}")
    sa.event.listen(engine, "connect", _journal_mode)
    return engine


def _journal_mode(connection: Any, _: object) -> None:
    connection.execute("PRAGMA journal_mode=DELETE")
