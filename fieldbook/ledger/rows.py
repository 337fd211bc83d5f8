"""What the ledger's rows hold, written from checked records and read back."""

import json
from collections.abc import Mapping
from typing import Any

from fieldbook.check.verdict import Question, Reading, State, Status
from fieldbook.entries import row_numbers, row_text
from fieldbook.ledger.event_parts import text_value, value_text
from fieldbook.ledger.merge import Past
from fieldbook.problems import Place, Problem, params_in, params_out
from fieldbook.schema import Sheet


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
            numbered = dict(zip(keys, row_numbers(row), strict=True))
            record = {"visit_id": visit_id, **numbered, **empty}
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
        received=row["received"],
    )
