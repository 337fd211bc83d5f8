"""Rows of the roster: what keeps one out, what is told of it, and what it says all the same."""

from dataclasses import replace
from datetime import date

import pytest
from seasons import ROWS

from fieldbook.check.roster import Planting, Roster, check_roster
from fieldbook.entries import EntryRow, RowCells, SheetEntries
from fieldbook.figures import shipped_figures
from fieldbook.problems import Problem
from fieldbook.units import System
from fieldbook.workbook.read import read_roster
from fieldbook.workbook.roster import write_roster

LONGEST_NAME = 100  # letters


@pytest.fixture
def sheet() -> SheetEntries:
    """Return the sheet of a roster of three fields, as read."""
    data = write_roster(ROWS, year=2026, units=System.US, language="en", paper="letter")
    found = read_roster(data, "roster.xlsx").sheet
    assert found is not None
    return replace(found, rows=tuple(row for row in found.rows if row.cells.typed))


def checked(sheet: SheetEntries, *rows: EntryRow) -> tuple[Roster, tuple[Problem, ...]]:
    """Check a roster of these rows."""
    return check_roster(replace(sheet, rows=rows), "roster.xlsx", System.US, "en")


def again(row: EntryRow, number: int, **typed: str | float | None) -> EntryRow:
    """Return a row anew under another number, with some cells typed otherwise."""
    cells = RowCells(row.cells.typed, row.cells.letters, number)
    for name, value in typed.items():
        cells = cells.typing(name, value)
    return EntryRow(number=number, cells=cells)


def test_a_name_may_be_as_long_as_it_fits_a_page(sheet: SheetEntries) -> None:
    """One letter more is told with its count, and the field is left out until it is shorter."""
    first, second, _ = sheet.rows
    fits = again(first, first.number, field="x" * LONGEST_NAME)
    roster, problems = checked(sheet, fits, second)
    assert (list(roster.fields), problems) == (["A1", "A2"], ())
    roster, (found,) = checked(sheet, again(first, 9, field="x" * (LONGEST_NAME + 1)), second)
    assert list(roster.fields) == ["A2"]
    assert (found.code, found.place.column) == ("roster-long", "field")
    assert dict(found.params)["count"] == LONGEST_NAME + 1


def test_a_row_without_its_id_is_no_field(sheet: SheetEntries) -> None:
    """What it lacks is told; its grower's other field stands."""
    first, second, _ = sheet.rows
    roster, (found,) = checked(sheet, again(first, 9, field_id=None), second)
    assert list(roster.fields) == ["A2"]
    assert (found.code, found.place.column) == ("roster-needs", "field_id")


def test_a_row_without_its_grower_exchanges_no_grower_name(sheet: SheetEntries) -> None:
    """A grower's ID that is not typed has no name that another row could contradict."""
    first, second, _ = sheet.rows
    row = again(first, 9, grower_id=None, grower="Somebody Else")
    _, (found,) = checked(sheet, row, second)
    assert (found.code, found.place.column) == ("roster-needs", "grower_id")
    _, (found,) = checked(sheet, again(first, 9, grower="Somebody Else"), second)
    assert found.code == "roster-grower-differs"


def test_two_rows_without_a_day_are_not_one_planting_twice(sheet: SheetEntries) -> None:
    """Their day is asked for; whether they are the same planting is not known before."""
    first = sheet.rows[0]
    undated = again(first, 8, planted=None), again(first, 9, planted=None)
    roster, problems = checked(sheet, *undated, sheet.rows[1])
    assert list(roster.fields) == ["A2"]
    assert [found.code for found in problems] == ["roster-needs", "roster-needs"]
    _, problems = checked(sheet, first, again(first, 9))
    assert "roster-row-twice" in [found.code for found in problems]


def test_ratings_in_the_wrong_order_tell_nothing_of_a_hybrid() -> None:
    """Black layer can't come before silking; in their right order the ratings are what it needs."""
    planting = Planting(
        hybrid="Larkspur 108",
        planted=date(2026, 4, 28),
        acres=80,
        silk_gdd_f=1330,
        black_layer_gdd_f=2590,
        relative_maturity=None,
        from_emergence=False,
        ratings={},
    )
    figures = shipped_figures()
    needs = planting.needs(figures)
    assert needs is not None
    assert (needs.silk_f, needs.black_layer_f) == (1330, 2590)
    turned = replace(planting, silk_gdd_f=2590, black_layer_gdd_f=1330)
    assert turned.needs(figures) is None
