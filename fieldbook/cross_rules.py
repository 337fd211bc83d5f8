"""The row rules that hold cells of one row against each other.

With those of one cell, in `rules`, they are the closed set.
"""

from dataclasses import dataclass, replace
from typing import Self

from fieldbook.problems import Param
from fieldbook.rules import Cells, Values


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
