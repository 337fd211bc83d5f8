"""What a book's readings do to those that stand: replace them, agree, give way, or differ.

A correction book shows the ledger as it stood after one event, its parent. A cell that the scout
left as it was says nothing new, so it never undoes what another book brought in the meantime. A
cell that he changed or emptied replaces its parent. Where something else replaced that parent
already, the two are children of one parent: the same value twice is agreement, two values are a
conflict, and neither counts until a person decides. Where that something else came in the same
correction book, at an earlier moment, there is no rival: its scout corrected himself, and the later
counts. Of two saves that came at one moment nobody knows which is the later: they are rivals, too.

A later copy of the book that the scout first filled has no parent. It replaces reading by reading
what came from such copies. Against what a correction or a decision brought, it can say three
things: an earlier value again, then it is an older copy and changes nothing; the same value; or a
third one. That third one was typed by somebody after all, and nobody can tell from the file
whether before or after the correction, so it is a conflict too.

A value that was refused can't count, so it is no rival of a good one, whichever book brought it.
"""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, NamedTuple

from fieldbook.check.verdict import USABLE, CheckedBook, Reading, Status
from fieldbook.entries import row_text
from fieldbook.forms.answers import LOST

ANSWER = "answer"
_ROUNDED = 1e-9  # metric values come back from a book rounded in the last digits
_ANSWERED = (Status.CONFIRMED, Status.LOST)
Cell = tuple[str, str, str]


class Outcome(StrEnum):
    """What becomes of a reading that came in."""

    TAKE = "take"
    SAME = "same"
    KEEP = "keep"
    DIFFER = "differ"


@dataclass(frozen=True, kw_only=True)
class Past:
    """One reading that a cell had or has; ``firm`` ones a correction or a decision brought.

    ``book_id`` names the book that it came in, empty for a decision, and ``received`` the moment.
    """

    typed: str
    value: Any
    status: Status
    sequence: int
    replaced_by: int | None
    firm: bool
    book_id: str = ""
    received: str = ""

    @property
    def stands(self) -> bool:
        """Say whether nothing has replaced it; in a conflict, more than one stands."""
        return self.replaced_by is None

    @property
    def fills(self) -> bool:
        """Say whether its cell is filled by it: it stands and says something."""
        return self.stands and bool(self.typed)

    def stood_after(self, sequence: int) -> bool:
        """Say whether it stood right after an event."""
        came = self.sequence <= sequence
        return came and (self.replaced_by is None or self.replaced_by > sequence)


History = Mapping[Cell, Sequence[Past]]


class Ruling(NamedTuple):
    """A reading that came in, its cell, and what becomes of it."""

    cell: Cell
    reading: Reading
    outcome: Outcome


@dataclass(frozen=True, kw_only=True)
class Sent:
    """What a book says of one visit; ``written_after`` is the parent of a correction book.

    ``book_id`` is None where somebody else sent the scout's book.
    """

    visit_id: str
    readings: Mapping[Cell, Reading]
    received: str
    written_after: int | None = None
    book_id: str | None = None

    def answer(self, cell: Cell) -> Any:
        """Return the answer in a cell's row; None where there is none."""
        found = self.readings.get((*cell[:2], ANSWER))
        return found.value if found else None


def sent(
    verdict: CheckedBook, received: str, written_after: int | None, book_id: str | None
) -> Iterator[Sent]:
    """Gather what a verdict says of each of its visits, by sheet, row and column."""
    readings: dict[str, dict[Cell, Reading]] = {visit_id: {} for visit_id in verdict.visits}
    for reading in verdict.readings:
        readings[reading.visit_id][cell_of(reading)] = reading
    for visit_id, mine in readings.items():
        yield Sent(
            visit_id=visit_id,
            readings=mine,
            received=received,
            written_after=written_after,
            book_id=book_id,
        )


def cell_of(reading: Reading) -> Cell:
    """Name a reading's cell: its sheet, its row as the tables write it, its column."""
    return reading.sheet, row_text(reading.row), reading.column


def merged(book: Sent, history: History) -> tuple[Ruling, ...]:
    """Rule on every reading of a visit, in the book's order."""
    return (
        *(
            Ruling(cell=cell, reading=reading, outcome=_outcome(cell, reading, book, history))
            for cell, reading in book.readings.items()
        ),
        *_given_up(book, history),
    )


def cleared(book: Iterable[Reading], history: History, parent: int) -> Iterator[Reading]:
    """Return those empty cells of a visit that its correction book showed filled.

    An answer is not among them: emptying it takes none back.
    """
    for reading in book:
        cell = cell_of(reading)
        shown = [one for one in history.get(cell, ()) if one.stood_after(parent)]
        if len(shown) == 1 and shown[0].typed and cell[2] != ANSWER:
            yield reading


def _outcome(cell: Cell, new: Reading, book: Sent, history: History) -> Outcome:
    past = history.get(cell)
    if not past:
        return Outcome.TAKE
    now = [one for one in past if one.stands]
    if not now:
        return Outcome.TAKE
    if len(now) == 1 and _is_repeated(new, now[0]):
        return Outcome.SAME
    if len(now) == 1 and _is_answered(new, now[0], book.answer(cell)):
        return Outcome.KEEP
    if book.written_after is None:
        return _of_a_copy(cell, new, past, now)
    return _of_a_correction(cell, new, book, history)


def _of_a_copy(cell: Cell, new: Reading, past: Sequence[Past], now: Sequence[Past]) -> Outcome:
    if cell[2] == ANSWER or not (len(now) > 1 or now[0].firm):
        return Outcome.TAKE
    return _beside(new, past, now)


def _of_a_correction(cell: Cell, new: Reading, book: Sent, history: History) -> Outcome:
    parent = book.written_after or 0
    past = history.get(cell, ())
    since = [one for one in past if one.sequence > parent]
    if _is_untouched(cell, new, book, history):
        return Outcome.KEEP if since else Outcome.TAKE
    if not since or cell[2] == ANSWER:
        return Outcome.TAKE
    now = [one for one in past if one.stands]
    if all(one.book_id == book.book_id and one.received < book.received for one in now):
        return Outcome.TAKE
    return _beside(new, since, now)


def _beside(new: Reading, known: Sequence[Past], now: Sequence[Past]) -> Outcome:
    """Hold a reading against others that may have answered the same question."""
    if any(_agrees(new, one) and not _claims_more(new, one) for one in known):
        return Outcome.KEEP
    if len(now) == 1 and (_agrees(new, now[0]) or _is_no_rival(new, now[0])):
        return Outcome.TAKE
    return Outcome.DIFFER


def _is_no_rival(new: Reading, old: Past) -> bool:
    """Say whether what stands was refused and the new one is not: it was a slip, mended now."""
    return old.status is Status.REFUSED and new.status in USABLE


def _is_untouched(cell: Cell, new: Reading, book: Sent, history: History) -> bool:
    """Say whether a correction book shows a cell as it was written, its answer included."""
    parent = book.written_after or 0
    base = [one for one in history.get(cell, ()) if one.stood_after(parent)]
    if len(base) != 1 or not _is_same(new, base[0]):
        return False
    return base[0].status is new.status or not _answers_anew(cell, book, history)


def _answers_anew(cell: Cell, book: Sent, history: History) -> bool:
    answer = book.answer(cell)
    before = [
        one.value
        for one in history.get((*cell[:2], ANSWER), ())
        if one.stood_after(book.written_after or 0)
    ]
    return answer is not None and answer not in before


def _given_up(book: Sent, history: History) -> Iterator[Ruling]:
    """Give up the conflicts that a correction book asked about and its scout cannot recount."""
    if book.written_after is None:
        return
    for cell, past in history.items():
        now = [one for one in past if one.stands]
        asked = len(now) > 1 and all(one.stood_after(book.written_after) for one in now)
        example = book.readings.get((*cell[:2], ANSWER))
        if asked and cell not in book.readings and example and example.value == LOST.key:
            yield Ruling(cell=cell, reading=lost_reading(example, cell), outcome=Outcome.TAKE)


def lost_reading(beside: Reading, cell: Cell) -> Reading:
    """Make the reading of a cell that nobody can count again, in the row of another reading."""
    return Reading(
        visit_id=beside.visit_id,
        sheet=cell[0],
        row=beside.row,
        column=cell[2],
        typed="",
        value=None,
        status=Status.LOST,
        cell=beside.cell,
    )


def _is_repeated(new: Reading, old: Past) -> bool:
    return _is_same(new, old) and new.status is old.status


def _is_same(new: Reading, old: Past) -> bool:
    """Say whether two cells hold the same value, however typed; a fault is known by its text."""
    if new.value is None or old.value is None:
        return new.value is old.value and new.typed == old.typed
    if isinstance(new.value, float) or isinstance(old.value, float):
        return math.isclose(new.value, old.value, rel_tol=_ROUNDED)
    return bool(new.value == old.value)


def _is_answered(new: Reading, old: Past, answer: Any) -> bool:
    """Say whether the scout answered for this very value before; an empty answer takes none back.

    So a confirmed reading stays confirmed when an older copy of its book comes in.
    """
    return answer is None and old.status in _ANSWERED and _is_same(new, old)


def _agrees(new: Reading, old: Past) -> bool:
    """Say whether two readings say the same: the same value, or both that none can be had."""
    if Status.LOST in (new.status, old.status):
        return new.status is old.status
    return _is_same(new, old)


def _claims_more(new: Reading, old: Past) -> bool:
    """Say whether a reading is confirmed by its scout, and the other one is not."""
    return new.status is Status.CONFIRMED and old.status is not Status.CONFIRMED
