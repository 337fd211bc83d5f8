"""What ends a run of mail: a server or a folder that refuses, as a problem for the command."""

import re

from fieldbook.problems import Param, Problem, problem
from fieldbook.words import one_line

_MOST_LETTERS = 160
_QUOTED_BYTES = re.compile(r"\bb'([^']*)'")


class MailRefusal(Exception):  # noqa: N818  (carries a problem to the command, like the guard's)
    """Ends a run; carries the problem that the caller gets. What was handled stays handled."""

    def __init__(self, why: Problem) -> None:
        super().__init__(why.code)
        self.why = why


def refusal(code: str, **params: Param) -> MailRefusal:
    """Make a refusal; KeyError for a code that the catalogue does not have."""
    return MailRefusal(problem(code, **params))


def told(said: object, *secrets: str | None) -> str:
    """Return what a server said: on one line, short, and without any secret that it repeats."""
    text = said.decode("utf-8", "replace") if isinstance(said, bytes) else str(said)
    for secret in secrets:
        if secret:
            text = text.replace(secret, "***")
    plain = _QUOTED_BYTES.sub(r"\1", text)
    return " ".join(one_line(plain).split())[:_MOST_LETTERS] or "nothing"
