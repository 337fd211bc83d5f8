"""Rows of the roster: what keeps one out, what is told of it, and what it says all the same."""

from dataclasses import replace
from datetime import date, datetime

import pytest
from seasons import ROWS

from fieldbook.check.roster import Planting, Roster, check_roster
from fieldbook.entries import CellValue, EntryRow, RowCells, SheetEntries
from fieldbook.figures import shipped_figures
from fieldbook.problems import Problem, line, sentence
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


def again(row: EntryRow, number: int, **typed: CellValue) -> EntryRow:
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
    roster, (found, _) = checked(sheet, again(first, 9, field="x" * (LONGEST_NAME + 1)), second)
    assert list(roster.fields) == ["A2"]
    assert (found.code, found.place.column) == ("roster-long", "field")
    assert dict(found.params)["count"] == LONGEST_NAME + 1


def test_a_row_without_its_id_is_no_field(sheet: SheetEntries) -> None:
    """What it lacks is told, and that it is left out, by its name; another field stands."""
    first, second, _ = sheet.rows
    roster, (found, out) = checked(sheet, again(first, 9, field_id=None), second)
    assert list(roster.fields) == ["A2"]
    assert (found.code, found.place.column) == ("roster-needs", "field_id")
    assert sentence(out) == "Field Long eighty is left out of everything until you mend C9."
    _, problems = checked(sheet, again(first, 9, field_id=None, field=None), second)
    assert [found.code for found in problems] == ["roster-needs", "roster-needs"]


def test_a_row_without_its_grower_exchanges_no_grower_name(sheet: SheetEntries) -> None:
    """A grower's ID that is not typed has no name that another row could contradict."""
    first, second, _ = sheet.rows
    row = again(first, 9, grower_id=None, grower="Somebody Else")
    _, (found, _) = checked(sheet, row, second)
    assert (found.code, found.place.column) == ("roster-needs", "grower_id")
    _, (found,) = checked(sheet, again(first, 9, grower="Somebody Else"), second)
    assert found.code == "roster-grower-differs"


def test_two_rows_without_a_day_are_not_one_planting_twice(sheet: SheetEntries) -> None:
    """Their day is asked for; whether they are the same planting is not known before."""
    first = sheet.rows[0]
    undated = again(first, 8, planted=None), again(first, 9, planted=None)
    roster, problems = checked(sheet, *undated, sheet.rows[1])
    assert list(roster.fields) == ["A2"]
    assert [found.code for found in problems] == ["roster-needs", "roster-needs", "roster-left-out"]
    _, problems = checked(sheet, first, again(first, 9))
    assert "roster-row-twice" in [found.code for found in problems]


OPTIONAL: list[tuple[str, str | float]] = [
    ("own_average_bu_ac", 1800),
    ("latitude", "43,34"),
    ("scout", "x" * (LONGEST_NAME + 1)),
    ("remark", "x" * (LONGEST_NAME + 1)),
    ("stops_wanted", 2),
    ("hybrid", "x" * (LONGEST_NAME + 1)),
]


@pytest.mark.parametrize(("column", "typed"), OPTIONAL)
def test_a_slip_in_a_cell_that_a_field_can_do_without_costs_that_cell_alone(
    sheet: SheetEntries, column: str, typed: str | float
) -> None:
    """The error is told at its cell, and that the field stands without it; all else is used."""
    first, second, _ = sheet.rows
    cell = f"{first.cells.letters[column]}9"
    sound, _ = checked(sheet, first, second)
    roster, (found, told) = checked(sheet, again(first, 9, **{column: typed}), second)
    assert (found.weight, found.place.cell) == ("error", cell)
    assert (told.code, told.weight) == ("roster-cell-unused", "note")
    assert f"({cell})" in sentence(told)
    assert list(roster.fields) == ["A1", "A2"]
    assert not roster.left_out
    expected = sound.fields["A1"]
    if column == "hybrid":
        plantings = (replace(expected.plantings[0], hybrid=None),)
        expected = replace(expected, plantings=plantings)
    elif column != "remark":
        expected = replace(expected, **{column: None})  # type: ignore[arg-type]
    assert roster.fields["A1"] == expected


def test_of_two_heat_sums_in_the_wrong_order_neither_is_used(sheet: SheetEntries) -> None:
    """Nobody can tell which is wrong."""
    first, second, _ = sheet.rows
    row = again(first, 9, silk_gdd_f=1990, black_layer_gdd_f=1600)
    roster, (_, told) = checked(sheet, row, second)
    planting = roster.fields["A1"].main_planting
    assert (planting.silk_gdd_f, planting.black_layer_gdd_f) == (None, None)
    assert "Heat to silk (J9), Heat to ripe (K9)" in sentence(told)


KEEPING_OUT: list[tuple[str, str | float]] = [
    ("sprayed_on", "7/8"),
    ("product", "x" * (LONGEST_NAME + 1)),
    ("reentry_ends", "soon"),
    ("pre_harvest_days", "20 d"),
    ("use", "popcron"),
    ("acres", "16,2"),
]


@pytest.mark.parametrize(("column", "typed"), KEEPING_OUT)
def test_a_slip_that_may_hurt_leaves_the_field_out_and_says_so(
    sheet: SheetEntries, column: str, typed: str | float
) -> None:
    """What a field needs, its use and its spray must be right; the roster still names the field."""
    first, second, _ = sheet.rows
    cell = f"{first.cells.letters[column]}9"
    roster, (_, told) = checked(sheet, again(first, 9, **{column: typed}), second)
    assert (list(roster.fields), roster.left_out) == (["A2"], {"A1"})
    assert line(told) == (
        f"roster.xlsx, Roster, C9: Field A1 is left out of everything until you mend {cell}."
    )


def test_a_spray_that_is_not_known_keeps_all_parts_of_a_field_out(sheet: SheetEntries) -> None:
    """Another row of the field says nothing of the spray, but people walk the whole field."""
    first, second, _ = sheet.rows
    other = again(first, 9, hybrid="Tamsin 104", sprayed_on="7/8")
    roster, problems = checked(sheet, first, other, second)
    assert list(roster.fields) == ["A2"]
    assert [found.code for found in problems] == ["not-a-date", "roster-left-out"]


def test_a_spray_told_in_any_row_is_the_fields(sheet: SheetEntries) -> None:
    """The last spray counts, and nobody walks before the last day that any row names."""
    first, second, _ = sheet.rows
    july, august = datetime(2026, 7, 8), datetime(2026, 8, 1)
    spray = {"product": "Quelm 2", "pre_harvest_days": 20}
    other = again(first, 9, hybrid="Tamsin 104", sprayed_on=july, reentry_ends=august, **spray)
    roster, problems = checked(sheet, first, other, second)
    field = roster.fields["A1"]
    assert problems == ()
    assert (field.sprayed_on, field.product) == (july.date(), "Quelm 2")
    assert (field.reentry_ends, field.pre_harvest_days) == (august.date(), 20)
    later = again(first, 8, sprayed_on=datetime(2026, 7, 20))
    field = checked(sheet, later, other, second)[0].fields["A1"]
    assert (field.sprayed_on, field.product) == (date(2026, 7, 20), None)
    assert field.reentry_ends == august.date()


Places = tuple[tuple[float, float], ...]
AT_HOME: Places = ((41.5, -93.5), (41.6, -93.4), (41.4, -93.6))
FAR: list[tuple[tuple[float, float], str, str, str]] = [
    ((41.5, 93.5), "roster-sign", "longitude", "-93.5"),
    ((-41.5, -93.5), "roster-sign", "latitude", "41.5"),
    ((41.5, -39.5), "roster-far-away", "longitude", ""),
]


def placed(sheet: SheetEntries, places: Places, units: System = System.US) -> list[Problem]:
    """Check a roster of fields at these places."""
    rows = [
        again(sheet.rows[1], at, field_id=f"P{at}", latitude=latitude, longitude=longitude)
        for at, (latitude, longitude) in enumerate(places, start=5)
    ]
    _, problems = check_roster(replace(sheet, rows=tuple(rows)), "roster.xlsx", units, "en")
    return list(problems)


def test_names_of_a_trial_that_differ_in_capitals_alone_are_one(sheet: SheetEntries) -> None:
    """Two strips of one treatment, however typed, spelled as the first row has it."""
    first, second, third = sheet.rows
    rows = [
        again(first, 9, trial="Hybrids", treatment="Biostim A", block=1),
        again(second, 10, trial="hybrids", treatment="BIOSTIM  a", block="1"),
        again(third, 11, trial="Hybrids", treatment="Biostim B", block=2),
    ]
    roster, problems = checked(sheet, *rows)
    assert not problems
    strips = [(field.trial, field.treatment, field.block) for field in roster.fields.values()]
    assert strips == [
        ("Hybrids", "Biostim A", "1"),
        ("Hybrids", "Biostim A", "1"),
        ("Hybrids", "Biostim B", "2"),
    ]


@pytest.mark.parametrize(("spot", "code", "column", "meant"), FAR)
def test_a_field_far_from_all_others_is_told(
    sheet: SheetEntries, spot: tuple[float, float], code: str, column: str, meant: str
) -> None:
    """Only that one, and with the other sign where this would be near; also among two others."""
    for others in (AT_HOME, AT_HOME[:2]):
        (found,) = placed(sheet, (*others, spot))
        assert (found.code, found.place.column) == (code, column)
        assert dict(found.params).get("suggested", "") == meant
        assert f"P{5 + len(others)} Short forty" in sentence(found)


def test_the_distance_of_a_far_field_is_told_in_the_units_of_the_roster(
    sheet: SheetEntries,
) -> None:
    """54 degrees of longitude away at this latitude, in miles or in kilometres."""
    far = (*AT_HOME, (41.5, -39.5))
    (miles,) = placed(sheet, far)
    assert "2744 miles" in sentence(miles)
    (km,) = [one for one in placed(sheet, far, System.METRIC) if one.code == "roster-far-away"]
    assert "4417 km" in sentence(km)


def test_fields_that_lie_together_and_fields_of_two_are_left_alone(sheet: SheetEntries) -> None:
    """A hundred miles is a wide season; of two fields nobody can tell which one is wrong."""
    assert placed(sheet, (*AT_HOME, (41.5, -91.6))) == []
    assert placed(sheet, ((41.5, -93.5), (41.5, 93.5))) == []


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
