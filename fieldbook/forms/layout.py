"""One sheet as one form uses it: its columns in the order the hands work, and its rules."""

from dataclasses import dataclass
from functools import cached_property

from fieldbook.rules import NeedsAlso, NotTogether, OneOf, Range, Rule, SumAtMost, Typed
from fieldbook.schema import Column, Kind, Role, Sheet


@dataclass(frozen=True, kw_only=True)
class SheetForm:
    """One sheet as one form uses it: the keys, then these columns."""

    sheet: Sheet
    names: tuple[str, ...]

    @cached_property
    def columns(self) -> tuple[Column, ...]:
        """Keys first, then the chosen columns in the chosen order."""
        return (*self.sheet.keys, *(self.sheet.column(name) for name in self.names))

    @cached_property
    def entries(self) -> tuple[Column, ...]:
        """The columns that the scout fills."""
        return tuple(column for column in self.columns if column.role is Role.ENTRY)

    @cached_property
    def rules(self) -> tuple[Rule, ...]:
        """All row rules that this form can break, the plainest first."""
        return row_rules(self.sheet, frozenset(column.name for column in self.columns))


def row_rules(sheet: Sheet, names: frozenset[str]) -> tuple[Rule, ...]:
    """Return the rules that a sheet's declared columns and its own rules give.

    A rule that speaks of a column which the form leaves out is cut down to the columns it has,
    or dropped.
    """
    shown = [column for column in sheet.entries if column.name in names]
    typed = [rule for column in shown if (rule := _typed(column))]
    hard = [_limit(column, usual=False) for column in shown if column.limits]
    usual = [_limit(column, usual=True) for column in shown if _is_usual(column)]
    own = [rule for whole in sheet.rules if (rule := _within(whole, names))]
    late = [rule for rule in own if isinstance(rule, NeedsAlso)]
    first = [rule for rule in own if not isinstance(rule, NeedsAlso)]
    return (*typed, *hard, *first, *usual, *late)


def _within(rule: Rule, names: frozenset[str]) -> Rule | None:
    if isinstance(rule, SumAtMost | NotTogether):
        return rule.within(names)
    spoken = {getattr(rule, part, None) for part in ("column", "other", "needs")} - {None}
    return rule if spoken <= names else None


def _typed(column: Column) -> Rule | None:
    if column.is_number:
        return Typed(column=column.name, whole=column.kind is Kind.WHOLE)
    if column.choices:
        return OneOf(column=column.name)
    return None


def _is_usual(column: Column) -> bool:
    limits = column.limits
    return limits is not None and (limits.usual_least is not None or limits.usual_most is not None)


def _limit(column: Column, *, usual: bool) -> Range:
    limits = column.limits
    assert limits is not None
    if not usual:
        return Range(column=column.name, least=limits.least, most=limits.most, why=limits.why)
    return Range(
        column=column.name,
        least=limits.least if limits.usual_least is None else limits.usual_least,
        most=limits.most if limits.usual_most is None else limits.usual_most,
        why=limits.why,
        code="unusual",
    )
