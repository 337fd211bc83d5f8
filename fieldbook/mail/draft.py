"""A message of ours as a draft: an .eml file that any mail program opens, and `--send` sends.

Every head is either ours or was held against a strict pattern; what people wrote stands in the
body and the subject alone, on one line each.
"""

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime
from pathlib import Path

from fieldbook.words import one_line, plain_text

_NOWHERE = "season.invalid"
_OWN_ID = "silkbook."
_TYPES = {
    ".pdf": ("application", "pdf"),
    ".xlsx": ("application", "vnd.openxmlformats-officedocument.spreadsheetml.sheet"),
}


@dataclass(frozen=True, kw_only=True)
class Letter:
    """What a message of ours says, to whom, and in answer to what.

    ``about`` is what its id is made of: the same content gets the same id each time. A letter in
    ``answers_to`` another carries the mark of an answer that a program wrote.
    """

    recipient: str
    subject: str
    text: str
    about: str
    attachments: tuple[Path, ...] = ()
    answers_to: str = ""
    references: tuple[str, ...] = ()
    is_answer: bool = False


def draft(letter: Letter, *, sender: str | None, now: datetime) -> bytes:
    """Write a letter as the bytes of an .eml file."""
    message = EmailMessage(policy=SMTP)
    if sender is not None:
        message["From"] = sender
    message["To"] = letter.recipient
    message["Subject"] = one_line(letter.subject)
    message["Date"] = format_datetime(now)
    if letter.is_answer:
        message["Auto-Submitted"] = "auto-replied"
    message["X-Unsent"] = "1"
    message.set_content(plain_text(letter.text))
    for path in letter.attachments:
        maintype, subtype = _TYPES[path.suffix]
        message.add_attachment(
            path.read_bytes(), maintype=maintype, subtype=subtype, filename=path.name
        )
    return _ids(letter, sender) + message.as_bytes()


def _ids(letter: Letter, sender: str | None) -> bytes:
    """Write the heads that hold ids; the library would fold long ones in two."""
    heads = [f"Message-ID: {letter_id(letter.about, sender)}"]
    if letter.answers_to:
        chain = dict.fromkeys((*letter.references, letter.answers_to))
        heads += [f"In-Reply-To: {letter.answers_to}", "References: " + "\r\n ".join(chain)]
    return "".join(f"{head}\r\n" for head in heads).encode("ascii")


def letter_id(about: str, sender: str | None) -> str:
    """Return the id of a letter, made of what it is about."""
    own = hashlib.sha256(about.encode("utf-8")).hexdigest()[:40]
    domain = (sender or "").rpartition("@")[2]
    return f"<{_OWN_ID}{own}@{domain if domain and domain.isascii() else _NOWHERE}>"


def is_own(message_ids: Iterable[str]) -> bool:
    """Say whether a message answers one of ours."""
    return any(one.startswith(f"<{_OWN_ID}") for one in message_ids)


def replied(subject: str) -> str:
    """Return the subject of an answer."""
    plain = subject
    while plain[:3].lower() == "re:":
        plain = plain[3:].lstrip()
    return f"Re: {plain}".rstrip()
