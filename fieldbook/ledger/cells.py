"""What the ledger knows of one visit, cell by cell: its past, what stands, what is asked."""

from collections.abc import Collection, Iterable, Mapping
from typing import Any

from fieldbook.check.verdict import USABLE, Question, Status
from fieldbook.ledger.asking import Ask, Row
from fieldbook.ledger.conflicts import Side
from fieldbook.ledger.event_parts import text_value
from fieldbook.ledger.merge import Cell, Past
from fieldbook.ledger.names import BOOK
from fieldbook.ledger.rows import past, question

QuestionKey = tuple[str, int, int]


SheetValues = Mapping[str, Mapping[tuple[str, str, str], Any]]
"""By sheet, the usable values of some visits, by visit, row and column."""

_Cells = dict[Cell, list[Row]]

_READING = """
SELECT readings.visit_id, readings.sheet, readings."row", readings.name, readings.sequence,
readings.typed, readings.value, readings.status, readings.cell, readings.replaced_by"""
_SOURCED = f"""{_READING},
events.kind, events.book_id, events.scout, events.received, events.file
FROM readings JOIN events ON events.sequence = readings.sequence
WHERE readings.visit_id IN :visit_ids"""
_BY_CELL = 'readings.visit_id, readings.sheet, readings."row", readings.name'
_HISTORIES = f"{_SOURCED} ORDER BY readings.sequence, {_BY_CELL}"
_SIDES = f"{_SOURCED} AND readings.replaced_by IS NULL ORDER BY readings.sequence, {_BY_CELL}"
_STANDING = f"""{_READING}
FROM readings WHERE readings.visit_id IN :visit_ids AND readings.replaced_by IS NULL
ORDER BY {_BY_CELL}, readings.sequence"""
# Where one reading stands, the least of its group is that reading.
_USABLE = f"""
SELECT {_BY_CELL}, min(readings.value) AS value
FROM readings WHERE readings.visit_id IN :visit_ids AND readings.replaced_by IS NULL
GROUP BY {_BY_CELL} HAVING count(*) = 1 AND min(readings.status) IN :usable"""
_QUESTIONS = """
SELECT visit_id, sequence, at, code, state, place, params
FROM questions WHERE visit_id IN :visit_ids AND replaced_by IS NULL
ORDER BY visit_id, sequence, at"""


def _by_cell(rows: Iterable[Row], visit_ids: Collection[str]) -> dict[str, _Cells]:
    """Return rows by visit and cell; every visit is there, if without a row."""
    found: dict[str, _Cells] = {visit_id: {} for visit_id in visit_ids}
    for row in rows:
        cell = (row["sheet"], row["row"], row["name"])
        found[row["visit_id"]].setdefault(cell, []).append(row)
    return found


def cell_histories(ask: Ask, visit_ids: Collection[str]) -> dict[str, dict[Cell, list[Past]]]:
    """Return by visit every reading that each of its cells had, the oldest first."""
    found = _by_cell(ask(_HISTORIES, visit_ids=visit_ids), visit_ids)
    return {
        visit_id: {
            cell: [past(row, firm=row["kind"] != BOOK) for row in rows]
            for cell, rows in cells.items()
        }
        for visit_id, cells in found.items()
    }


def cell_sides(ask: Ask, visit_id: str) -> dict[Cell, list[Side]]:
    """Return the readings that stand in each cell with their sources; several are a conflict."""
    cells = _by_cell(ask(_SIDES, visit_ids=[visit_id]), [visit_id])[visit_id]
    return {cell: [side(row) for row in rows] for cell, rows in cells.items()}


def sides_by_event(ask: Ask, visit_id: str) -> dict[Cell, dict[int, Side]]:
    """Return every reading that each cell of a visit had, by the event that brought it."""
    cells = _by_cell(ask(_HISTORIES, visit_ids=[visit_id]), [visit_id])[visit_id]
    return {cell: {row["sequence"]: side(row) for row in rows} for cell, rows in cells.items()}


def side(row: Row) -> Side:
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


def cell_readings(ask: Ask, visit_ids: Collection[str]) -> dict[str, dict[Cell, Row]]:
    """Return by visit the reading of every cell that has one; a cell in conflict has none."""
    found = _by_cell(ask(_STANDING, visit_ids=visit_ids), visit_ids)
    return {
        visit_id: {cell: rows[0] for cell, rows in cells.items() if len(rows) == 1}
        for visit_id, cells in found.items()
    }


def usable_values(ask: Ask, visit_ids: Collection[str]) -> SheetValues:
    """Return the usable values of visits; a cell in conflict has none."""
    found: dict[str, dict[tuple[str, str, str], Any]] = {}
    for row in ask(_USABLE, visit_ids=visit_ids, usable=USABLE):
        place = (row["visit_id"], row["row"], row["name"])
        found.setdefault(row["sheet"], {})[place] = text_value(row["value"])
    return found


def standing_questions(
    ask: Ask, visit_ids: Collection[str]
) -> dict[str, dict[QuestionKey, Question]]:
    """Return by visit the questions that nothing has replaced, by their key in the table."""
    found: dict[str, dict[QuestionKey, Question]] = {visit_id: {} for visit_id in visit_ids}
    for row in ask(_QUESTIONS, visit_ids=visit_ids):
        key = (row["visit_id"], row["sequence"], row["at"])
        found[row["visit_id"]][key] = question(row)
    return found
