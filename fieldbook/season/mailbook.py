"""What became of messages so far: which were handled, which of ours went out."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import sqlalchemy as sa

from fieldbook.ledger.ledger import Ledger
from fieldbook.ledger.mail_events import Delivery, Ending, MessageEvent
from fieldbook.ledger.tables import DELIVERIES, MESSAGES

_COLUMNS = ("key", "place", "sender", "received", "ending", "answer")


@dataclass(kw_only=True)
class MailBook:
    """Messages handled, by key and by place in the mailbox, and where every draft stands.

    ``answers`` are the drafts of answers; ``idle`` the moments at which a sender was told that
    nothing was taken in, and ``empty`` those of them at which a message held no book.
    """

    keys: set[str] = field(default_factory=set)
    places: set[str] = field(default_factory=set)
    answers: set[str] = field(default_factory=set)
    idle: dict[str, list[str]] = field(default_factory=dict)
    empty: dict[str, list[str]] = field(default_factory=dict)
    deliveries: dict[str, Delivery] = field(default_factory=dict)

    def note(self, event: MessageEvent) -> None:
        """Note that a message was handled."""
        self.enter({name: getattr(event, name) for name in _COLUMNS})

    def enter(self, row: Mapping[str, Any]) -> None:
        """Enter what became of one message."""
        self.keys.add(row["key"])
        if row["place"]:
            self.places.add(row["place"])
        if row["answer"]:
            self.answers.add(row["answer"])
            if row["ending"] != Ending.TAKEN:
                self.idle.setdefault(row["sender"], []).append(row["received"])
            if row["ending"] == Ending.PASSED:
                self.empty.setdefault(row["sender"], []).append(row["received"])


def mail_book(ledger: Ledger) -> MailBook:
    """Read from the ledger what became of messages so far."""
    book = MailBook()
    for row in ledger.rows(sa.select(MESSAGES).order_by(MESSAGES.c.sequence)):
        book.enter(row)
    for row in ledger.rows(sa.select(DELIVERIES).order_by(DELIVERIES.c.sequence)):
        book.deliveries[row["draft"]] = Delivery(row["state"])
    return book
