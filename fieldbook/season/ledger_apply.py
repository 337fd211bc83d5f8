"""How an event enters the ledger: what it does to each cell and question, and the rows for it."""

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa

from fieldbook.check.book import Question, Reading, State
from fieldbook.entries import Identity
from fieldbook.season.conflicts import Side, conflict_problem
from fieldbook.season.events import BookEvent, DecisionEvent, Event
from fieldbook.season.ledger_cells import (
    QuestionKey,
    cell_history,
    cell_readings,
    cell_sides,
    standing_questions,
)
from fieldbook.season.ledger_photos import enter_photos
from fieldbook.season.ledger_rows import question_row, reading_row, record_rows
from fieldbook.season.merge import Cell, Outcome, Ruling, cell_of, cleared, merged, sent
from fieldbook.season.reasked import asked_cell, entered, is_asked, is_over
from fieldbook.season.tables import (
    BOOK,
    CORRECTION,
    DECISION,
    DECISIONS,
    EVENTS,
    QUESTIONS,
    READINGS,
    SHEET_TABLES,
    VISITS,
    ledger_sheets,
)

_STANDING = READINGS.update().where(
    READINGS.c.visit_id == sa.bindparam("in_visit"),
    READINGS.c.sheet == sa.bindparam("in_sheet"),
    READINGS.c.row == sa.bindparam("in_row"),
    READINGS.c.name == sa.bindparam("in_column"),
    READINGS.c.replaced_by.is_(None),
)


@dataclass(frozen=True, kw_only=True)
class Entry:
    """What a book does to one visit: its readings ruled on, questions that end and that begin."""

    rulings: tuple[Ruling, ...]
    over: tuple[QuestionKey, ...]
    questions: tuple[Question, ...]


def apply_event(connection: sa.Connection, event: Event) -> None:
    """Enter one event; the caller holds the transaction."""
    connection.execute(EVENTS.insert(), entered_as(event))
    if isinstance(event, DecisionEvent):
        _settle(connection, event)
        return
    entries = entries_of(connection, event)
    _enter_visits(connection, event)
    for entry in entries.values():
        _enter_readings(connection, entry.rulings, event.sequence)
        _end_questions(connection, entry.over, event.sequence)
    asked = (question for entry in entries.values() for question in entry.questions)
    _ask(connection, asked, event.sequence)
    enter_photos(connection, event.verdict.photos, event.sequence)
    for visit_id in entries:
        _renew_records(connection, visit_id)


def entries_of(connection: sa.Connection, event: BookEvent) -> dict[str, Entry]:
    """Work out what a book does to each visit that it has a reading of; writes nothing."""
    parent = _parent(connection, event.identity)
    return {
        visit_id: _entry(connection, event, visit_id, parent) for visit_id in event.verdict.visits
    }


def cleared_cells(
    connection: sa.Connection, identity: Identity, empty: Iterable[Reading]
) -> tuple[Reading, ...]:
    """Return the cells that a correction book showed filled and that came back empty."""
    parent = _parent(connection, identity)
    if parent is None:
        return ()
    by_visit: dict[str, list[Reading]] = {}
    for reading in empty:
        by_visit.setdefault(reading.visit_id, []).append(reading)
    return tuple(
        reading
        for visit_id, cells in by_visit.items()
        for reading in cleared(cells, cell_history(connection, visit_id), parent)
    )


def _parent(connection: sa.Connection, identity: Identity) -> int | None:
    """Return the event that a correction book was written after; None for another book.

    Books written before this was kept say only which book they revise: then it is the last event
    of that book.
    """
    if identity.revises is None or identity.written_after is not None:
        return identity.written_after if identity.revises else None
    wanted = sa.select(sa.func.max(EVENTS.c.sequence)).where(EVENTS.c.book_id == identity.revises)
    found: int | None = connection.execute(wanted).scalar()
    return found


def _entry(connection: sa.Connection, event: BookEvent, visit_id: str, parent: int | None) -> Entry:
    history = cell_history(connection, visit_id)
    standing = standing_questions(connection, visit_id)
    rulings = merged(sent(event.verdict, visit_id, parent), history)
    filled = (cell for cell, past in history.items() if any(one.fills for one in past))
    book = entered(rulings, filled)
    own = [one for one in event.verdict.questions if one.visit_id == visit_id]
    new = [one for one in own if is_asked(one, standing.values(), book)]
    sides = cell_sides(connection, visit_id)
    return Entry(
        rulings=rulings,
        over=tuple(key for key, old in standing.items() if is_over(old, own, book)),
        questions=(*new, *_conflicts(event, rulings, sides)),
    )


def _conflicts(
    event: BookEvent, rulings: Iterable[Ruling], sides: dict[Cell, list[Side]]
) -> Iterator[Question]:
    field_of = {slip.visit_id: slip.field_id for slip in event.identity.visits}
    for ruling in rulings:
        if ruling.outcome is not Outcome.DIFFER:
            continue
        visit_id = ruling.reading.visit_id
        both = (*sides[ruling.cell], _side(event, ruling))
        found = conflict_problem(both, ruling.cell, visit_id, field_of[visit_id])
        yield Question(visit_id=visit_id, problem=found, state=State.OPEN)


def _side(event: BookEvent, ruling: Ruling) -> Side:
    return Side(
        event=event.sequence,
        typed=ruling.reading.typed,
        status=ruling.reading.status,
        scout=event.identity.scout,
        received=event.received,
        file=event.file,
        cell=ruling.reading.cell,
    )


def entered_as(event: Event) -> dict[str, Any]:
    """Return the row of the table of events that an event makes."""
    row: dict[str, Any] = {"sequence": event.sequence, "received": event.received}
    if isinstance(event, DecisionEvent):
        row |= {"kind": DECISION, "file": "", "book_id": "", "scout": event.who}
    else:
        row |= {
            "kind": CORRECTION if event.identity.revises else BOOK,
            "sha256": event.sha256,
            "file": event.file,
            "book_id": event.identity.book_id,
            "scout": event.identity.scout,
        }
    return row


def _enter_visits(connection: sa.Connection, event: BookEvent) -> None:
    touched = set(event.verdict.visits)
    for slip in event.identity.visits:
        if slip.visit_id not in touched:
            continue
        row = {
            "visit_id": slip.visit_id,
            "field_id": slip.field_id,
            "round": event.identity.round,
            "scout": event.identity.scout,
            "units": event.identity.units,
            "row_width_in": slip.row_width_in,
            "sequence": event.sequence,
        }
        connection.execute(VISITS.delete().where(VISITS.c.visit_id == slip.visit_id))
        connection.execute(VISITS.insert(), row)


def _enter_readings(connection: sa.Connection, rulings: Iterable[Ruling], sequence: int) -> None:
    kept = [one for one in rulings if one.outcome in (Outcome.TAKE, Outcome.DIFFER)]
    taken = [one for one in kept if one.outcome is Outcome.TAKE]
    _replace(connection, ((one.reading.visit_id, one.cell) for one in taken), sequence)
    if kept:
        rows = [reading_row(one.reading, sequence) for one in kept]
        connection.execute(READINGS.insert(), rows)


def _replace(connection: sa.Connection, cells: Iterable[tuple[str, Cell]], sequence: int) -> None:
    """End what stands in these cells of visits; one statement for all, as books have hundreds."""
    places = [
        {"in_visit": visit_id, "in_sheet": sheet, "in_row": row, "in_column": column}
        for visit_id, (sheet, row, column) in cells
    ]
    if places:
        connection.execute(_STANDING.values(replaced_by=sequence), places)


def _end_questions(connection: sa.Connection, keys: Iterable[QuestionKey], sequence: int) -> None:
    for visit_id, asked_by, at in keys:
        same = sa.and_(
            QUESTIONS.c.visit_id == visit_id,
            QUESTIONS.c.sequence == asked_by,
            QUESTIONS.c.at == at,
        )
        connection.execute(QUESTIONS.update().where(same).values(replaced_by=sequence))


def _ask(connection: sa.Connection, questions: Iterable[Question], sequence: int) -> None:
    rows = [question_row(question, sequence, at) for at, question in enumerate(questions)]
    if rows:
        connection.execute(QUESTIONS.insert(), rows)


def _settle(connection: sa.Connection, event: DecisionEvent) -> None:
    """Let what was decided count, in place of all that stood in the cell."""
    visit_id, cell = event.reading.visit_id, cell_of(event.reading)
    sheet, row, column = cell
    told = {
        "sequence": event.sequence,
        "visit_id": visit_id,
        "field_id": event.field_id,
        "sheet": sheet,
        "row": row,
        "name": column,
        "keeps": event.keeps,
        "against": json.dumps(event.against),
        "reason": event.reason,
    }
    connection.execute(DECISIONS.insert(), told)
    standing = standing_questions(connection, visit_id)
    over = [key for key, question in standing.items() if asked_cell(question) == cell]
    _end_questions(connection, over, event.sequence)
    _replace(connection, [(visit_id, cell)], event.sequence)
    connection.execute(READINGS.insert(), reading_row(event.reading, event.sequence))
    _ask(connection, event.questions, event.sequence)
    _renew_records(connection, visit_id)


def _renew_records(connection: sa.Connection, visit_id: str) -> None:
    current = cell_readings(connection, visit_id)
    for sheet in ledger_sheets():
        table = SHEET_TABLES[sheet.name]
        connection.execute(table.delete().where(table.c.visit_id == visit_id))
        rows = record_rows(sheet, visit_id, current)
        if rows:
            connection.execute(table.insert(), rows)
