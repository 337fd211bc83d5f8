"""What judging a book asks of a ledger: what came before it. Nothing here changes one."""

from abc import ABC, abstractmethod
from collections.abc import Collection, Iterable, Mapping
from contextlib import AbstractContextManager
from typing import Any

from fieldbook.check.verdict import USABLE, Reading
from fieldbook.check.walks import DAY, KnownWalk, walk_of
from fieldbook.entries import Identity
from fieldbook.ledger.asking import Ask, Row
from fieldbook.ledger.cells import cell_histories
from fieldbook.ledger.entry import Entry, cleared_cells, entries_of
from fieldbook.ledger.events import BookEvent
from fieldbook.ledger.merge import Cell, Past

_LAST = "SELECT max(sequence) AS last FROM events"
_WALKED = """
SELECT visit_id, field_id FROM visits WHERE field_id IN :field_ids AND round = :round
ORDER BY visit_id"""


class Earlier(ABC):
    """The questions that a book is judged by, over a connection of any kind."""

    @abstractmethod
    def asking(self) -> AbstractContextManager[Ask]:
        """Lend what asks the ledger, for questions that belong together."""

    def ask(self, sql: str, /, **values: Any) -> list[Row]:
        """Ask one question in SQL, as `fieldbook.ledger.asking` has it."""
        with self.asking() as ask:
            return ask(sql, **values)

    def last_sequence(self) -> int:
        """Return the number of the last event that was entered; 0 if none was."""
        (found,) = self.ask(_LAST)
        return int(found["last"] or 0)

    def foresee(self, event: BookEvent) -> dict[str, Entry]:
        """Say by visit what a book's event would do here, and change nothing."""
        with self.asking() as ask:
            return entries_of(ask, event)

    def visit_ids(self, field_ids: Collection[str], round_: str) -> dict[str, str]:
        """Return the field of each visit of some fields in a round."""
        rows = self.ask(_WALKED, field_ids=field_ids, round=round_)
        return {row["visit_id"]: row["field_id"] for row in rows}

    def known_walks(self, visit_ids: Collection[str]) -> dict[str, KnownWalk]:
        """Return what stands of the walks of some visits, and the books that brought it."""
        with self.asking() as ask:
            histories = cell_histories(ask, visit_ids)
        return {visit_id: _known(visit_id, history) for visit_id, history in histories.items()}

    def cleared(self, identity: Identity, empty: Iterable[Reading]) -> tuple[Reading, ...]:
        """Return those empty cells of a book that it showed filled: what its scout cleared."""
        with self.asking() as ask:
            return cleared_cells(ask, identity, empty)

    def next_sequence(self) -> int:
        """Return the number of the next event; call it when it is your turn."""
        return self.last_sequence() + 1


def _known(visit_id: str, history: Mapping[Cell, Iterable[Past]]) -> KnownWalk:
    """Make a walk of its cells' histories; a day that is in doubt tells no walks apart."""
    every = [(cell, one) for cell, past in history.items() for one in past]
    standing = [(cell, one) for cell, one in every if one.stands]
    return KnownWalk(
        visit_id=visit_id,
        book_ids=frozenset(one.book_id for _, one in every if one.book_id),
        walk=walk_of(
            {cell: one.value for cell, one in standing if cell != DAY or one.status in USABLE}
        ),
    )
