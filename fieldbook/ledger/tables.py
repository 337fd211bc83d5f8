"""The ledger's tables.

One table for each declared sheet holds the usable readings of every visit as they stand now; the
table of readings holds each one ever taken in, with what replaced it. Where two readings of one
cell stand at once, they are in conflict, and the cell has no usable reading.
"""

import zlib
from collections.abc import Mapping
from functools import cache
from typing import Any

import sqlalchemy as sa
from sqlalchemy.schema import CreateIndex, CreateTable

from fieldbook.ledger.names import ledger_sheets
from fieldbook.schema import Column, Kind, Sheet

_MEANING = 1  # raise it where columns of the same names come to hold something else
_TEXT = sa.String().with_variant(sa.Text(collation="C"), "postgresql")  # sorts alike everywhere
_WHOLE = sa.Integer().with_variant(sa.BigInteger(), "postgresql")
_TYPES: Mapping[Kind, sa.types.TypeEngine[Any]] = {
    Kind.WHOLE: _WHOLE,
    Kind.NUMBER: sa.Float(),
    Kind.DAY: sa.Date(),
}


METADATA = sa.MetaData()

EVENTS = sa.Table(
    "events",
    METADATA,
    sa.Column("sequence", sa.Integer, primary_key=True),
    sa.Column("kind", _TEXT, nullable=False),
    sa.Column("sha256", _TEXT, unique=True),
    sa.Column("file", _TEXT, nullable=False),
    sa.Column("book_id", _TEXT, nullable=False),
    sa.Column("scout", _TEXT, nullable=False),
    sa.Column("received", _TEXT, nullable=False),
)

VISITS = sa.Table(
    "visits",
    METADATA,
    sa.Column("visit_id", _TEXT, primary_key=True),
    sa.Column("field_id", _TEXT, nullable=False, index=True),
    sa.Column("field", _TEXT, nullable=False),
    sa.Column("grower", _TEXT, nullable=False),
    sa.Column("round", _TEXT, nullable=False),
    sa.Column("scout", _TEXT, nullable=False),
    sa.Column("units", _TEXT, nullable=False),
    sa.Column("row_width_in", sa.Float, nullable=False),
    sa.Column("sequence", sa.Integer, nullable=False),
)

READINGS = sa.Table(
    "readings",
    METADATA,
    sa.Column("visit_id", _TEXT, primary_key=True),
    sa.Column("sheet", _TEXT, primary_key=True),
    sa.Column("row", _TEXT, primary_key=True),
    sa.Column("name", _TEXT, primary_key=True),
    sa.Column("sequence", sa.Integer, primary_key=True),
    sa.Column("typed", _TEXT, nullable=False),
    sa.Column("value", _TEXT, nullable=False),
    sa.Column("status", _TEXT, nullable=False),
    sa.Column("cell", _TEXT, nullable=False),
    sa.Column("replaced_by", sa.Integer),
)

QUESTIONS = sa.Table(
    "questions",
    METADATA,
    sa.Column("visit_id", _TEXT, primary_key=True),
    sa.Column("sequence", sa.Integer, primary_key=True),
    sa.Column("at", sa.Integer, primary_key=True),
    sa.Column("code", _TEXT, nullable=False),
    sa.Column("state", _TEXT, nullable=False),
    sa.Column("place", _TEXT, nullable=False),
    sa.Column("params", _TEXT, nullable=False),
    sa.Column("replaced_by", sa.Integer),
)

PHOTOS = sa.Table(
    "photos",
    METADATA,
    sa.Column("visit_id", _TEXT, primary_key=True),
    sa.Column("photo", sa.Integer, primary_key=True),
    sa.Column("at", sa.Integer, primary_key=True),
    sa.Column("sequence", sa.Integer, primary_key=True),
    sa.Column("sha256", _TEXT, nullable=False),
    sa.Column("width_px", sa.Integer, nullable=False),
    sa.Column("height_px", sa.Integer, nullable=False),
    sa.Column("replaced_by", sa.Integer),
)

DECISIONS = sa.Table(
    "decisions",
    METADATA,
    sa.Column("sequence", sa.Integer, primary_key=True),
    sa.Column("visit_id", _TEXT, nullable=False),
    sa.Column("field_id", _TEXT, nullable=False, index=True),
    sa.Column("sheet", _TEXT, nullable=False),
    sa.Column("row", _TEXT, nullable=False),
    sa.Column("name", _TEXT, nullable=False),
    sa.Column("keeps", sa.Integer),
    sa.Column("against", _TEXT, nullable=False),
    sa.Column("reason", _TEXT, nullable=False),
)


MESSAGES = sa.Table(
    "messages",
    METADATA,
    sa.Column("sequence", sa.Integer, primary_key=True),
    sa.Column("key", sa.String, nullable=False, index=True),
    sa.Column("place", sa.String, nullable=False),
    sa.Column("sender", sa.String, nullable=False),
    sa.Column("received", sa.String, nullable=False),
    sa.Column("ending", sa.String, nullable=False),
    sa.Column("answer", sa.String),
)

DELIVERIES = sa.Table(
    "deliveries",
    METADATA,
    sa.Column("sequence", sa.Integer, primary_key=True),
    sa.Column("message_id", sa.String, nullable=False, index=True),
    sa.Column("draft", sa.String, nullable=False),
    sa.Column("recipient", sa.String, nullable=False),
    sa.Column("received", sa.String, nullable=False),
    sa.Column("state", sa.String, nullable=False),
)


def _sheet_table(sheet: Sheet) -> sa.Table:
    keys = [column for column in sheet.keys if column.name != "field_id"]
    columns: list[sa.Column[Any]] = [
        sa.Column("visit_id", _TEXT, primary_key=True),
        *(sa.Column(key.name, sa.Integer, primary_key=True) for key in keys),
        *(sa.Column(column.name, _type(column)) for column in sheet.entries),
    ]
    return sa.Table(f"sheet_{sheet.name}", METADATA, *columns)


def _type(column: Column) -> sa.types.TypeEngine[Any]:
    return _TYPES.get(column.kind, _TEXT)


SHEET_TABLES: Mapping[str, sa.Table] = {
    sheet.name: _sheet_table(sheet) for sheet in ledger_sheets()
}


@cache
def layout_number() -> int:
    """Return the number that a ledger of this version bears.

    It comes from the names and kinds of all columns, so that no change of them is forgotten. It
    fits where a file has it: from 1 to 2^31 - 1. `LAYOUT` among the names has it, too.
    """
    columns = sorted(
        (table.name, column.name, type(column.type).__name__, column.primary_key, column.nullable)
        for table in METADATA.sorted_tables
        for column in table.columns
    )
    return zlib.crc32(repr((_MEANING, columns)).encode()) & 0x7FFFFFFF or 1


@cache
def making(driver: str) -> tuple[str, ...]:
    """Return what makes every table and index that is missing, in the words of a database.

    A ledger is opened often, and writing these words takes longer than all else of that.
    """
    made: list[CreateTable | CreateIndex] = []
    for table in METADATA.sorted_tables:
        made.append(CreateTable(table, if_not_exists=True))
        indexes = sorted(table.indexes, key=lambda one: str(one.name))
        made += [CreateIndex(index, if_not_exists=True) for index in indexes]
    dialect = sa.make_url(f"{driver}://").get_dialect()()
    return tuple(str(one.compile(dialect=dialect)) for one in made)
