"""The Start sheet: how to, today's fields with links, live progress and live figures."""

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from fieldbook.forms.rounds import Form, Round
from fieldbook.units import AREA, PERCENT, YIELD, System
from fieldbook.words import Phrase, phrase, say
from fieldbook.workbook import live
from fieldbook.workbook.data_sheet import Line
from fieldbook.workbook.grid import FIRST_ROW, Grid
from fieldbook.workbook.paper import Paper, must
from fieldbook.workbook.plan import BookPlan, VisitPlan

_TABLE_ROW = 13
_FIRST_WIDTH = 9
_SAFETY = (
    "Before you walk in: may the field be entered? Not sure: call the grower. "
    "If a plane or sprayer comes, leave.",
    "Tell somebody where you walk and when you will be back. Mind heat and lightning; "
    "cut away from your hand.",
)
_MEND = "1. Mend the cells that are listed below; each link leads to its cell, the rest stays."
_WALK = "1. Fill Fields first, then each stop, then its ears. The links lead there and back."
_LOOK_ONLY = "1. Fill one row a field; look at 20 plants that you can reach."
_LOADS = "1. Fill Fields first, then Harvest: one row a scale ticket, or the sum of several."
_TICKETS = (
    "Have the scale tickets at hand, sorted by field.",
    "Type weight and moisture as printed: wet, before any shrink.",
)
_EMPTY = "2. Empty means not looked at. Looked and found none: type 0, or pick Yes where a tick is."
_SPARE = "2. Leave rows that you do not need empty."
_HOW = (
    "3. The Look column says what does not fit. Unusual but true: say so under Sure?",
    "4. Save under any name and send the file back. Half done is fine; send it again later.",
)


_FIRST = {"stops": _WALK, "harvest": _LOADS}


@dataclass(frozen=True, kw_only=True)
class _Column:
    """One live column of the table of fields: its head and the formula of a field's cell."""

    label: Phrase
    unit: str
    width: int
    style: str
    formula: Callable[[VisitPlan, str], str]


def write_start(
    paper: Paper,
    sheet: Any,
    plan: BookPlan,
    round_: Round,
    grids: Mapping[str, Grid],
    lines: Mapping[str, tuple[Line, ...]],
) -> None:
    """Write the first sheet."""
    language = plan.identity.language
    form = "full form" if plan.identity.full else "quick form"
    text = "{round}, to mend: {season}" if plan.identity.revises else "{round}: {season}"
    label = say(round_.label, language)
    heading = say(text, language, round=label, season=plan.season_name)
    paper.text(sheet, 0, 0, heading, "title")
    must(sheet.set_row(0, 30))
    who = say("Scout: {scout}", language, scout=plan.identity.scout)
    paper.text(sheet, 1, 0, f"{who}    {say(form, language)}", "bold")
    book = say("Book {book}", language, book=plan.identity.book_id)
    paper.text(sheet, 2, 0, book, "hint")
    for at, how in enumerate(_how_to(grids, is_correction=bool(plan.asked))):
        paper.text(sheet, 4 + at, 0, say(how, language))
        must(sheet.set_row(4 + at, 20))
    columns = list(_live_columns(plan, round_.form(full=plan.identity.full), grids))
    _heads(paper, sheet, plan, columns)
    for index, visit in enumerate(plan.visits):
        _field_line(paper, sheet, plan, grids, columns, index, visit)
    if plan.asked:
        _questions(paper, sheet, plan, grids, lines)


def _how_to(grids: Collection[str], *, is_correction: bool) -> tuple[str, ...]:
    """Say how to fill the book; scale tickets are typed at a table, not in a field."""
    first = next((words for name, words in _FIRST.items() if name in grids), _LOOK_ONLY)
    if is_correction:
        first = _MEND
    if "harvest" in grids:
        return (*_TICKETS, first, _SPARE, *_HOW)
    return (*_SAFETY, first, _EMPTY, *_HOW)


def _questions(
    paper: Paper,
    sheet: Any,
    plan: BookPlan,
    grids: Mapping[str, Grid],
    lines: Mapping[str, tuple[Line, ...]],
) -> None:
    """List what is asked, each with a link to its cell."""
    language, top = plan.identity.language, _TABLE_ROW + len(plan.visits) + 2
    how = "Please mend these cells. True as it stands, or nothing left to count: say so under Sure?"
    paper.text(sheet, top - 1, 0, say(how, language), "bold")
    widest = _FIRST_WIDTH
    for at, ((name, key, column), question) in enumerate(plan.asked.items()):
        grid = grids[name]
        row = next(index for index, line in enumerate(lines[name]) if line.key == key)
        cell = f"{grid.letter(column)}{FIRST_ROW + row + 1}"
        where = f"{grid.title} {cell}"
        must(sheet.set_row(top + at, 20))
        paper.link(sheet, top + at, 0, f"'{grid.title}'!{cell}", where, "link")
        paper.text(sheet, top + at, 1, question)
        widest = max(widest, len(where) + 2)
    must(sheet.set_column(0, 0, widest))  # the sentence beside a link would cut it off


def _live_columns(plan: BookPlan, form: Form, grids: Mapping[str, Grid]) -> Iterator[_Column]:
    """Give progress on every sheet with numbered rows, then what the form lets us work out."""
    for grid in grids.values():
        if len(grid.form.sheet.keys) > 1 and not grid.form.sheet.pictures:
            yield _progress(grid)
    if live.gives_yield(form):
        tenth = "live-tenth-first" if plan.units is System.METRIC else "live-first"
        yield _figure(
            phrase("Yield"),
            YIELD.label(plan.units),
            grids["stops"],
            live.field_yield_formula,
            tenth,
        )
    if form.has("stops", "silked"):
        yield _figure(phrase("Silked"), PERCENT.us, grids["stops"], live.silked_formula)
    if form.has("stalks", "tried", "failed"):
        yield _figure(phrase("Stalks failed"), PERCENT.us, grids["stalks"], live.failed_formula)

    def questions(_: VisitPlan, cell: str) -> str:
        return live.questions_formula(grids, cell)

    label = phrase("Rows to look at")
    yield _Column(label=label, unit="", width=16, style="live-first", formula=questions)


def _progress(grid: Grid) -> _Column:
    sheet = grid.form.sheet

    def formula(visit: VisitPlan, cell: str) -> str:
        planned = len(list(sheet.planned_rows(visit.slip.rows)))
        return live.progress_formula(grid, cell, planned)

    label = phrase("{sheet} done", sheet=phrase(sheet.label))
    return _Column(label=label, unit="", width=12, style="live-first", formula=formula)


def _figure(
    label: Phrase,
    unit: str,
    grid: Grid,
    formula: Callable[[Grid, str], str],
    style: str = "live-first",
) -> _Column:
    def here(_: VisitPlan, cell: str) -> str:
        return formula(grid, cell)

    return _Column(label=label, unit=unit, width=12, style=style, formula=here)


def _heads(paper: Paper, sheet: Any, plan: BookPlan, columns: list[_Column]) -> None:
    language = plan.identity.language
    heads = (
        ("Field", "", _FIRST_WIDTH),
        ("Name", "", 24),
        ("Grower", "", 24),
        ("Hybrid", "", 16),
        ("Area", AREA.label(plan.units), 9),
        ("Go", "", 9),
    )
    fixed = ((say(label, language), unit, width) for label, unit, width in heads)
    made = ((column.label.said(language), column.unit, column.width) for column in columns)
    for at, (label, unit, width) in enumerate((*fixed, *made)):
        paper.text(sheet, _TABLE_ROW - 2, at, label, "head")
        paper.text(sheet, _TABLE_ROW - 1, at, say(unit, language), "unit")
        must(sheet.set_column(at, at, width))
    must(sheet.set_row(_TABLE_ROW - 2, 34))


def _field_line(
    paper: Paper,
    sheet: Any,
    plan: BookPlan,
    grids: Mapping[str, Grid],
    columns: list[_Column],
    index: int,
    visit: VisitPlan,
) -> None:
    row = _TABLE_ROW + index
    must(sheet.set_row(row, 26))
    words = (visit.slip.field_id, visit.slip.field, visit.slip.grower, visit.hybrid)
    for at, text in enumerate(words):
        paper.text(sheet, row, at, text, "locked-first")
    area = AREA.shown(visit.acres, plan.units)
    must(sheet.write_number(row, 4, round(area, 1), paper.style("locked-number-first")))
    target = f"'{grids['fields'].title}'!A{FIRST_ROW + index + 1}"
    go = say("Open it", plan.identity.language)
    paper.link(sheet, row, 5, target, go, "link-first")
    for at, column in enumerate(columns, start=6):
        paper.formula(sheet, row, at, column.formula(visit, f"$A{row + 1}"), column.style)
