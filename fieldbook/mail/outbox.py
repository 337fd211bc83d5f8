"""The outbox: which drafts wait, which may have gone out, and the events that say so.

A draft's name is made of what it answers or holds, so that the same one is never sent twice. The
event `sending` is written before a server takes the message over; where none follows, nobody knows
whether it went out, and only a person may send it again.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from email import message_from_bytes
from email.generator import BytesGenerator
from email.message import Message as Mime
from email.policy import compat32
from io import BytesIO
from pathlib import Path

from fieldbook import __version__
from fieldbook.ledger.event_parts import utc_text
from fieldbook.ledger.events import write_event
from fieldbook.ledger.folder import SeasonFolder, digest
from fieldbook.ledger.ledger import Ledger, writing
from fieldbook.ledger.mail_events import Delivery, DeliveryEvent
from fieldbook.mail.heads import address, head, raw_heads
from fieldbook.mail.sender import correspondents
from fieldbook.problems import Place, Problem, problem
from fieldbook.season.mailbook import MailBook, mail_book
from fieldbook.season.season import Season

LETTER_START = "letter-"
_WIRE = compat32.clone(linesep="\r\n")
_FOR_DRAFTS_ONLY = "X-Unsent"


@dataclass(frozen=True, kw_only=True)
class Waiting:
    """A draft that can go out as it stands."""

    path: Path
    recipient: str
    message_id: str
    data: bytes


def waiting(season: Season) -> Iterator[Waiting | Problem]:
    """Yield every draft that may be sent now, and why any other may not.

    A draft that was sent moves on to ``sent/``; one whose message is not yet handled, since the
    command was killed, is written anew before it counts.
    """
    folder = season.folder
    with Ledger(folder) as ledger:
        book = mail_book(ledger)
    known = _addresses(season)
    for path in sorted(folder.outbox.glob("*.eml")):
        state = book.deliveries.get(path.name)
        if state is Delivery.SENT:
            put_away(folder, path)
        elif state is Delivery.SENDING:
            yield problem("mail-doubt", Place(file=path.name), name=path.name)
        elif _is_ready(path, book):
            yield _read(path, known)


def _is_ready(path: Path, book: MailBook) -> bool:
    return path.name in book.answers or path.name.startswith(LETTER_START)


def _addresses(season: Season) -> frozenset[str]:
    """Return every address that a message of ours may go to."""
    growers = (one.mail.casefold() for one in season.settings.growers if one.mail)
    return frozenset((*correspondents(season), *growers))


def _read(path: Path, known: frozenset[str]) -> Waiting | Problem:
    """Read a draft as it lies there, perhaps mended by a person; only listed people get it."""
    mime = message_from_bytes(path.read_bytes(), policy=compat32)
    place = Place(file=path.name)
    recipient = address(raw_heads(mime, "To"))
    others = [name for name in ("Cc", "Bcc", "Resent-To") if mime.get(name) is not None]
    if recipient is None or recipient not in known or others:
        return problem("mail-recipient-unknown", place, typed=head(mime, "To")[:80] or "-")
    return Waiting(
        path=path,
        recipient=recipient,
        message_id=head(mime, "Message-ID"),
        data=_on_the_wire(mime),
    )


def _on_the_wire(mime: Mime) -> bytes:
    """Write a message as it is sent: without the mark of a draft, with the line ends of mail."""
    del mime[_FOR_DRAFTS_ONLY]
    out = BytesIO()
    BytesGenerator(out, mangle_from_=False, policy=_WIRE).flatten(mime)
    return out.getvalue()


def claim(folder: SeasonFolder, one: Waiting, *, now: datetime) -> bool:
    """Keep for good that a draft is being sent; say no where another computer was faster."""
    with writing(folder) as ledger, ledger.turn():
        state = mail_book(ledger).deliveries.get(one.path.name)
        if state in (Delivery.SENDING, Delivery.SENT):
            return False
        _keep(ledger, one, Delivery.SENDING, now)
        return True


def note(folder: SeasonFolder, one: Waiting, state: Delivery, *, now: datetime) -> None:
    """Keep for good where a draft stands."""
    with writing(folder) as ledger, ledger.turn():
        _keep(ledger, one, state, now)


def _keep(ledger: Ledger, one: Waiting, state: Delivery, now: datetime) -> None:
    event = DeliveryEvent(
        sequence=ledger.next_sequence(),
        received=utc_text(now),
        tool=__version__,
        state=state,
        message_id=one.message_id,
        draft=one.path.name,
        recipient=one.recipient,
        sha256=digest(one.data),
    )
    write_event(ledger.folder, event)
    ledger.follow()


def put_away(folder: SeasonFolder, path: Path) -> None:
    """Move a draft that was sent out of the way."""
    folder.sent.mkdir(parents=True, exist_ok=True)
    path.replace(folder.sent / path.name)


def release(season: Season, name: str, *, now: datetime) -> Problem | None:
    """Let a draft in doubt be sent again, since a person says so; say why that cannot be."""
    path = season.folder.outbox / Path(name).name
    with Ledger(season.folder) as ledger:
        state = mail_book(ledger).deliveries.get(path.name)
    if not path.is_file() or state is not Delivery.SENDING:
        return problem("mail-no-doubt", name=path.name)
    found = _read(path, _addresses(season))
    if isinstance(found, Problem):
        return found
    note(season.folder, found, Delivery.RELEASED, now=now)
    return None
