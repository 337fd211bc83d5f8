"""What the ledger's rows hold, written from checked records and read back."""

import json
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from itertools import chain
from typing import Any

import sqlalchemy as sa

from fieldbook.check.verdict import Question, Reading, State, Status
from fieldbook.ledger.event_parts import text_value, value_text
from fieldbook.ledger.merge import Past
from fieldbook.ledger.tables import row_text
from fieldbook.problems import Place, Problem, params_in, params_out
from fieldbook.schema import Sheet

_TEXTS_KEPT = 64  # a watch opens a ledger every few minutes, each with a dialect of its own
_ROWS_AT_ONCE = 64


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


def reading_row(reading: Reading, sequence: int) -> dict[str, Any]:
    """Write a reading that an event brought."""
    return {
        "visit_id": reading.visit_id,
        "sheet": reading.sheet,
        "row": row_text(reading.row),
        "name": reading.column,
        "sequence": sequence,
        "typed": reading.typed,
        "value": value_text(reading.value),
        "status": str(reading.status),
        "cell": reading.cell,
    }


def question_row(question: Question, sequence: int, at: int) -> dict[str, Any]:
    """Write a question that an event raised; ``at`` is its place among them."""
    found = question.problem
    place = {name: value for name, value in vars(found.place).items() if value is not None}
    return {
        "visit_id": question.visit_id,
        "sequence": sequence,
        "at": at,
        "code": found.code,
        "state": str(question.state),
        "place": json.dumps(place, sort_keys=True),
        "params": json.dumps(params_out(found.params), sort_keys=True),
    }


def question(row: Mapping[str, Any]) -> Question:
    """Read a question back."""
    params = params_in(json.loads(row["params"]))
    place = Place(**json.loads(row["place"]))
    found = Problem(code=row["code"], place=place, params=params)
    return Question(visit_id=row["visit_id"], problem=found, state=State(row["state"]))


def record_rows(sheet: Sheet, now: Mapping[tuple[str, str, str], Any]) -> list[dict[str, Any]]:
    """Write the usable values of visits on one sheet as records, a row each.

    `now` holds values by visit, row and column.
    """
    rows: dict[tuple[str, str], dict[str, Any]] = {}
    empty = {column.name: None for column in sheet.entries}
    keys = [key.name for key in sheet.keys if key.name != "field_id"]
    for (visit_id, row, column), value in now.items():
        record = rows.get((visit_id, row))
        if record is None:
            parts = [int(part) for part in row.split(", ") if part]
            record = {"visit_id": visit_id, **dict(zip(keys, parts, strict=True)), **empty}
            rows[visit_id, row] = record
        record[column] = value
    return list(rows.values())


def past(row: Mapping[str, Any], *, firm: bool) -> Past:
    """Read a reading back, as one of those that a cell had."""
    return Past(
        typed=row["typed"],
        value=text_value(row["value"]),
        status=Status(row["status"]),
        sequence=row["sequence"],
        replaced_by=row["replaced_by"],
        firm=firm,
        book_id=row["book_id"],
    )
