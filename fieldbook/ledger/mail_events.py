"""Events of mail: a message was handled; a message of ours is going out, or went, or did not."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from enum import StrEnum
from typing import Any

from fieldbook.ledger.event_parts import problem_in, problem_out
from fieldbook.problems import Problem

MESSAGE, DELIVERY = "message", "delivery"


class Ending(StrEnum):
    """What became of a message: books taken in, all set aside, or nothing of ours."""

    TAKEN = "taken"
    ASIDE = "aside"
    PASSED = "passed"


class Delivery(StrEnum):
    """Where a message of ours stands; ``sending`` without a later one is a doubt.

    ``released`` ends a doubt: a person says that it did not go out.
    """

    SENDING = "sending"
    SENT = "sent"
    REFUSED = "refused"
    RELEASED = "released"


@dataclass(frozen=True, kw_only=True)
class MessageEvent:
    """A message was handled: which one, from whom, what it held, what was said of it.

    ``key`` knows it again by its Message-ID, its sender and the hashes of its attachments;
    ``place`` is where it lay in the mailbox, empty elsewhere. ``books`` are the hashes of all
    spreadsheets in it, and ``answer`` the name of the draft that was written, if one was.
    """

    sequence: int
    received: str
    tool: str
    key: str
    message_id: str
    place: str
    sender: str
    scout: str | None
    authenticated: str
    ending: Ending
    books: tuple[str, ...]
    problems: tuple[Problem, ...]
    answer: str | None


@dataclass(frozen=True, kw_only=True)
class DeliveryEvent:
    """A draft is being sent, was sent, or was refused; ``sha256`` is the hash of what went out."""

    sequence: int
    received: str
    tool: str
    state: Delivery
    message_id: str
    draft: str
    recipient: str
    sha256: str


MailEvent = MessageEvent | DeliveryEvent


def mail_event_out(event: MailEvent) -> dict[str, Any]:
    """Write an event of mail for JSON."""
    if isinstance(event, DeliveryEvent):
        return {"kind": DELIVERY, **asdict(event), "state": str(event.state)}
    told = [problem_out(found) for found in event.problems]
    raw = {"kind": MESSAGE, **asdict(event), "ending": str(event.ending), "problems": told}
    return raw | {"books": list(event.books)}


def mail_event_in(raw: Mapping[str, Any]) -> MailEvent:
    """Read an event of mail back."""
    own = {name: value for name, value in raw.items() if name not in ("format", "kind")}
    if raw["kind"] == DELIVERY:
        return DeliveryEvent(**{**own, "state": Delivery(own["state"])})
    told = tuple(problem_in(found) for found in own["problems"])
    parts = {"ending": Ending(own["ending"]), "books": tuple(own["books"]), "problems": told}
    return MessageEvent(**{**own, **parts})
