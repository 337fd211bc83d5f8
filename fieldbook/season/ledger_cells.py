"""What the ledger knows of one visit, cell by cell: its past, what stands, what is asked."""

from collections.abc import Mapping
from typing import Any

import sqlalchemy as sa

from fieldbook.check.book import Question, Status
from fieldbook.season.conflicts import Side
from fieldbook.season.ledger_rows import past, question
from fieldbook.season.merge import Cell, Past
from fieldbook.season.tables import BOOK, EVENTS, QUESTIONS, READINGS

QuestionKey = tuple[str, int, int]


def _readings(visit_id: str) -> sa.Select[Any]:
    events = (EVENTS.c.kind, EVENTS.c.scout, EVENTS.c.received, EVENTS.c.file)
    return (
        sa.select(READINGS, *events)
        .join(EVENTS, EVENTS.c.sequence == READINGS.c.sequence)
        .where(READINGS.c.visit_id == visit_id)
        .order_by(READINGS.c.sequence, *READINGS.primary_key)
    )


def _by_cell(
    connection: sa.Connection, wanted: sa.Select[Any]
) -> dict[Cell, list[Mapping[str, Any]]]:
    found: dict[Cell, list[Mapping[str, Any]]] = {}
    for row in connection.execute(wanted).mappings():
        found.setdefault((row["sheet"], row["row"], row["name"]), []).append(dict(row))
    return found


def cell_history(connection: sa.Connection, visit_id: str) -> dict[Cell, list[Past]]:
    """Return every reading that each cell of a visit had, the oldest first."""
    return {
        cell: [past(row, firm=row["kind"] != BOOK) for row in rows]
        for cell, rows in _by_cell(connection, _readings(visit_id)).items()
    }


def cell_sides(connection: sa.Connection, visit_id: str) -> dict[Cell, list[Side]]:
    """Return the readings that stand in each cell with their sources; several are a conflict."""
    wanted = _readings(visit_id).where(READINGS.c.replaced_by.is_(None))
    return {
        cell: [side(row) for row in rows] for cell, rows in _by_cell(connection, wanted).items()
    }


def side(row: Mapping[str, Any]) -> Side:
    """Read a reading back with its source, from a row that joins the two."""
    return Side(
        event=row["sequence"],
        typed=row["typed"],
        status=Status(row["status"]),
        scout=row["scout"],
        received=row["received"],
        file=row["file"],
        cell=row["cell"],
    )


def cell_readings(connection: sa.Connection, visit_id: str) -> dict[Cell, Mapping[str, Any]]:
    """Return the reading of every cell that has one; a cell in conflict has none."""
    standing = (READINGS.c.visit_id == visit_id) & READINGS.c.replaced_by.is_(None)
    found = _by_cell(
        connection, sa.select(READINGS).where(standing).order_by(*READINGS.primary_key)
    )
    return {cell: rows[0] for cell, rows in found.items() if len(rows) == 1}


def standing_questions(connection: sa.Connection, visit_id: str) -> dict[QuestionKey, Question]:
    """Return the questions of a visit that nothing has replaced, by their key in the table."""
    standing = (QUESTIONS.c.visit_id == visit_id) & QUESTIONS.c.replaced_by.is_(None)
    wanted = sa.select(QUESTIONS).where(standing).order_by(*QUESTIONS.primary_key)
    rows = connection.execute(wanted).mappings()
    return {(row["visit_id"], row["sequence"], row["at"]): question(dict(row)) for row in rows}
