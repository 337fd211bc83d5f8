"""Write a blank book: Start, the round's sheets, the hidden lists and the identity."""

from collections.abc import Mapping
from datetime import datetime

from fieldbook.forms.layout import SheetForm
from fieldbook.forms.rounds import ROUNDS
from fieldbook.units import YIELD, System
from fieldbook.words import say
from fieldbook.workbook import live
from fieldbook.workbook.data_sheet import DataSheet, Formula, Line, Link, LiveColumn, RowKey
from fieldbook.workbook.grid import FIRST_ROW, LOOK, Extra, Grid
from fieldbook.workbook.lists import LISTS_TITLE, write_identity, write_lists
from fieldbook.workbook.paper import Paper
from fieldbook.workbook.plan import BookPlan, EntryValue, VisitPlan
from fieldbook.workbook.start import write_start

LOOK_COLUMN = Extra(name=LOOK, label="Look", unit="", width=24)
_LEADS_TO = {"fields": ("stops", "Stops"), "stops": ("ears", "Ears"), "ears": ("stops", "Stop")}


def write_book(plan: BookPlan) -> bytes:
    """Return the book's bytes; the same plan gives the same bytes."""
    round_ = ROUNDS[plan.identity.round]
    forms = round_.sheets(full=plan.identity.full)
    paper = Paper(
        created=datetime(plan.year, 1, 1),
        paper=plan.paper,
        title=f"{plan.season_name}: {round_.label}",
    )
    footer = f"{plan.season_name} - {round_.label} - {plan.identity.book_id}"
    start = paper.sheet("Start", footer=footer)
    sheets = {form.sheet.name: paper.sheet(form.sheet.label, footer=footer) for form in forms}
    lists = paper.sheet(LISTS_TITLE)
    ranges = write_lists(paper, lists, forms, plan.identity.language, plan.kernel_counts)
    lists.hide()
    write_identity(paper, plan.identity)
    lines = {form.sheet.name: _lines(plan, form.sheet.name) for form in forms}
    grids = {
        form.sheet.name: _grid(plan, form, ranges, len(lines[form.sheet.name])) for form in forms
    }
    for name, grid in grids.items():
        DataSheet(
            paper=paper,
            sheet=sheets[name],
            grid=grid,
            lines=lines[name],
            year=plan.year,
            mark=plan.identity.book_id,
            entries=_entries(plan, name),
            links=_links(name, lines, grids),
            live=_live_columns(plan, name, grids),
        ).write()
    write_start(paper, start, plan, round_, grids)
    start.activate()
    return paper.close()


def _grid(plan: BookPlan, form: SheetForm, ranges: Mapping[str, str], rows: int) -> Grid:
    return Grid(
        form=form,
        title=form.sheet.label,
        extras=(*_extras(form.sheet.name, plan.units), LOOK_COLUMN),
        rows=rows,
        linked=True,
        language=plan.identity.language,
        units=plan.units,
        lists=ranges,
    )


def _extras(name: str, units: System) -> tuple[Extra, ...]:
    if name == "ears":
        return (Extra(name=live.KERNELS, label="Kernels", unit="an ear", width=9),)
    if name == "stops":
        return (Extra(name=live.YIELD_HERE, label="Yield", unit=YIELD.label(units), width=8),)
    return ()


def _lines(plan: BookPlan, name: str) -> tuple[Line, ...]:
    """Return the rows of a sheet, printed and numbered beforehand."""
    return tuple(
        line for index, visit in enumerate(plan.visits) for line in _visit_lines(visit, name, index)
    )


def _visit_lines(visit: VisitPlan, name: str, index: int) -> list[Line]:
    field_id = visit.slip.field_id
    if name == "fields":
        shown = {
            "field": visit.slip.field,
            "grower": visit.slip.grower,
            "may_enter": visit.may_enter,
        }
        return [Line(key=(field_id,), printed=shown, field_index=index, is_first=True)]
    if name == "stops":
        return [
            Line(
                key=(field_id, stop.stop),
                printed={"go_to": stop.go_to, "measure": stop.measure},
                field_index=index,
                is_first=stop is visit.stops[0],
            )
            for stop in visit.stops
        ]
    return [
        Line(
            key=(field_id, stop.stop, ear),
            field_index=index,
            is_first=stop is visit.stops[0] and ear == 1,
        )
        for stop in visit.stops
        for ear in range(1, visit.slip.ears + 1)
    ]


def _entries(plan: BookPlan, name: str) -> dict[tuple[RowKey, str], EntryValue]:
    return {(key, column): v for (sheet, key, column), v in plan.entries.items() if sheet == name}


def _links(
    name: str, lines: Mapping[str, tuple[Line, ...]], grids: Mapping[str, Grid]
) -> dict[RowKey, Link]:
    """Lead from each field to its stops, from each stop to its ears, and back."""
    target, words = _LEADS_TO[name]
    grid = grids[target]
    first: dict[RowKey, int] = {}
    for at, line in enumerate(lines[target]):
        for length in range(1, len(line.key) + 1):
            first.setdefault(line.key[:length], FIRST_ROW + at + 1)
    deep = len(lines[target][0].key)
    return {
        line.key: Link(
            target=f"'{grid.title}'!A{first[line.key[:deep]]}",
            words=say(words, grid.language),
        )
        for line in lines[name]
    }


def _live_columns(plan: BookPlan, name: str, grids: Mapping[str, Grid]) -> dict[str, LiveColumn]:
    grid = grids[name]
    lengths = {
        (visit.slip.field_id, stop.stop): stop.standard_length_ft
        for visit in plan.visits
        for stop in visit.stops
    }
    style = "live-tenth" if plan.units is System.METRIC else "live"

    def kernels(row: int, line: Line) -> Formula:
        return live.kernels_formula(grid, row), "live"

    def yield_here(row: int, line: Line) -> Formula:
        length = lengths[str(line.key[0]), int(line.key[1])]
        formula = live.stop_yield_formula(grids, row, standard_length_ft=length)
        return formula, style

    columns: dict[str, dict[str, LiveColumn]] = {
        "ears": {live.KERNELS: kernels},
        "stops": {live.YIELD_HERE: yield_here},
    }
    return columns.get(name, {})
