"""The Start sheet: how to, today's fields with links, live progress and live yield."""

from collections.abc import Mapping
from typing import Any

from fieldbook.forms.rounds import Round
from fieldbook.units import AREA, System
from fieldbook.words import say
from fieldbook.workbook import live
from fieldbook.workbook.grid import FIRST_ROW, Grid
from fieldbook.workbook.paper import Paper, must
from fieldbook.workbook.plan import BookPlan, VisitPlan

_WIDTHS = (9, 24, 24, 16, 9, 14, 14, 12, 14, 26)
_TABLE_ROW = 13
_HOW = (
    "Before you walk in: may the field be entered? Not sure: call the grower. "
    "If a plane or sprayer comes, leave.",
    "Tell somebody where you walk and when you will be back. Mind heat and lightning; "
    "cut away from your hand.",
    "1. Fill Fields first, then each stop, then its ears. The links lead there and back.",
    "2. Empty means not looked at. Looked and found none: type 0, or pick Yes where a tick is.",
    "3. The Look column says what does not fit. Unusual but true: say so under Sure?",
    "4. Save under any name and send the file back. Half done is fine; send it again later.",
)
_HEADS = ("Field", "Name", "Grower", "Hybrid", "Area", "Go", "Stops done", "Ears done", "Yield")


def write_start(
    paper: Paper, sheet: Any, plan: BookPlan, round_: Round, grids: Mapping[str, Grid]
) -> None:
    """Write the first sheet."""
    language = plan.identity.language
    for at, width in enumerate(_WIDTHS):
        must(sheet.set_column(at, at, width))
    form = "full form" if plan.identity.full else "quick form"
    heading = f"{say(round_.label, language)}: {plan.season_name}"
    paper.text(sheet, 0, 0, heading, "title")
    must(sheet.set_row(0, 30))
    who = say("Scout: {scout}", language, scout=plan.identity.scout)
    paper.text(sheet, 1, 0, f"{who}    {say(form, language)}", "bold")
    book = say("Book {book}", language, book=plan.identity.book_id)
    paper.text(sheet, 2, 0, book, "hint")
    for at, how in enumerate(_HOW):
        paper.text(sheet, 4 + at, 0, say(how, language))
        must(sheet.set_row(4 + at, 20))
    _table(paper, sheet, plan, grids)


def _table(paper: Paper, sheet: Any, plan: BookPlan, grids: Mapping[str, Grid]) -> None:
    language = plan.identity.language
    metric = plan.units is System.METRIC
    units = ("", "", "", "", "ha" if metric else "ac", "", "", "", "t/ha" if metric else "bu/ac")
    heads = (*_HEADS, "Rows to look at")
    for at, (head, unit) in enumerate(zip(heads, (*units, ""), strict=True)):
        paper.text(sheet, _TABLE_ROW - 2, at, say(head, language), "head")
        paper.text(sheet, _TABLE_ROW - 1, at, unit, "unit")
    for index, visit in enumerate(plan.visits):
        _field_line(paper, sheet, plan, grids, index, visit)


def _field_line(
    paper: Paper,
    sheet: Any,
    plan: BookPlan,
    grids: Mapping[str, Grid],
    index: int,
    visit: VisitPlan,
) -> None:
    row = _TABLE_ROW + index
    must(sheet.set_row(row, 26))
    locked = "locked-first"
    words = (visit.slip.field_id, visit.slip.field, visit.slip.grower, visit.hybrid)
    for at, text in enumerate(words):
        paper.text(sheet, row, at, text, locked)
    area = AREA.shown(visit.acres, plan.units)
    must(sheet.write_number(row, 4, round(area, 1), paper.style("locked-number-first")))
    target = f"'{grids['fields'].title}'!A{FIRST_ROW + index + 1}"
    go = say("Open", plan.identity.language)
    paper.link(sheet, row, 5, target, go, "link-first")
    _progress(paper, sheet, plan, grids, row, visit)


def _progress(
    paper: Paper,
    sheet: Any,
    plan: BookPlan,
    grids: Mapping[str, Grid],
    row: int,
    visit: VisitPlan,
) -> None:
    cell, style = f"$A{row + 1}", "live-first"
    stops, ears = grids["stops"], grids["ears"]
    count = len(visit.stops)
    done = live.progress_formula(stops, "ears", cell, count)
    paper.formula(sheet, row, 6, done, style)
    pulled = live.progress_formula(ears, "kernels_set", cell, count * visit.slip.ears)
    paper.formula(sheet, row, 7, pulled, style)
    tenth = "live-tenth-first" if plan.units is System.METRIC else style
    paper.formula(sheet, row, 8, live.field_yield_formula(stops, cell), tenth)
    paper.formula(sheet, row, 9, live.questions_formula(grids, cell), style)
