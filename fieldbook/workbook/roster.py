"""Write a roster to fill, or one that is filled already, with the same care as a book."""

from collections.abc import Iterable, Mapping
from dataclasses import asdict
from datetime import datetime
from typing import Any

from fieldbook.forms.roster import ROSTER_FORM, RosterRow
from fieldbook.units import System
from fieldbook.words import say
from fieldbook.workbook.data_sheet import DataSheet, Line, RowKey
from fieldbook.workbook.grid import Grid
from fieldbook.workbook.lists import LISTS_TITLE, write_lists
from fieldbook.workbook.paper import Paper, must
from fieldbook.workbook.plan import EntryValue
from fieldbook.workbook.write import LOOK_COLUMN

ROOM = 150
_MORE = 50
_PAGES_WIDE, _REPEATED, _SPARE_LINES = 3, 4, 12
_HOW = (
    "One row a field. A field with two hybrids or two planting dates gets a row for each, "
    "with the same Field ID.",
    "Needed are Grower ID, Grower, Field ID, Field, Area, Row width and Planted. "
    "The rest makes the reports better.",
    "Give an ID once and never again, also not next year. This file is never changed by silkbook.",
    "Heat to silk and Heat to ripe are the heat units of the hybrid's own rating; "
    "without them its Maturity is used.",
    "Write Sprayed on and May walk from as soon as you know them; the label says how long to wait.",
)


def write_roster(
    rows: Iterable[RosterRow], *, year: int, units: System, language: str, paper: str
) -> bytes:
    """Return the bytes of a roster workbook with these rows filled in and room for more."""
    given, name = list(rows), say("Roster {year}", language, year=year)
    sheet_of = Paper(created=datetime(year, 1, 1), paper=paper, title=name)
    start = sheet_of.sheet(say("Start", language))
    title = say(ROSTER_FORM.sheet.label, language)
    sheet = sheet_of.sheet(title, footer=name, pages_wide=_PAGES_WIDE)
    lists = sheet_of.sheet(LISTS_TITLE)
    ranges = write_lists(sheet_of, lists, (ROSTER_FORM,), language, {})
    lists.hide()
    _write_how(sheet_of, start, year, language)
    lines = tuple(Line(key=(at,)) for at in range(max(ROOM, len(given) + len(given) // 10 + _MORE)))
    grid = Grid(
        form=ROSTER_FORM,
        title=title,
        extras=(LOOK_COLUMN,),
        rows=len(lines),
        linked=False,
        language=language,
        units=units,
        lists=ranges,
    )
    DataSheet(
        paper=sheet_of,
        sheet=sheet,
        grid=grid,
        lines=lines,
        year=year,
        mark=f"{year}:{units}",
        entries=_entries(given),
        printed_lines=len(given) + _SPARE_LINES,
    ).write()
    sheet.repeat_columns(0, _REPEATED - 1)
    sheet.activate()
    return sheet_of.close()


def _entries(rows: list[RosterRow]) -> Mapping[tuple[RowKey, str], EntryValue]:
    filled: dict[tuple[RowKey, str], Any] = {}
    for at, row in enumerate(rows):
        for name, value in asdict(row).items():
            if value is not None:
                filled[(at,), name] = value
    return filled


def _write_how(paper: Paper, sheet: Any, year: int, language: str) -> None:
    must(sheet.set_column(0, 0, 110))
    title = say("Roster of fields, {year}", language, year=year)
    paper.text(sheet, 0, 0, title, "title")
    must(sheet.set_row(0, 30))
    for at, how in enumerate(_HOW):
        paper.text(sheet, 2 + at, 0, say(how, language), "wrapped")
        must(sheet.set_row(2 + at, 34))
