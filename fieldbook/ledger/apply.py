"""How an event enters the ledger: what it does to each cell and question, and the rows for it."""

import json
from collections.abc import Collection, Iterable, Mapping
from typing import Any

import sqlalchemy as sa

from fieldbook.check.verdict import USABLE, Question
from fieldbook.ledger.cells import (
    QuestionKey,
    SheetValues,
    standing_questions,
    usable_values,
)
from fieldbook.ledger.entry import Entry, entries_of
from fieldbook.ledger.events import BookEvent, DecisionEvent, Event
from fieldbook.ledger.mail_events import DELIVERY, MESSAGE, DeliveryEvent, MailEvent, MessageEvent
from fieldbook.ledger.merge import Cell, Outcome, Ruling, cell_of
from fieldbook.ledger.names import BOOK, CORRECTION, DECISION, ledger_sheets
from fieldbook.ledger.photo_rows import enter_photos
from fieldbook.ledger.reasked import asked_cell
from fieldbook.ledger.rows import question_row, reading_row, record_rows
from fieldbook.ledger.statements import asking, insert
from fieldbook.ledger.tables import (
    DECISIONS,
    DELIVERIES,
    EVENTS,
    MESSAGES,
    QUESTIONS,
    READINGS,
    SHEET_TABLES,
    VISITS,
)

_STANDING = READINGS.update().where(
    READINGS.c.visit_id == sa.bindparam("in_visit"),
    READINGS.c.sheet == sa.bindparam("in_sheet"),
    READINGS.c.row == sa.bindparam("in_row"),
    READINGS.c.name == sa.bindparam("in_column"),
    READINGS.c.replaced_by.is_(None),
)


def apply_event(
    connection: sa.Connection, event: Event, entries: Mapping[str, Entry] | None = None
) -> None:
    """Enter one event; the caller holds the transaction.

    `entries` is what a book does, as `entries_of` worked it out just before; without it, it is
    worked out here.
    """
    connection.execute(EVENTS.insert(), entered_as(event))
    if isinstance(event, DecisionEvent):
        _settle(connection, event)
    elif isinstance(event, MessageEvent | DeliveryEvent):
        _enter_mail(connection, event)
    else:
        _enter_book(connection, event, entries or entries_of(asking(connection), event))


def _enter_book(connection: sa.Connection, event: BookEvent, entries: Mapping[str, Entry]) -> None:
    _enter_visits(connection, event)
    rulings = [ruling for entry in entries.values() for ruling in entry.rulings]
    replaced = [(visit_id, cell) for visit_id, one in entries.items() for cell in one.replaced]
    _replace(connection, replaced, event.sequence)
    _enter_readings(connection, rulings, event.sequence)
    over = [key for entry in entries.values() for key in entry.over]
    _end_questions(connection, over, event.sequence)
    asked = (question for entry in entries.values() for question in entry.questions)
    _ask(connection, asked, event.sequence)
    enter_photos(connection, event.verdict.photos, event.sequence)
    _enter_records(connection, _first_values(new for new in entries.values() if new.is_first))
    _renew_records(connection, [visit_id for visit_id, old in entries.items() if not old.is_first])


def entered_as(event: Event) -> dict[str, Any]:
    """Return the row of the table of events that an event makes."""
    row: dict[str, Any] = {"sequence": event.sequence, "received": event.received}
    if isinstance(event, DecisionEvent):
        row |= {"kind": DECISION, "file": "", "book_id": "", "scout": event.who}
    elif isinstance(event, MessageEvent):
        row |= {"kind": MESSAGE, "file": "", "book_id": "", "scout": event.scout or ""}
    elif isinstance(event, DeliveryEvent):
        row |= {"kind": DELIVERY, "file": event.draft, "book_id": "", "scout": ""}
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
    rows = [
        {
            "visit_id": slip.visit_id,
            "field_id": slip.field_id,
            "field": slip.field,
            "grower": slip.grower,
            "round": event.identity.round,
            "scout": event.identity.scout,
            "units": event.identity.units,
            "row_width_in": slip.row_width_in,
            "sequence": event.sequence,
        }
        for slip in event.identity.visits
        if slip.visit_id in touched
    ]
    if rows:
        connection.execute(VISITS.delete().where(VISITS.c.visit_id.in_(touched)))
        connection.execute(VISITS.insert(), rows)


def _enter_readings(connection: sa.Connection, rulings: Iterable[Ruling], sequence: int) -> None:
    kept = [one for one in rulings if one.outcome in (Outcome.TAKE, Outcome.DIFFER)]
    if kept:
        insert(connection, READINGS, [reading_row(one.reading, sequence) for one in kept])


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
    standing = standing_questions(asking(connection), [visit_id])[visit_id]
    over = [key for key, question in standing.items() if asked_cell(question) == cell]
    _end_questions(connection, over, event.sequence)
    _replace(connection, [(visit_id, cell)], event.sequence)
    insert(connection, READINGS, [reading_row(event.reading, event.sequence)])
    _ask(connection, event.questions, event.sequence)
    _renew_records(connection, [visit_id])


def _enter_mail(connection: sa.Connection, event: MailEvent) -> None:
    table = DELIVERIES if isinstance(event, DeliveryEvent) else MESSAGES
    values = vars(event)
    connection.execute(table.insert(), {one.name: values[one.name] for one in table.columns})


def _renew_records(connection: sa.Connection, visit_ids: Collection[str]) -> None:
    """Write the records of visits anew, from all readings that stand."""
    if not visit_ids:
        return
    now = usable_values(asking(connection), visit_ids)
    for table in SHEET_TABLES.values():
        connection.execute(table.delete().where(table.c.visit_id.in_(visit_ids)))
    _enter_records(connection, now)


def _first_values(entries: Iterable[Entry]) -> SheetValues:
    """Return the usable values of visits that the ledger did not know, as `usable_values` does."""
    found: dict[str, dict[Cell, Any]] = {}
    for ruling in (ruling for entry in entries for ruling in entry.rulings):
        if ruling.reading.status in USABLE:
            sheet, row, column = ruling.cell
            found.setdefault(sheet, {})[ruling.reading.visit_id, row, column] = ruling.reading.value
    return found


def _enter_records(connection: sa.Connection, now: SheetValues) -> None:
    for sheet in ledger_sheets():
        rows = record_rows(sheet, now.get(sheet.name, {}))
        if rows:
            insert(connection, SHEET_TABLES[sheet.name], rows)
