"""One sheet as one form uses it: its columns in the order the hands work, and its rules."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property, lru_cache, partial
from typing import Any

from fieldbook.cross_rules import NeedsAlso, SumAtMost, WithChoice
from fieldbook.rules import OfOneCell, OnADay, OneOf, Range, Rule, Typed, Values
from fieldbook.schema import Column, Kind, Limits, Role, Sheet
from fieldbook.units import System

_VALUES_KEPT = 4096
_BreaksAlone = Callable[[Any], bool]


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
    def entry_order(self) -> tuple[str, ...]:
        """The names of those columns, in their order."""
        return tuple(column.name for column in self.entries)

    @cached_property
    def entry_names(self) -> frozenset[str]:
        """The names of those columns."""
        return frozenset(self.entry_order)

    @cached_property
    def numbers(self) -> tuple[str, ...]:
        """The names of those that hold numbers, in their order."""
        return tuple(column.name for column in self.entries if column.is_number)

    @cached_property
    def typed(self) -> tuple[Column, ...]:
        """The columns that are read as values: the keys and the scout's."""
        return tuple(column for column in self.columns if column.role is not Role.PRINTED)

    def rules(self, units: System) -> tuple[Rule, ...]:
        """Return all row rules that a book of this form can break, the plainest first."""
        return self._rules[units]

    def breaks_a_rule(self, values: Values, units: System) -> bool:
        """Say whether a row's parsed values break any of the rules.

        Rows repeat their values, so what a value alone breaks is remembered.
        """
        alone, across = self._split_rules[units]
        for name, value in values.items():
            if value is not None and name in alone and alone[name](value):
                return True
        return any(rule.broken(values) for rule in across)

    @cached_property
    def _split_rules(self) -> dict[System, tuple[dict[str, _BreaksAlone], tuple[Rule, ...]]]:
        return {units: _split(rules) for units, rules in self._rules.items()}

    @cached_property
    def _rules(self) -> dict[System, tuple[Rule, ...]]:
        names = frozenset(column.name for column in self.columns)
        return {units: row_rules(self.sheet, names, units) for units in System}


def _split(rules: Iterable[Rule]) -> tuple[dict[str, _BreaksAlone], tuple[Rule, ...]]:
    """Part the rules of one cell, by their column, from those that hold cells against each other.

    What is equal but of another type breaks the same rules.
    """
    alone: dict[str, list[Rule]] = {}
    across = []
    for rule in rules:
        if isinstance(rule, OfOneCell):
            alone.setdefault(rule.column, []).append(rule)
        else:
            across.append(rule)
    return {name: _remembering(name, some) for name, some in alone.items()}, tuple(across)


def _remembering(name: str, rules: Iterable[Rule]) -> _BreaksAlone:
    return lru_cache(maxsize=_VALUES_KEPT)(partial(_is_broken, rules, name))


def _is_broken(rules: Iterable[Rule], name: str, value: Any) -> bool:
    return any(rule.broken({name: value}) for rule in rules)


def row_rules(sheet: Sheet, names: frozenset[str], units: System) -> tuple[Rule, ...]:
    """Return the rules that a sheet's declared columns and its own rules give.

    A rule that speaks of a column which the form leaves out is cut down to the columns it has,
    or dropped.
    """
    shown = [column for column in sheet.entries if column.name in names]
    typed = [rule for column in shown if (rule := _typed(column))]
    limits = {column.name: column.limits_in(units) for column in shown}
    known = {name: limit for name, limit in limits.items() if limit}
    hard = [_hard(name, limit) for name, limit in known.items()]
    usual = [_usual(name, limit) for name, limit in known.items() if _is_usual(limit)]
    own = [rule for whole in sheet.rules if (rule := _within(whole, names))]
    late = [rule for rule in own if isinstance(rule, NeedsAlso)]
    first = [rule for rule in own if not isinstance(rule, NeedsAlso)]
    return (*typed, *hard, *first, *usual, *late)


def _within(rule: Rule, names: frozenset[str]) -> Rule | None:
    if isinstance(rule, SumAtMost | WithChoice):
        return rule.within(names)
    spoken = {getattr(rule, part, None) for part in ("column", "other", "needs")} - {None}
    return rule if spoken <= names else None


def _typed(column: Column) -> Rule | None:
    if column.is_number:
        return Typed(column=column.name, whole=column.kind is Kind.WHOLE)
    if column.kind is Kind.DAY:
        return OnADay(column=column.name)
    if column.choices:
        return OneOf(column=column.name)
    return None


def _is_usual(limits: Limits) -> bool:
    return limits.usual_least is not None or limits.usual_most is not None


def _hard(name: str, limits: Limits) -> Range:
    return Range(column=name, least=limits.least, most=limits.most, why=limits.why)


def _usual(name: str, limits: Limits) -> Range:
    return Range(
        column=name,
        least=limits.least if limits.usual_least is None else limits.usual_least,
        most=limits.most if limits.usual_most is None else limits.usual_most,
        why=limits.why,
        code="unusual",
    )
