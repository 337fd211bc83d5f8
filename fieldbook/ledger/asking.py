"""Questions to a ledger as SQL that a file and a database both understand.

Who judges a book asks few questions, and loading SQLAlchemy takes longer than all of them: so they
are texts, asked over whatever connection is at hand. A text names its values, as in `:book_id`; a
list of values is asked for as `IN :visit_ids`.
"""

import re
from collections.abc import Collection, Mapping
from datetime import date
from typing import Any, Protocol

Row = Mapping[str, Any]
_NAMED_LIST = re.compile(r"IN :(\w+)")


class Ask(Protocol):
    """Ask a ledger in SQL; its answer is rows by the names of their columns."""

    def __call__(self, sql: str, /, **values: Any) -> list[Row]:
        """Return the rows that the text asks for."""


def spelled(sql: str, values: Mapping[str, Any]) -> tuple[str, dict[str, Any]]:
    """Give every value of a list a name of its own; no connection takes a list as it is."""
    known = dict(values)

    def named(found: re.Match[str]) -> str:
        listed: Collection[Any] = known.pop(found[1])
        each = {f"{found[1]}_{at}": value for at, value in enumerate(listed)}
        known.update(each)
        return f"IN ({', '.join(f':{name}' for name in each) or 'NULL'})"

    return _NAMED_LIST.sub(named, sql), known


def as_day(value: date | str) -> date:
    """Read a day as an answer has it: a file knows no days and keeps them as text."""
    return date.fromisoformat(value) if isinstance(value, str) else value
