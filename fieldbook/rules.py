"""The closed set of row rules: each says in Python and as a formula when a row is at fault.

A rule knows columns by name. `broken` looks at parsed values in stored units; `formula` gives the
spreadsheet condition that is TRUE in the same case, with cells and limits as shown in the book.
There is no expression language: what these ten cannot say is a check in Python only.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Protocol, Self

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
class Typed:
    """A cell holds a number, and a whole one where the column says so.

    The parser finds text by itself, so only fractions are left for `broken`.
    """

    column: str
    whole: bool
    code: str = "not-whole"

    @property
    def marks(self) -> tuple[str, ...]:
        """The one column."""
        return (self.column,)

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

    def params(self) -> dict[str, Param]:
        """Return nothing more."""
        return {}


@dataclass(frozen=True, kw_only=True)
class OneOf:
    """A cell holds a value of its list; the parser knows the list, so `broken` never fires."""

    column: str
    code: str = "not-on-list"

    @property
    def marks(self) -> tuple[str, ...]:
        """The one column."""
        return (self.column,)

    def broken(self, values: Values) -> bool:
        """Say no: a value that is not on the list was never parsed."""
        return False

    def formula(self, cells: Cells) -> str:
        """Return TRUE for a filled cell that is not on the list."""
        ref = cells.ref(self.column)
        return f'AND({ref}<>"",ISNA(MATCH({ref},{cells.list_range(self.column)},0)))'

    def params(self) -> dict[str, Param]:
        """Return nothing more."""
        return {}


@dataclass(frozen=True, kw_only=True)
class OnADay:
    """A cell holds a date, which apps keep as a number; the parser finds text by itself."""

    column: str
    code: str = "not-a-date"

    @property
    def marks(self) -> tuple[str, ...]:
        """The one column."""
        return (self.column,)

    def broken(self, values: Values) -> bool:
        """Say no: a text that is no date was never parsed."""
        return False

    def formula(self, cells: Cells) -> str:
        """Return TRUE for text."""
        return f"ISTEXT({cells.ref(self.column)})"

    def params(self) -> dict[str, Param]:
        """Return nothing more."""
        return {}


@dataclass(frozen=True, kw_only=True)
class Range:
    """A number lies within limits, ends included."""

    column: str
    least: float
    most: float
    why: str
    code: str = "out-of-range"

    @property
    def marks(self) -> tuple[str, ...]:
        """The one column."""
        return (self.column,)

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
class Even:
    """A count is even."""

    column: str
    code: str

    @property
    def marks(self) -> tuple[str, ...]:
        """The one column."""
        return (self.column,)

    def broken(self, values: Values) -> bool:
        """Say whether the count is odd."""
        value = values.get(self.column)
        return value is not None and value % 2 == 1

    def formula(self, cells: Cells) -> str:
        """Return TRUE for an odd number."""
        ref = cells.ref(self.column)
        return f"IF(ISNUMBER({ref}),MOD({ref},2)=1,FALSE)"

    def params(self) -> dict[str, Param]:
        """Return nothing more."""
        return {}


@dataclass(frozen=True, kw_only=True)
class AtMost:
    """One number is at most `times` another."""

    column: str
    other: str
    code: str
    times: float = 1

    @property
    def marks(self) -> tuple[str, ...]:
        """The number that is too large."""
        return (self.column,)

    def broken(self, values: Values) -> bool:
        """Say whether it is larger."""
        value, other = values.get(self.column), values.get(self.other)
        return value is not None and other is not None and value > self.times * other

    def formula(self, cells: Cells) -> str:
        """Return TRUE where both are numbers and the first is larger."""
        ref, other = cells.ref(self.column), cells.ref(self.other)
        return f"IF(AND(ISNUMBER({ref}),ISNUMBER({other})),{ref}>{self.times:g}*{other},FALSE)"

    def params(self) -> dict[str, Param]:
        """Return nothing more."""
        return {}


@dataclass(frozen=True, kw_only=True)
class SumAtMost:
    """Counts together are at most a number."""

    columns: tuple[str, ...]
    most: float
    code: str

    def within(self, names: frozenset[str]) -> Self | None:
        """Return the rule over the columns that a form has; None where only one is left."""
        kept = tuple(name for name in self.columns if name in names)
        return replace(self, columns=kept) if len(kept) > 1 else None

    @property
    def marks(self) -> tuple[str, ...]:
        """All the parts: nobody can know which one is wrong."""
        return self.columns

    def broken(self, values: Values) -> bool:
        """Say whether the sum is larger."""
        return sum(values.get(name) or 0 for name in self.columns) > self.most

    def formula(self, cells: Cells) -> str:
        """Return TRUE where the sum of the typed numbers is larger."""
        refs = ",".join(cells.ref(name) for name in self.columns)
        return f"SUM({refs})>{self.most:g}"

    def params(self) -> dict[str, Param]:
        """Return the limit."""
        return {"most": float(self.most)}


@dataclass(frozen=True, kw_only=True)
class ProductAtMost:
    """Two counts multiplied are at most a number."""

    column: str
    other: str
    most: float
    code: str

    @property
    def marks(self) -> tuple[str, ...]:
        """Both factors."""
        return (self.column, self.other)

    def broken(self, values: Values) -> bool:
        """Say whether the product is larger."""
        value, other = values.get(self.column), values.get(self.other)
        return value is not None and other is not None and value * other > self.most

    def formula(self, cells: Cells) -> str:
        """Return TRUE where both are numbers and their product is larger."""
        ref, other = cells.ref(self.column), cells.ref(self.other)
        return f"IF(AND(ISNUMBER({ref}),ISNUMBER({other})),{ref}*{other}>{self.most:g},FALSE)"

    def params(self) -> dict[str, Param]:
        """Return the limit."""
        return {"most": float(self.most)}


@dataclass(frozen=True, kw_only=True)
class NeedsAlso:
    """Where one cell is filled, another must be filled as well."""

    column: str
    needs: str
    code: str = "part-missing"

    @property
    def marks(self) -> tuple[str, ...]:
        """No reading is wrong; one is not there yet."""
        return ()

    def broken(self, values: Values) -> bool:
        """Say whether the second is missing."""
        return values.get(self.column) is not None and values.get(self.needs) is None

    def formula(self, cells: Cells) -> str:
        """Return TRUE where the first is filled and the second is empty."""
        return f'AND({cells.ref(self.column)}<>"",{cells.ref(self.needs)}="")'

    def params(self) -> dict[str, Param]:
        """Return nothing more."""
        return {}


@dataclass(frozen=True, kw_only=True)
class WithChoice:
    """What the two rules share that hold other cells against a tick or a choice."""

    column: str
    choice: str
    others: tuple[str, ...]
    code: str

    def within(self, names: frozenset[str]) -> Self | None:
        """Return the rule over the columns that a form has; None where none is left."""
        kept = tuple(name for name in self.others if name in names)
        return replace(self, others=kept) if kept and self.column in names else None

    @property
    def marks(self) -> tuple[str, ...]:
        """The tick and the numbers against it."""
        return (self.column, *self.others)

    def is_chosen(self, values: Values) -> bool:
        """Say whether the choice is made."""
        return bool(values.get(self.column) == self.choice)

    def chosen(self, cells: Cells) -> str:
        """Return the condition that is TRUE where the choice is made."""
        return f"{cells.ref(self.column)}={cells.label(self.column, self.choice)}"

    def refs(self, cells: Cells) -> str:
        """Name the other cells."""
        return ",".join(cells.ref(name) for name in self.others)


@dataclass(frozen=True, kw_only=True)
class NotTogether(WithChoice):
    """A tick or a choice rules out positive numbers in other cells."""

    def broken(self, values: Values) -> bool:
        """Say whether the choice is made and a number is above zero."""
        return self.is_chosen(values) and any((values.get(name) or 0) > 0 for name in self.others)

    def formula(self, cells: Cells) -> str:
        """Return TRUE where the choice is made and the numbers add up to more than zero."""
        return f"AND({self.chosen(cells)},SUM({self.refs(cells)})>0)"

    def params(self) -> dict[str, Param]:
        """Return nothing more."""
        return {}


@dataclass(frozen=True, kw_only=True)
class AtLeastWith(WithChoice):
    """A tick or a choice asks that typed numbers in other cells are at least a number."""

    least: float

    def broken(self, values: Values) -> bool:
        """Say whether the choice is made and a typed number is smaller."""
        typed = (values.get(name) for name in self.others)
        too_small = (value is not None and value < self.least for value in typed)
        return self.is_chosen(values) and any(too_small)

    def formula(self, cells: Cells) -> str:
        """Return TRUE where the choice is made and the smallest typed number is too small."""
        refs, least = self.refs(cells), cells.shown(self.others[0], self.least)
        return f"AND({self.chosen(cells)},COUNT({refs})>0,MIN({refs})<{least})"

    def params(self) -> dict[str, Param]:
        """Return the least."""
        return {"least": float(self.least)}
