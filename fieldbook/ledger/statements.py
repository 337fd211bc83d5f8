"""Statements over an open SQLAlchemy connection: rows that enter, and questions in SQL."""

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from itertools import chain
from typing import Any

import sqlalchemy as sa

from fieldbook.ledger.asking import Ask, Row, spelled

_TEXTS_KEPT = 64  # a watch opens a ledger every few minutes, each with a dialect of its own
_ROWS_AT_ONCE = 64


def asking(connection: sa.Connection) -> Ask:
    """Return what asks a ledger over this connection."""

    def ask(sql: str, /, **values: Any) -> list[Row]:
        text, named = spelled(sql, values)
        return [dict(row) for row in connection.execute(sa.text(text), named).mappings()]

    return ask


def insert(connection: sa.Connection, table: sa.Table, rows: Sequence[Mapping[str, Any]]) -> None:
    """Insert rows that all name the same columns.

    Where the driver takes every value as it is, rows go straight to it, many in a statement: a
    book has a thousand.
    """
    if any(isinstance(column.type, sa.Date) for column in table.columns):
        connection.execute(table.insert(), rows)
        return
    names = tuple(rows[0])
    for start in range(0, len(rows), _ROWS_AT_ONCE):
        some = rows[start : start + _ROWS_AT_ONCE]
        values = tuple(chain.from_iterable(row.values() for row in some))
        text = _insert_text(table, connection.dialect, names, len(some))
        connection.exec_driver_sql(text, values)


@lru_cache(maxsize=_TEXTS_KEPT)
def _insert_text(table: sa.Table, dialect: sa.Dialect, names: Iterable[str], rows: int) -> str:
    quoted = dialect.identifier_preparer
    columns = [quoted.format_column(table.columns[name]) for name in names]
    value = "?" if dialect.paramstyle == "qmark" else "%s"
    row = f"({', '.join([value] * len(columns))})"
    into = f"{quoted.format_table(table)} ({', '.join(columns)})"
    return f"INSERT INTO {into} VALUES {', '.join([row] * rows)}"
