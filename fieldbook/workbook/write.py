"""Write a blank book: Start, the round's sheets, the hidden lists and the identity."""

from collections.abc import Collection, Mapping
from datetime import datetime
from functools import cache
from typing import Any, TypeVar

from fieldbook.forms.layout import SheetForm
from fieldbook.forms.rounds import ROUNDS, Form
from fieldbook.units import YIELD, System
from fieldbook.words import say
from fieldbook.workbook import live
from fieldbook.workbook.data_sheet import DataSheet, Formula, Line, Link, LiveColumn, RowKey
from fieldbook.workbook.grid import FIRST_ROW, LOOK, Extra, Grid
from fieldbook.workbook.lay import lay_pictures, with_plain_names
from fieldbook.workbook.lists import LISTS_TITLE, write_identity, write_lists
from fieldbook.workbook.paper import Paper
from fieldbook.workbook.plan import BookPlan, EntryKey, VisitPlan
from fieldbook.workbook.start import write_start

LOOK_COLUMN = Extra(name=LOOK, label="Look", unit="", width=24)
# Where the link in a sheet's rows leads: to the first of these sheets that the book has.
_LEADS_TO = {
    "fields": ("stops", "harvest"),
    "stops": ("ears", "stalks"),
    "ears": ("stops",),
    "leaves": ("stops",),
    "stalks": ("stops",),
    "harvest": ("fields",),
    "photos": ("fields",),
}
_ONE_PAGE_WIDE = 175  # letters; a wider form would print too small to write on
V = TypeVar("V")
Lines = Mapping[str, tuple[Line, ...]]


def write_book(plan: BookPlan) -> bytes:
    """Return the book's bytes; the same plan gives the same bytes."""
    round_ = ROUNDS[plan.identity.round]
    form, language = round_.form(full=plan.identity.full), plan.identity.language
    label = say(round_.label, language)
    paper = Paper(
        created=datetime(plan.year, 1, 1),
        paper=plan.paper,
        title=f"{plan.season_name}: {label}",
    )
    footer = f"{plan.season_name} - {label} - {plan.identity.book_id}"
    start = paper.sheet(say("Start", language), footer=footer)
    sheets = {
        one.sheet.name: paper.sheet(
            say(one.sheet.label, language),
            footer=footer,
            pages_wide=1 if _width(one) <= _ONE_PAGE_WIDE else 2,
            pictures=one.sheet.pictures,
        )
        for one in form.sheets
    }
    lists = paper.sheet(LISTS_TITLE)
    ranges = write_lists(paper, lists, form.sheets, language, plan.kernel_counts)
    lists.hide()
    write_identity(paper, plan.identity)
    lines = {one.sheet.name: _lines(plan, one) for one in form.sheets}
    grids = {
        one.sheet.name: _grid(plan, form, one, ranges, len(lines[one.sheet.name]))
        for one in form.sheets
    }
    for name in grids:
        _write_sheet(plan, paper, sheets[name], name, lines, grids)
    write_start(paper, start, plan, round_, grids, lines)
    start.activate()
    written = paper.close()
    in_cells = any(picture.in_cell for picture in plan.pictures.values())
    return with_plain_names(written) if in_cells else written


def _write_sheet(
    plan: BookPlan,
    paper: Paper,
    sheet: Any,
    name: str,
    lines: Lines,
    grids: Mapping[str, Grid],
) -> None:
    """Write one sheet of rows to fill, with its links to the others."""
    grid = grids[name]
    DataSheet(
        paper=paper,
        sheet=sheet,
        grid=grid,
        lines=lines[name],
        year=plan.year,
        mark=plan.identity.book_id,
        entries=_of_sheet(plan.entries, name),
        asked=_of_sheet(plan.asked, name),
        links=_links(name, lines, grids),
        live=_live_columns(plan, name, grids),
    ).write()
    if grid.form.sheet.pictures:
        lay_pictures(sheet, grid, lines[name], plan.pictures)


def _width(form: SheetForm) -> int:
    return sum(column.width for column in form.columns)


def _grid(plan: BookPlan, form: Form, one: SheetForm, ranges: Mapping[str, str], rows: int) -> Grid:
    return Grid(
        form=one,
        title=say(one.sheet.label, plan.identity.language),
        extras=(*_extras(form, one.sheet.name, plan.units), LOOK_COLUMN),
        rows=rows,
        linked=_leads_to(one.sheet.name, [other.sheet.name for other in form.sheets]) is not None,
        language=plan.identity.language,
        units=plan.units,
        lists=ranges,
    )


def _extras(form: Form, name: str, units: System) -> tuple[Extra, ...]:
    if name == "ears" and live.counts_kernels(form):
        return (Extra(name=live.KERNELS, label="Kernels", unit="an ear", width=9),)
    if name == "stops" and live.gives_yield(form):
        return (Extra(name=live.YIELD_HERE, label="Yield", unit=YIELD.label(units), width=8),)
    return ()


def _lines(plan: BookPlan, form: SheetForm) -> tuple[Line, ...]:
    """Return the rows of a sheet, printed and numbered beforehand."""
    return tuple(
        Line(
            key=(visit.slip.field_id, *row),
            printed=_printed(visit, form.sheet.name, row),
            field_index=index,
            is_first=at == 0,
        )
        for index, visit in enumerate(plan.visits)
        for at, row in enumerate(form.sheet.planned_rows(visit.slip.rows))
    )


def _printed(visit: VisitPlan, name: str, row: tuple[int, ...]) -> dict[str, str]:
    """Return the texts that a row is printed with."""
    if name == "fields":
        return {
            "field": visit.slip.field,
            "grower": visit.slip.grower,
            "may_enter": visit.may_enter,
        }
    if name == "stops":
        stop = visit.stops[row[0] - 1]
        return {"go_to": stop.go_to, "measure": stop.measure}
    return {}


def _of_sheet(cells: Mapping[EntryKey, V], name: str) -> dict[tuple[RowKey, str], V]:
    return {(key, column): v for (sheet, key, column), v in cells.items() if sheet == name}


def _leads_to(name: str, there: Collection[str]) -> str | None:
    return next((target for target in _LEADS_TO[name] if target in there), None)


def _links(name: str, lines: Lines, grids: Mapping[str, Grid]) -> dict[RowKey, Link]:
    """Lead from each field to its stops, from each stop to its ears, and back."""
    target = _leads_to(name, grids)
    if target is None:
        return {}
    grid = grids[target]
    first: dict[RowKey, int] = {}
    for at, line in enumerate(lines[target]):
        for length in range(1, len(line.key) + 1):
            first.setdefault(line.key[:length], FIRST_ROW + at + 1)
    deep = len(grid.form.sheet.keys)
    return {
        line.key: Link(
            target=f"'{grid.title}'!A{first[line.key[:deep]]}",
            words=say(grid.form.sheet.label, grid.language),
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

    @cache
    def kernels() -> str:
        return live.kernels_formula(grid)

    @cache
    def yield_at(length_ft: float) -> str:
        return live.stop_yield_formula(grids, standard_length_ft=length_ft)

    def yield_here(line: Line) -> Formula:
        return yield_at(lengths[str(line.key[0]), int(line.key[1])]), style

    known: dict[str, LiveColumn] = {
        live.KERNELS: lambda _: (kernels(), "live"),
        live.YIELD_HERE: yield_here,
    }
    return {column: make for column, make in known.items() if grid.has(column)}
