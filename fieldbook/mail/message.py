"""One message, parsed: who sent it, how to know it again, and the spreadsheets in it."""

import hashlib
from dataclasses import dataclass, replace
from email import message_from_bytes
from email.message import Message as Mime

from fieldbook.mail.attachments import Attachment, attachments
from fieldbook.mail.heads import address, automatic, head, message_ids, raw_heads, readable
from fieldbook.problems import Problem, problem

MAX_MESSAGE_BYTES = 60_000_000
MAX_HEAD_BYTES = 256_000
_MOST_SUBJECT = 150
_MOST_RESULTS = 20


@dataclass(frozen=True, kw_only=True)
class RawMessage:
    """A message as it lies in its place; ``is_cut`` where it is too large and only begins here."""

    data: bytes
    is_cut: bool = False


@dataclass(frozen=True, kw_only=True)
class Message:
    """A message as far as it concerns us.

    ``sender`` is None where the message does not say clearly who sent it. ``automatic`` names the
    head that says that a machine wrote it. ``results`` are the heads Authentication-Results that
    stand together at the top, ``books`` all spreadsheets, ``others`` names of what was not opened.
    """

    digest: str
    message_id: str = ""
    references: tuple[str, ...] = ()
    sender: str | None = None
    subject: str = ""
    automatic: str | None = None
    results: tuple[str, ...] = ()
    books: tuple[Attachment, ...] = ()
    others: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()

    def key(self, authenticated: str) -> str:
        """Return what knows the message again: its id, sender and attachments, not its way here.

        Without an id it is the whole message. The verdict on the sender stands in it, so that a
        forged copy that comes first does not hide the real one.
        """
        parts = [self.message_id or self.digest, self.sender or "", authenticated]
        hashes = sorted(book.sha256 for book in self.books)
        return hashlib.sha256("\n".join([*parts, *hashes]).encode()).hexdigest()


def read_message(raw: RawMessage) -> Message:
    """Parse a message; run it in a worker, since a message can be made to break a parser."""
    digest = hashlib.sha256(raw.data).hexdigest()
    if len(_head_of(raw.data)) > MAX_HEAD_BYTES:
        return unreadable(raw, "its head is longer than any mail program writes")
    mime = message_from_bytes(_head_of(raw.data) if raw.is_cut else raw.data)
    message = _from_heads(mime, digest)
    if raw.is_cut:
        limit_mb = MAX_MESSAGE_BYTES // 1_000_000
        return replace(message, problems=(problem("mail-too-large", limit_mb=limit_mb),))
    found = attachments(mime)
    return replace(message, books=found.books, others=found.others, problems=found.problems)


def unreadable(raw: RawMessage, detail: str) -> Message:
    """Return what is left of a message that cannot be parsed."""
    digest = hashlib.sha256(raw.data).hexdigest()
    return Message(digest=digest, problems=(problem("mail-unreadable", detail=detail),))


def _head_of(data: bytes) -> bytes:
    ends = [at for mark in (b"\r\n\r\n", b"\n\n") if (at := data.find(mark)) >= 0]
    return data[: min(ends, default=len(data))]


def _from_heads(mime: Mime, digest: str) -> Message:
    ids = message_ids(head(mime, "Message-ID"))
    earlier = (*message_ids(head(mime, "References")), *message_ids(head(mime, "In-Reply-To")))
    return Message(
        digest=digest,
        message_id=ids[0] if ids else "",
        references=tuple(dict.fromkeys(earlier)),
        sender=address(raw_heads(mime, "From")),
        subject=readable(head(mime, "Subject"))[:_MOST_SUBJECT],
        automatic=automatic(mime),
        results=_results(mime),
    )


def _results(mime: Mime) -> tuple[str, ...]:
    """Return the topmost run of adjacent heads Authentication-Results.

    Each server that a message passes puts its heads on top; a sender can only forge lower ones.
    """
    found: list[str] = []
    for name, value in mime.items():
        if name.lower() == "authentication-results":
            found.append(" ".join(str(value).split()))
        elif found and name.lower() in ("received", "from"):
            break
    return tuple(found[:_MOST_RESULTS])
