"""What judging a book asks of a ledger: what came before it. Nothing here changes one."""

from abc import ABC, abstractmethod
from collections.abc import Iterable
from contextlib import AbstractContextManager
from typing import Any

from fieldbook.check.verdict import Reading
from fieldbook.entries import Identity
from fieldbook.ledger.asking import Ask, Row
from fieldbook.ledger.entry import Entry, cleared_cells, entries_of
from fieldbook.ledger.events import BookEvent

_LAST = "SELECT max(sequence) AS last FROM events"


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

    def cleared(self, identity: Identity, empty: Iterable[Reading]) -> tuple[Reading, ...]:
        """Return those empty cells of a book that it showed filled: what its scout cleared."""
        with self.asking() as ask:
            return cleared_cells(ask, identity, empty)

    def next_sequence(self) -> int:
        """Return the number of the next event; call it when it is your turn."""
        return self.last_sequence() + 1
