"""What the ledger knows of one visit, cell by cell: its past, what stands, what is asked."""

from collections.abc import Collection, Mapping
from typing import Any

import sqlalchemy as sa

from fieldbook.check.verdict import USABLE, Question, Status
from fieldbook.ledger.conflicts import Side
from fieldbook.ledger.event_parts import text_value
from fieldbook.ledger.merge import Cell, Past
from fieldbook.ledger.rows import past, question
from fieldbook.ledger.tables import BOOK, EVENTS, QUESTIONS, READINGS

QuestionKey = tuple[str, int, int]


SheetValues = Mapping[str, Mapping[tuple[str, str, str], Any]]
"""By sheet, the usable values of some visits, by visit, row and column."""

_Row = Mapping[str, Any]
_Cells = dict[Cell, list[_Row]]


def _readings(visit_ids: Collection[str]) -> sa.Select[Any]:
    events = (EVENTS.c.kind, EVENTS.c.book_id, EVENTS.c.scout, EVENTS.c.received, EVENTS.c.file)
    return (
        sa.select(READINGS, *events)
        .join(EVENTS, EVENTS.c.sequence == READINGS.c.sequence)
        .where(READINGS.c.visit_id.in_(visit_ids))
        .order_by(READINGS.c.sequence, *READINGS.primary_key)
    )


def _by_cell(
    connection: sa.Connection, wanted: sa.Select[Any], visit_ids: Collection[str]
) -> dict[str, _Cells]:
    """Return rows by visit and cell; every visit is there, if without a row."""
    found: dict[str, _Cells] = {visit_id: {} for visit_id in visit_ids}
    for row in connection.execute(wanted).mappings():
        cell = (row["sheet"], row["row"], row["name"])
        found[row["visit_id"]].setdefault(cell, []).append(dict(row))
    return found


def cell_histories(
    connection: sa.Connection, visit_ids: Collection[str]
) -> dict[str, dict[Cell, list[Past]]]:
    """Return by visit every reading that each of its cells had, the oldest first."""
    return {
        visit_id: {
            cell: [past(row, firm=row["kind"] != BOOK) for row in rows]
            for cell, rows in cells.items()
        }
        for visit_id, cells in _by_cell(connection, _readings(visit_ids), visit_ids).items()
    }


def cell_sides(connection: sa.Connection, visit_id: str) -> dict[Cell, list[Side]]:
    """Return the readings that stand in each cell with their sources; several are a conflict."""
    wanted = _readings([visit_id]).where(READINGS.c.replaced_by.is_(None))
    cells = _by_cell(connection, wanted, [visit_id])[visit_id]
    return {cell: [side(row) for row in rows] for cell, rows in cells.items()}


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


def cell_readings(
    connection: sa.Connection, visit_ids: Collection[str]
) -> dict[str, dict[Cell, _Row]]:
    """Return by visit the reading of every cell that has one; a cell in conflict has none."""
    standing = READINGS.c.visit_id.in_(visit_ids) & READINGS.c.replaced_by.is_(None)
    wanted = sa.select(READINGS).where(standing).order_by(*READINGS.primary_key)
    found = _by_cell(connection, wanted, visit_ids)
    return {
        visit_id: {cell: rows[0] for cell, rows in cells.items() if len(rows) == 1}
        for visit_id, cells in found.items()
    }


def usable_values(connection: sa.Connection, visit_ids: Collection[str]) -> SheetValues:
    """Return the usable values of visits; a cell in conflict has none."""
    cell = (READINGS.c.sheet, READINGS.c.visit_id, READINGS.c.row, READINGS.c.name)
    # Where one reading stands, the least of its group is that reading.
    wanted = (
        sa.select(*cell, sa.func.min(READINGS.c.value))
        .where(READINGS.c.visit_id.in_(visit_ids) & READINGS.c.replaced_by.is_(None))
        .group_by(*cell)
        .having(sa.func.count() == 1)
        .having(sa.func.min(READINGS.c.status).in_(USABLE))
    )
    found: dict[str, dict[tuple[str, str, str], Any]] = {}
    for sheet, visit_id, row, name, value in connection.execute(wanted):
        found.setdefault(sheet, {})[visit_id, row, name] = text_value(value)
    return found


def standing_questions(
    connection: sa.Connection, visit_ids: Collection[str]
) -> dict[str, dict[QuestionKey, Question]]:
    """Return by visit the questions that nothing has replaced, by their key in the table."""
    standing = QUESTIONS.c.visit_id.in_(visit_ids) & QUESTIONS.c.replaced_by.is_(None)
    wanted = sa.select(QUESTIONS).where(standing).order_by(*QUESTIONS.primary_key)
    found: dict[str, dict[QuestionKey, Question]] = {visit_id: {} for visit_id in visit_ids}
    for row in connection.execute(wanted).mappings():
        key = (row["visit_id"], row["sequence"], row["at"])
        found[row["visit_id"]][key] = question(dict(row))
    return found
