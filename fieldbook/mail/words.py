"""What became of mail, in lines for a terminal or a log."""

from collections.abc import Iterator

from fieldbook.ledger.mail_events import Ending
from fieldbook.mail.authentication import Genuine
from fieldbook.mail.intake import Handled
from fieldbook.mail.send import Sent
from fieldbook.problems import Problem
from fieldbook.words import say

_ENDINGS = {
    Ending.TAKEN: "taken in",
    Ending.ASIDE: "set aside",
    Ending.PASSED: "passed by",
}
_GENUINE = {
    Genuine.PASS: "sender confirmed by the mail server",
    Genuine.FAIL: "sender not believed by the mail server",
    Genuine.NONE: "the mail server says nothing of the sender",
}


def handled_line(found: Handled, language: str) -> str:
    """Say in one line who sent a message, what became of it, and where its answer lies."""
    who = found.sender or found.label
    parts = [_what(found, language)]
    if found.authenticated in _GENUINE:
        parts.append(say(_GENUINE[found.authenticated], language))
    if found.answer is not None:
        parts.append(say("answer in {path}", language, path=found.answer))
    return f'{who} "{found.subject}": {"; ".join(parts)}'


def _what(found: Handled, language: str) -> str:
    visits = [visit_id for one in found.taken for visit_id in one.visits]
    words = say(_ENDINGS[found.ending], language)
    return f"{words}: {', '.join(visits)}" if visits else words


def handled_problems(found: Handled) -> Iterator[Problem]:
    """Yield everything to look at of a message and of its books."""
    yield from found.problems
    for one in found.taken:
        yield from one.open_problems


def sent_line(sent: Sent, language: str) -> str:
    """Say what became of a draft."""
    if sent.problem is not None:
        return say("{name}: not sent", language, name=sent.name)
    return say("{name}: sent to {who}", language, name=sent.name, who=sent.recipient)
