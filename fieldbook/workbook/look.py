"""The live Look column: in words what is wrong in a row, from the same rules as the checks."""

from collections.abc import Iterable, Mapping

from fieldbook.forms.answers import LOST, TRUE
from fieldbook.forms.layout import SheetForm
from fieldbook.problems import Weight, catalogue
from fieldbook.rules import Rule, Values
from fieldbook.schema import Column
from fieldbook.units import System
from fieldbook.words import number_words, say
from fieldbook.workbook.grid import Grid, quoted

OK = "ok"
LEFT_OUT = "left out"


def look_formula(grid: Grid) -> str:
    """Return the formula that says what is wrong in any row, "ok", or nothing for an empty one."""
    cells = grid.cells
    filled = ",".join(cells.ref(column.name) for column in grid.form.entries)
    said = quoted(say(OK, grid.language))
    rules = grid.form.rules(grid.units)
    faults = [_condition(grid, rule) for rule in rules]
    for rule, condition in zip(reversed(rules), reversed(faults), strict=True):
        words = quoted(look_words(rule, grid.form, grid.language, grid.units))
        said = f"IF({condition},{words},{said})"
    if grid.has("answer") and faults:
        lost = f"{cells.ref('answer')}={cells.label('answer', LOST.key)}"
        left_out = quoted(say(LEFT_OUT, grid.language))
        said = f"IF(AND({lost},OR({','.join(faults)})),{left_out},{said})"
    return f'=IF(COUNTA({filled})=0,"",{said})'


def faults_formula(grid: Grid, names: Iterable[str]) -> str:
    """Return the condition that is TRUE while a row's reading of one of these is in doubt."""
    wanted = set(names)
    doubts = [
        _condition(grid, rule) for rule in grid.form.rules(grid.units) if wanted & set(rule.marks)
    ]
    return f"OR({','.join(doubts)})" if doubts else "FALSE"


def _condition(grid: Grid, rule: Rule) -> str:
    cells = grid.cells
    broken = rule.formula(cells)
    if catalogue()[rule.code].weight is not Weight.ASK or not grid.has("answer"):
        return broken
    return f"AND({broken},{cells.ref('answer')}<>{cells.label('answer', TRUE.key)})"


def look_text(form: SheetForm, values: Values, language: str, units: System) -> str:
    """Return in Python what the Look formula shows for a row of parsed values."""
    if not any(values.get(column.name) is not None for column in form.entries):
        return ""
    broken = [rule for rule in form.rules(units) if _stands(rule, values)]
    if broken and values.get("answer") == LOST.key:
        return say(LEFT_OUT, language)
    return look_words(broken[0], form, language, units) if broken else say(OK, language)


def _stands(rule: Rule, values: Values) -> bool:
    confirmed = values.get("answer") == TRUE.key
    asks = catalogue()[rule.code].weight is Weight.ASK
    return rule.broken(values) and not (asks and confirmed)


def look_words(rule: Rule, form: SheetForm, language: str, units: System) -> str:
    """Return the few words of a broken rule, with labels and shown units."""
    params = {**_labels(rule, form, language), **_limits(rule, form, units)}
    code = "not-a-number" if _is_plain_number(rule) else rule.code
    return say(catalogue()[code].look, language, **params)


def _is_plain_number(rule: Rule) -> bool:
    return rule.code == "not-whole" and not getattr(rule, "whole", True)


def _labels(rule: Rule, form: SheetForm, language: str) -> Mapping[str, str]:
    spoken = {part: getattr(rule, part, None) for part in ("column", "other", "needs")}
    return {
        part: say(form.sheet.column(name).label, language) for part, name in spoken.items() if name
    }


def _limits(rule: Rule, form: SheetForm, units: System) -> Mapping[str, str]:
    column = _limited(rule, form)
    return {
        name: number_words(
            column.unit.shown_limit(value, units, is_least=name == "least") if column else value
        )
        for name, value in rule.params().items()
        if isinstance(value, float)
    }


def _limited(rule: Rule, form: SheetForm) -> Column | None:
    name = getattr(rule, "column", None)
    return form.sheet.column(name) if name else None
