"""A season's ledger in PostgreSQL: its address, its schema, and the number of its tables.

A database holds a schema for each season. The season's folder stays what it is, and the ledger a
replay of its events.
"""

import hashlib
import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import sqlalchemy as sa

_MOST_LETTERS = 40


@dataclass(frozen=True, kw_only=True)
class Database:
    """Where a season's ledger is: the database's URL, never with a password, and the schema."""

    url: str
    schema: str

    @property
    def beside(self) -> "Database":
        """Where a rebuild makes the new ledger before it takes the old one's place."""
        return replace(self, schema=f"{self.schema}_rebuilt")

    @property
    def lock(self) -> int:
        """The number under which the database knows whose turn it is in this season."""
        return int.from_bytes(hashlib.sha256(self.schema.encode()).digest()[:8], signed=True)


def season_database(url: str, season_id: str) -> Database:
    """Return the place of a season's ledger; no two seasons of other ids share a schema."""
    plain = re.sub("[^a-z0-9]+", "_", season_id.lower())[:_MOST_LETTERS]
    if plain != season_id:
        plain = f"{plain}_{hashlib.sha256(season_id.encode()).hexdigest()[:8]}"
    return Database(url=url, schema=f"season_{plain}")


class DatabasePackageError(Exception):
    """The package that speaks to PostgreSQL is not installed."""


class OtherVersionError(Exception):
    """A ledger has not the tables of this version: it must be made anew."""


def open_engine(database: Database) -> "sa.Engine":
    """Return an engine whose statements see the season's schema, each transaction as of one moment.

    Text is in the order of its bytes there, as in a file; see `fieldbook.ledger.tables`.
    """
    import sqlalchemy as sa

    url = sa.make_url(database.url).set(drivername="postgresql+psycopg")
    try:
        engine = sa.create_engine(url, isolation_level="REPEATABLE READ")
    except ImportError:
        raise DatabasePackageError from None
    sa.event.listen(engine, "connect", lambda connection, _: _enter(connection, database.schema))
    return engine


def _enter(connection: Any, schema: str) -> None:
    connection.execute(f'SET search_path TO "{schema}"')
    connection.commit()


def must_be_of_this_version(connection: Any, schema: str) -> None:
    """Raise OtherVersionError for a ledger whose tables bear another number, or none."""
    from fieldbook.ledger.tables import EVENTS, layout_number

    tables = (f'"{schema}".{name}' for name in (EVENTS.name, "layout"))
    found = connection.execute("SELECT to_regclass(%s), to_regclass(%s)", [*tables]).fetchone()
    is_made, is_numbered = (one is not None for one in found)
    number = None
    if is_numbered:
        number = connection.execute(f'SELECT max(number) FROM "{schema}".layout').fetchone()[0]
    connection.commit()
    if is_made and number != layout_number():
        raise OtherVersionError


def make_schema(connection: "sa.Connection", database: Database) -> None:
    """Make the schema, with the number of its tables; the caller holds the transaction.

    Whoever comes second waits here.
    """
    import sqlalchemy as sa

    from fieldbook.ledger.tables import layout_number

    connection.execute(sa.text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": ~database.lock})
    connection.execute(sa.text(f'CREATE SCHEMA IF NOT EXISTS "{database.schema}"'))
    numbered = f'"{database.schema}".layout'
    connection.execute(sa.text(f"CREATE TABLE IF NOT EXISTS {numbered} (number integer)"))
    if connection.execute(sa.text(f"SELECT number FROM {numbered}")).first() is None:
        number = {"number": layout_number()}
        connection.execute(sa.text(f"INSERT INTO {numbered} VALUES (:number)"), number)


def drop_schema(connection: "sa.Connection", database: Database) -> None:
    """Throw a schema away with all that is in it; the caller holds the transaction."""
    import sqlalchemy as sa

    connection.execute(sa.text(f'DROP SCHEMA IF EXISTS "{database.schema}" CASCADE'))


def take_place(connection: "sa.Connection", database: Database) -> None:
    """Let the ledger that was made beside take the old one's place, for all at one moment."""
    import sqlalchemy as sa

    drop_schema(connection, database)
    wanted = f'ALTER SCHEMA "{database.beside.schema}" RENAME TO "{database.schema}"'
    connection.execute(sa.text(wanted))
