"""Where messages lie: one way to go through them, whatever holds them."""

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass
from typing import Protocol

from fieldbook.mail.message import RawMessage
from fieldbook.problems import Problem


@dataclass(frozen=True, kw_only=True)
class Piece:
    """One message in its place.

    ``place`` names it for good where the place can promise that, else it is empty; ``label`` names
    it for a person. `load` fetches it when its turn has come; None where somebody has
    meanwhile taken it away.
    """

    place: str
    label: str
    load: Callable[[], RawMessage | None]


class Source(Protocol):
    """A mailbox, a folder of messages, or a file of many. All of them may raise `MailRefusal`.

    ``problems`` are what did not work but stopped nothing, such as moving a handled message.
    """

    problems: list[Problem]

    def pieces(self, known: Collection[str]) -> tuple[int, Iterator[Piece]]:
        """Return how many messages there are to look at, and each in turn.

        Those whose place is `known` were handled before: they are only moved, where that is wished.
        """

    def put_away(self, piece: Piece) -> None:
        """Move a handled message to the folder that the season names, if it names one."""
