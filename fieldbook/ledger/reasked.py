"""Which questions stand once a book is in: its own, and those that were open before.

A question follows the reading that it is about. Where a book's reading counts, what the check
said of it counts too, and older questions about it are over. Where the ledger kept what it had,
the book's question about a reading that does not count is not asked, and the older one stands.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from fieldbook.check.verdict import Question, State, Status
from fieldbook.ledger.conflicts import DIFFER
from fieldbook.ledger.merge import ANSWER, Cell, History, Outcome, Ruling
from fieldbook.problems import Weight

_GONE_AGAINST = (Outcome.KEEP, Outcome.DIFFER)
_IN_QUESTION = (Status.ASKED, Status.REFUSED)


@dataclass(frozen=True, kw_only=True)
class Entered:
    """What a book brought to one visit: each cell's outcome, and the cells that are filled now."""

    outcomes: Mapping[Cell, Outcome]
    filled: frozenset[Cell]

    @property
    def rows(self) -> frozenset[tuple[str, str]]:
        """The rows that the book has a reading of, by sheet and row."""
        return frozenset(cell[:2] for cell in self.outcomes)

    def is_answered(self, cell: Cell) -> bool:
        """Say whether the book has an answer in a cell's row."""
        return (*cell[:2], ANSWER) in self.outcomes

    def holds_beside(self, cell: Cell) -> bool:
        """Say whether a cell is filled, though the book leaves it empty: empty deletes nothing."""
        return cell not in self.outcomes and cell in self.filled


def entered(rulings: Iterable[Ruling], filled_before: Iterable[Cell]) -> Entered:
    """Gather what a book's rulings on one visit come to."""
    outcomes = {ruling.cell: ruling.outcome for ruling in rulings}
    return Entered(outcomes=outcomes, filled=frozenset({*outcomes, *filled_before}))


def is_over(old: Question, new: Iterable[Question], book: Entered) -> bool:
    """Say whether a question that stood is over, now that a book is in."""
    place, cell = old.problem.place, asked_cell(old)
    outcome = book.outcomes.get(cell)
    if old.problem.code == DIFFER:
        return outcome in (Outcome.TAKE, Outcome.DIFFER)
    if outcome is Outcome.DIFFER:
        return True
    if outcome is Outcome.KEEP or (place.column and book.holds_beside(cell)):
        return False
    if any(_is_kept_answer(old, one, book) for one in new):
        return False
    return place.table is None or not place.row or cell[:2] in book.rows


def is_asked(new: Question, standing: Iterable[Question], book: Entered) -> bool:
    """Say whether a book's question is about what counts now."""
    cell = asked_cell(new)
    if book.outcomes.get(cell) in _GONE_AGAINST:
        return False
    if new.problem.place.column and book.holds_beside(cell):
        return False
    return not any(_is_kept_answer(old, new, book) for old in standing)


def asked_for(
    rulings: Iterable[Ruling], history: History, standing: Iterable[Question]
) -> frozenset[Cell]:
    """Return the cells of a correction book in the rows that were asked about before it came.

    So is a row with a reading in doubt or refused, or one that an open question points at, by
    itself or by one of its cells: what mends it may be the cell beside.
    """
    open_ = [one for one in standing if one.state is State.OPEN]
    asked = {asked_cell(one) for one in open_ if one.problem.weight is not Weight.NOTE}
    doubted = {
        cell
        for cell, past in history.items()
        if any(one.stands and one.status in _IN_QUESTION for one in past)
    }
    rows = {cell[:2] for cell in asked | doubted if cell[1] or cell[2]}
    return frozenset(ruling.cell for ruling in rulings if ruling.cell[:2] in rows)


def _is_kept_answer(old: Question, new: Question, book: Entered) -> bool:
    """Say whether a question was answered before and comes back without its answer."""
    same = old.problem.code == new.problem.code and asked_cell(old) == asked_cell(new)
    settled = old.state is not State.OPEN and new.state is State.OPEN
    return (
        same
        and settled
        and old.problem.params == new.problem.params
        and not book.is_answered(asked_cell(new))
    )


def asked_cell(question: Question) -> Cell:
    """Return the cell that a question points at; parts of its name are empty where it has none."""
    place = question.problem.place
    return place.table or "", place.row or "", place.column or ""
