"""What a book does to each visit that it tells of, worked out before anything is written."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from fieldbook.check.verdict import Question, Reading, State
from fieldbook.entries import Identity
from fieldbook.ledger.asking import Ask
from fieldbook.ledger.cells import (
    QuestionKey,
    cell_histories,
    cell_sides,
    standing_questions,
)
from fieldbook.ledger.conflicts import Side, conflict_problem
from fieldbook.ledger.events import BookEvent
from fieldbook.ledger.merge import Cell, Outcome, Past, Ruling, Sent, cleared, merged, sent
from fieldbook.ledger.reasked import asked_for, entered, is_asked, is_over

_LAST_OF_BOOK = "SELECT max(sequence) AS last FROM events WHERE book_id = :book_id"


@dataclass(frozen=True, kw_only=True)
class Entry:
    """What a book does to one visit: its readings ruled on, questions that end and that begin.

    ``replaced`` are the cells in which something stands that gives way, ``asked_for`` those in
    the rows that a correction book was to mend, and ``is_first`` says whether the ledger had no
    reading of the visit before.
    """

    rulings: tuple[Ruling, ...]
    replaced: tuple[Cell, ...]
    over: tuple[QuestionKey, ...]
    questions: tuple[Question, ...]
    asked_for: frozenset[Cell]
    is_first: bool


def entries_of(ask: Ask, event: BookEvent) -> dict[str, Entry]:
    """Work out what a book does to each visit that it has a reading of; writes nothing."""
    parent, visits = _parent(ask, event.identity), event.verdict.visits
    histories = cell_histories(ask, visits)
    standing = standing_questions(ask, visits)
    return {
        book.visit_id: _entry(ask, event, book, histories[book.visit_id], standing[book.visit_id])
        for book in sent(event.verdict, event.received, parent, _own_book(event))
    }


def cleared_cells(ask: Ask, identity: Identity, empty: Iterable[Reading]) -> tuple[Reading, ...]:
    """Return the cells that a correction book showed filled and that came back empty."""
    parent = _parent(ask, identity)
    if parent is None:
        return ()
    by_visit: dict[str, list[Reading]] = {}
    for reading in empty:
        by_visit.setdefault(reading.visit_id, []).append(reading)
    histories = cell_histories(ask, by_visit)
    return tuple(
        reading
        for visit_id, cells in by_visit.items()
        for reading in cleared(cells, histories[visit_id], parent)
    )


def _own_book(event: BookEvent) -> str | None:
    """Return which book it is, where its own scout sent it, as far as is known."""
    is_own = event.sent_by in (None, event.identity.scout)
    return event.identity.book_id if is_own else None


def _parent(ask: Ask, identity: Identity) -> int | None:
    """Return the event that a correction book was written after; None for another book.

    Books written before this was kept say only which book they revise: then it is the last event
    of that book.
    """
    if identity.revises is None or identity.written_after is not None:
        return identity.written_after if identity.revises else None
    (found,) = ask(_LAST_OF_BOOK, book_id=identity.revises)
    last: int | None = found["last"]
    return last


def _entry(
    ask: Ask,
    event: BookEvent,
    book: Sent,
    history: Mapping[Cell, list[Past]],
    standing: Mapping[QuestionKey, Question],
) -> Entry:
    rulings = merged(book, history)
    filled = (cell for cell, past in history.items() if any(one.fills for one in past))
    now = entered(rulings, filled)
    own = [one for one in event.verdict.questions if one.visit_id == book.visit_id]
    new = [one for one in own if is_asked(one, standing.values(), now)]
    differ = [ruling for ruling in rulings if ruling.outcome is Outcome.DIFFER]
    sides = cell_sides(ask, book.visit_id) if differ else {}
    is_correction = book.written_after is not None
    return Entry(
        rulings=rulings,
        replaced=tuple(_replaced(rulings, history)),
        over=tuple(key for key, old in standing.items() if is_over(old, own, now)),
        questions=(*new, *_conflicts(event, differ, sides)),
        asked_for=asked_for(rulings if is_correction else (), history, standing.values()),
        is_first=not history,
    )


def _replaced(rulings: Iterable[Ruling], history: Mapping[Cell, list[Past]]) -> Iterator[Cell]:
    for ruling in rulings:
        past = history.get(ruling.cell)
        if past and ruling.outcome is Outcome.TAKE and any(one.stands for one in past):
            yield ruling.cell


def _conflicts(
    event: BookEvent, differ: Iterable[Ruling], sides: Mapping[Cell, list[Side]]
) -> Iterator[Question]:
    field_of = {slip.visit_id: slip.field_id for slip in event.identity.visits}
    for ruling in differ:
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
