"""One row: its parsed values and what its cells and its rules find."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

from fieldbook.check.cells import FORMULA, Parsed, Parser, parser, typed_text, written_day
from fieldbook.cross_rules import NeedsAlso, ProductAtMost, SumAtMost
from fieldbook.entries import Cell, EntryRow, RowCells, SheetEntries
from fieldbook.forms.layout import SheetForm
from fieldbook.problems import Param, Place, Problem, Weight, problem
from fieldbook.rules import Even, Rule
from fieldbook.units import System
from fieldbook.words import phrase

_EMPTY = Cell(value=None, ref="")


@dataclass(frozen=True, kw_only=True)
class Finding:
    """A problem, and the columns of its row whose readings are in doubt because of it."""

    problem: Problem
    marks: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Draft:
    """One row as parsed: values by column in stored units, and what was found in it.

    A row that is ``aside`` was filled, but nobody can tell whose it is: it is as if left empty.
    """

    form: SheetForm
    title: str
    number: int
    values: Mapping[str, Any]
    cells: RowCells
    findings: tuple[Finding, ...] = field(default=())
    is_aside: bool = False

    @cached_property
    def is_filled(self) -> bool:
        """Say whether the scout typed anything into the row."""
        return self.cells.is_filled(self.form.entry_names)

    def is_faulty(self, name: str) -> bool:
        """Say whether a cell is filled but could not be parsed."""
        return self.values.get(name) is None and not self.cells.get(name, _EMPTY).is_empty

    def is_doubted(self, name: str) -> bool:
        """Say whether something was found in the row that puts a cell in doubt."""
        return any(name in finding.marks for finding in self.findings)

    def has(self, *names: str) -> bool:
        """Say whether all these cells were parsed to a value."""
        return None not in map(self.values.get, names)

    def stands(self, *names: str) -> bool:
        """Say whether all these cells have a value that nothing in the row puts in doubt."""
        return self.has(*names) and not any(map(self.is_doubted, names))

    def place(self, name: str | None = None) -> Place:
        """Return where a cell of the row is, as the app shows it."""
        cell = self.cells.get(name) if name else None
        ref = cell.ref if cell else f"row {self.number}"
        return Place(sheet=self.title, cell=ref, column=name)

    def typed(self, name: str) -> str:
        """Return a cell as typed."""
        return typed_text(self.cells.get(name, _EMPTY).value)


def drafts_of(
    form: SheetForm,
    sheet: SheetEntries,
    units: System,
    language: str,
    *,
    year: int | None = None,
) -> tuple[Draft, ...]:
    """Parse every row of a sheet and run its row rules; `year` is the season's, if known."""
    parsers = {column.name: parser(column, units, language) for column in form.typed}
    return tuple(_draft(form, sheet.title, row, units, parsers, year) for row in sheet.rows)


def _draft(
    form: SheetForm,
    title: str,
    row: EntryRow,
    units: System,
    parsers: Mapping[str, Parser],
    year: int | None,
) -> Draft:
    values: dict[str, Any] = dict.fromkeys(parsers)
    faults: dict[str, Parsed] = {}
    for name, typed in row.cells.typed.items():
        if name in parsers:
            parsed = parsers[name](typed)
            values[name] = parsed.value
            if parsed.code:
                faults[name] = parsed
    for name in row.cells.marks:
        if name in parsers:
            values[name], faults[name] = None, FORMULA
    draft = Draft(form=form, title=title, number=row.number, values=values, cells=row.cells)
    if not faults and not form.breaks_a_rule(values, units):
        return draft
    found = (*_cell_findings(draft, faults, year), *_rule_findings(draft, units))
    return replace(draft, findings=found)


def _cell_findings(
    draft: Draft, faults: Mapping[str, Parsed], year: int | None
) -> Iterator[Finding]:
    for column in draft.form.typed:
        fault = faults.get(column.name)
        if fault is None or fault.code is None:
            continue
        example = _day_example(fault, year)
        more: dict[str, Param] = {"column": phrase(column.label), "example": example}
        params = {**more, **dict(fault.params)}
        found = problem(fault.code, draft.place(column.name), **params)
        marks = (column.name,) if found.weight is not Weight.NOTE else ()
        yield Finding(problem=found, marks=marks)


def _day_example(fault: Parsed, year: int | None) -> str:
    """Show how a day is typed: as it was, with the season's year, where only that lacks."""
    if fault.code == "date-without-year" and year is not None:
        whole = f"{dict(fault.params)['typed']} {year}"
        if written_day(whole):
            return whole
    return "2026-07-22"


def _rule_findings(draft: Draft, units: System) -> Iterator[Finding]:
    blamed: set[str] = set()
    for rule in draft.form.rules(units):
        if not rule.broken(draft.values) or blamed & {*rule.marks, getattr(rule, "other", "")}:
            continue
        if isinstance(rule, NeedsAlso) and draft.is_faulty(rule.needs):
            continue
        blamed |= set(rule.marks)
        marked = _pointed(rule)
        params = rule_params(rule, draft, units)
        yield Finding(problem=problem(rule.code, draft.place(marked), **params), marks=rule.marks)


def _pointed(rule: Rule) -> str:
    """Return the column to show a fault at: what is missing, or what was typed."""
    for part in ("needs", "column"):
        name = getattr(rule, part, None)
        if name:
            return str(name)
    return "kernels_set" if "kernels_set" in rule.marks else rule.marks[0]


def rule_params(rule: Rule, draft: Draft, units: System) -> dict[str, Param]:
    """Return what the message of a broken rule tells, numbers in shown units."""
    params: dict[str, Param] = {}
    for part in ("column", "other", "needs"):
        name = getattr(rule, part, None)
        if name:
            params[part] = phrase(draft.form.sheet.column(name).label)
    column = getattr(rule, "column", None)
    unit = draft.form.sheet.column(column).unit if column else None
    for name, value in rule.params().items():
        if unit and isinstance(value, float):
            params[name] = unit.shown_limit(value, units, is_least=name == "least")
        else:
            params[name] = value
    if column:
        params["typed"] = draft.typed(column)
    if params.get("why"):
        params["why"] = phrase(str(params["why"]))
    return params | _worked_out(rule, draft)


def _worked_out(rule: Rule, draft: Draft) -> dict[str, Param]:
    values = draft.values
    if isinstance(rule, Even):
        count = int(values[rule.column])
        return {"below": count - 1, "above": count + 1}
    if isinstance(rule, SumAtMost):
        return {"total": sum(values.get(name) or 0 for name in rule.columns)}
    if isinstance(rule, ProductAtMost):
        return {"total": values[rule.column] * values[rule.other]}
    return {}
