"""The closed set of row rules: each says in Python and as a formula when a row is at fault.

A rule knows columns by name. `broken` looks at parsed values in stored units; `formula` gives the
spreadsheet condition that is TRUE in the same case, with cells and limits as shown in the book.
There is no expression language: what these cannot say is a check in Python only. Here stand the
rules of one cell; `cross_rules` has those that hold cells of a row against each other.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Protocol

from fieldbook.problems import Param

Values = Mapping[str, Any]


class Cells(Protocol):
    """How a book being written names a row's cells."""

    def ref(self, name: str) -> str:
        """Return the cell of a column in the rule's row, for example ``E7``."""

    def shown(self, name: str, value: float) -> str:
        """Write a stored number as shown in that column."""

    def list_range(self, name: str) -> str:
        """Return the range that holds a column's list."""

    def label(self, name: str, choice: str) -> str:
        """Return a choice of a column as a quoted label."""


class Rule(Protocol):
    """What every row rule offers."""

    @property
    def code(self) -> str:
        """The catalogue code of the fault."""

    @property
    def marks(self) -> tuple[str, ...]:
        """The columns whose readings are in doubt while the rule is broken."""

    def broken(self, values: Values) -> bool:
        """Say whether parsed values break the rule."""

    def formula(self, cells: Cells) -> str:
        """Return the condition that is TRUE while typed cells break the rule."""

    def params(self) -> dict[str, Param]:
        """Return what the message needs beside the typed value, in stored units."""


@dataclass(frozen=True, kw_only=True)
class OfOneCell:
    """What the rules share that look at one cell; its message needs nothing but what was typed."""

    column: str

    @property
    def marks(self) -> tuple[str, ...]:
        """The one column."""
        return (self.column,)

    def params(self) -> dict[str, Param]:
        """Return nothing more."""
        return {}


@dataclass(frozen=True, kw_only=True)
class Typed(OfOneCell):
    """A cell holds a number, and a whole one where the column says so.

    The parser finds text by itself, so only fractions are left for `broken`.
    """

    whole: bool
    code: str = "not-whole"

    def broken(self, values: Values) -> bool:
        """Say whether a whole number has a fraction."""
        value = values.get(self.column)
        return self.whole and value is not None and value != int(value)

    def formula(self, cells: Cells) -> str:
        """Return TRUE for text, or for a fraction."""
        ref = cells.ref(self.column)
        if not self.whole:
            return f"ISTEXT({ref})"
        return f"IF(ISNUMBER({ref}),{ref}<>INT({ref}),ISTEXT({ref}))"


@dataclass(frozen=True, kw_only=True)
class OneOf(OfOneCell):
    """A cell holds a value of its list; the parser knows the list, so `broken` never fires."""

    code: str = "not-on-list"

    def broken(self, values: Values) -> bool:
        """Say no: a value that is not on the list was never parsed."""
        return False

    def formula(self, cells: Cells) -> str:
        """Return TRUE for a filled cell that is not on the list."""
        ref = cells.ref(self.column)
        return f'AND({ref}<>"",ISNA(MATCH({ref},{cells.list_range(self.column)},0)))'


@dataclass(frozen=True, kw_only=True)
class OnADay(OfOneCell):
    """A cell holds a date, which apps keep as a number; the parser finds text by itself."""

    code: str = "not-a-date"

    def broken(self, values: Values) -> bool:
        """Say no: a text that is no date was never parsed."""
        return False

    def formula(self, cells: Cells) -> str:
        """Return TRUE for text."""
        return f"ISTEXT({cells.ref(self.column)})"


@dataclass(frozen=True, kw_only=True)
class Range(OfOneCell):
    """A number lies within limits, ends included."""

    least: float
    most: float
    why: str
    code: str = "out-of-range"

    def broken(self, values: Values) -> bool:
        """Say whether the number lies outside."""
        value = values.get(self.column)
        if value is None:
            return False
        return not self.least - _slack(self.least) <= value <= self.most + _slack(self.most)

    def formula(self, cells: Cells) -> str:
        """Return TRUE for a number outside."""
        ref = cells.ref(self.column)
        low, high = cells.shown(self.column, self.least), cells.shown(self.column, self.most)
        return f"AND(ISNUMBER({ref}),OR({ref}<{low},{ref}>{high}))"

    def params(self) -> dict[str, Param]:
        """Return both limits and the reason."""
        return {"least": float(self.least), "most": float(self.most), "why": self.why}


def _slack(limit: float) -> float:
    """Return what a limit may move by when a book shows it rounded in another unit."""
    return 1e-5 * abs(limit)


@dataclass(frozen=True, kw_only=True)
class Even(OfOneCell):
    """A count is even."""

    code: str

    def broken(self, values: Values) -> bool:
        """Say whether the count is odd."""
        value = values.get(self.column)
        return value is not None and value % 2 == 1

    def formula(self, cells: Cells) -> str:
        """Return TRUE for an odd number."""
        ref = cells.ref(self.column)
        return f"IF(ISNUMBER({ref}),MOD({ref},2)=1,FALSE)"
