"""One typed cell at a time."""

from datetime import date, datetime

import pytest

from fieldbook.check.cells import parse_value
from fieldbook.check.rows import drafts_of
from fieldbook.entries import CellValue, EntryRow, Mark, RowCells, SheetEntries
from fieldbook.forms.ears import EARS
from fieldbook.forms.fields import FIELDS
from fieldbook.forms.harvest import HARVEST_SHEET
from fieldbook.forms.layout import SheetForm
from fieldbook.forms.leaves import LEAVES
from fieldbook.forms.stops import STOPS
from fieldbook.problems import sentence
from fieldbook.schema import Column
from fieldbook.units import System

ROWS = EARS.column("rows_around")
KERNELS = EARS.column("kernels_set")
LENGTH = STOPS.column("length_ft")
TICK = EARS.column("no_other_gaps")
WEIGHT = HARVEST_SHEET.column("wet_lb")
POLLEN = STOPS.column("tassel")
DAY = FIELDS.column("visit_date")
STAGE = FIELDS.column("stage")


def parsed(
    column: Column, value: CellValue, units: System = System.US
) -> tuple[object, str | None]:
    """Parse one value; return what was read and the code of its fault."""
    found = parse_value(column, value, units=units, language="en")
    return found.value, found.code


@pytest.mark.parametrize("value", [None, "", "  ", "\xa0", "\t\n"])
def test_blank_cells_are_not_looked_at(value: CellValue) -> None:
    """An empty cell, or one of blanks alone, is no reading and no fault."""
    assert parsed(ROWS, value) == (None, None)


@pytest.mark.parametrize(
    ("value", "code", "suggestion"),
    [
        ("16 rows", "not-a-number", "16"),
        ("~30", "not-a-number", "30"),
        ("3O", "not-a-number", "30"),
        ("l6", "not-a-number", "16"),
        ("12,5", "not-a-number", ""),
        ("about", "not-a-number", ""),
        ("14 or 16", "not-a-number", ""),
        (True, "not-a-number", ""),
    ],
)
def test_text_in_a_number_cell_is_a_fault_with_a_suggestion(
    value: CellValue, code: str, suggestion: str
) -> None:
    """Text is never turned into a number, but what was probably meant is said."""
    found = parse_value(ROWS, value, units=System.US, language="en")
    assert found.value is None
    assert found.code == code
    said = dict(found.params)["suggestion"]
    assert str(said) == (f"Meant {suggestion}? " if suggestion else "")


UNITS: list[tuple[Column, str, System, str]] = [
    (LENGTH, "17.5 ft", System.US, "17.5"),
    (LENGTH, "17.5ft.", System.US, "17.5"),
    (LENGTH, "17.5 m", System.US, ""),
    (LENGTH, "5,3 m", System.METRIC, "5.3"),
    (LENGTH, '17.5"', System.US, ""),
    (WEIGHT, "207.5 t", System.METRIC, ""),
    (WEIGHT, "207.5 kg", System.METRIC, "207.5"),
    (WEIGHT, "51,240 lb", System.US, ""),
    (WEIGHT, "51240 lb", System.US, "51240"),
    (ROWS, "16 hileras", System.US, "16"),
    (ROWS, "2 dozen", System.US, ""),
]


@pytest.mark.parametrize(("column", "typed", "units", "meant"), UNITS)
def test_no_number_is_suggested_that_may_be_of_another_unit(
    column: Column, typed: str, units: System, meant: str
) -> None:
    """Only the column's own unit and name may stand behind it; thousands are no fraction."""
    found = parse_value(column, typed, units=units, language="en")
    assert (found.value, found.code) == (None, "not-a-number")
    assert str(dict(found.params)["suggestion"]) == (f"Meant {meant}? " if meant else "")


def test_numbers_beyond_all_numbers_are_no_numbers() -> None:
    """Hundreds of digits, or what grows beyond all numbers in other units, are told, not read."""
    assert parsed(ROWS, "9" * 400) == (None, "not-a-number")
    assert parsed(LENGTH, 1e308, System.METRIC) == (None, "not-a-number")
    assert parsed(LENGTH, 1e300, System.METRIC)[1] is None


def test_a_clean_number_kept_as_text_is_read_and_noted() -> None:
    """A tablet that stores 16 as text loses nothing."""
    assert parsed(ROWS, " 16 ") == (16, "number-as-text")


def test_one_half_that_became_a_date_is_a_fault() -> None:
    """1/2 typed into a number cell comes back as a date and is never taken as a number."""
    assert parsed(LENGTH, datetime(2026, 1, 2)) == (None, "date-for-number")


@pytest.mark.parametrize(
    ("typed", "year", "example"),
    [
        ("20 Aug", 2027, "20 Aug 2027"),
        ("Aug 20", 2027, "Aug 20 2027"),
        ("Feb 29", 2028, "Feb 29 2028"),
        ("Feb 29", 2027, "2026-07-22"),
        ("20 Aug", None, "2026-07-22"),
        ("8/20", 2027, "2026-07-22"),
    ],
)
def test_a_day_without_its_year_is_shown_with_the_seasons(
    typed: str, year: int | None, example: str
) -> None:
    """Where that makes a day that would be read; else any day is the example."""
    fields = SheetForm(sheet=FIELDS, names=("visit_date",))
    row = EntryRow(number=5, cells=RowCells({"visit_date": typed}, {"visit_date": "E"}, 5))
    sheet = SheetEntries(name="fields", title="Fields", rows=(row,))
    (draft,) = drafts_of(fields, sheet, System.US, "en", year=year)
    (found,) = draft.findings
    assert f"for example {example}." in sentence(found.problem)


def test_formula_and_error_cells_are_faults() -> None:
    """A formula's cached result is never trusted."""
    ears = SheetForm(sheet=EARS, names=("rows_around", "kernels_set"))
    letters = {"rows_around": "E", "kernels_set": "F"}
    marks = {"rows_around": Mark(is_formula=True), "kernels_set": Mark(is_error=True)}
    row = EntryRow(number=5, cells=RowCells({"rows_around": 16.0}, letters, 5, marks))
    sheet = SheetEntries(name="ears", title="Ears", rows=(row,))
    (draft,) = drafts_of(ears, sheet, System.US, "en")
    told = [(found.problem.code, found.problem.place.cell) for found in draft.findings]
    assert told == [("formula-in-entry", "E5"), ("formula-in-entry", "F5")]
    assert not draft.has("rows_around")
    assert not draft.has("kernels_set")


def test_metric_entries_are_stored_in_feet() -> None:
    """5.31 m typed in a metric book is 17.42 ft inside."""
    value, code = parsed(LENGTH, 5.31, System.METRIC)
    assert code is None
    assert value == pytest.approx(5.31 / 0.3048, rel=1e-12)


@pytest.mark.parametrize("value", ["Yes", "yes", "YES ", True, 1.0])
def test_ticks_are_read_however_an_app_stores_them(value: CellValue) -> None:
    """A tick comes back as its label in any case, or as a truth value."""
    assert parsed(TICK, value) == ("yes", None)


@pytest.mark.parametrize(
    ("value", "expected"),
    [("R4 dough", "R4"), ("r4 DOUGH", "R4"), ("R4", "R4"), (" R3 milk\xa0", "R3")],
)
def test_choices_are_stored_as_keys(value: str, expected: str) -> None:
    """A list value is known by its label or its key, in any case."""
    assert parsed(STAGE, value) == (expected, None)


def test_a_value_off_the_list_suggests_the_nearest() -> None:
    """R4 doug is not guessed, only suggested."""
    found = parse_value(STAGE, "R4 doug", units=System.US, language="en")
    assert (found.value, found.code) == (None, "not-on-list")
    assert "R4 dough" in str(dict(found.params)["suggestion"])


OPPOSITE = [
    ("Shedding", "en", ""),
    ("Not sheding yet", "en", "Not shedding yet"),
    ("Finishd", "en", "Finished"),
    ("Aún con polen", "es", ""),
    ("Aun sin polen", "es", "Not shedding yet"),
]


@pytest.mark.parametrize(("typed", "language", "meant"), OPPOSITE)
def test_the_opposite_is_never_suggested(typed: str, language: str, meant: str) -> None:
    """A "not" more or less makes the nearest choice the one that was not meant."""
    found = parse_value(POLLEN, typed, units=System.US, language=language)
    assert found.code == "not-on-list"
    hint = dict(found.params)["suggestion"]
    assert str(hint) == (f"Meant '{meant}'? " if meant else "")


def test_a_disease_is_suggested_in_either_spelling() -> None:
    """A grey spot is the gray leaf spot, and not the eyespot."""
    disease = LEAVES.column("disease")
    found = parse_value(disease, "grey spot", units=System.US, language="en")
    assert "Gray leaf spot" in str(dict(found.params)["suggestion"])


def test_no_fraction_is_suggested_for_a_count() -> None:
    """31,5 kernels can't be; 31,5 ft can."""
    for column, meant in ((KERNELS, ""), (LENGTH, "31.5")):
        found = parse_value(column, "31,5", units=System.US, language="en")
        assert found.code == "not-a-number"
        assert meant in str(dict(found.params)["suggestion"])
        assert bool(dict(found.params)["suggestion"]) is bool(meant)


@pytest.mark.parametrize(
    ("value", "expected", "code"),
    [
        (datetime(2026, 8, 12, 9, 30), date(2026, 8, 12), None),
        (date(2026, 8, 12), date(2026, 8, 12), None),
        (46246.0, date(2026, 8, 12), "date-as-text"),
        ("2026-08-12", date(2026, 8, 12), None),
        ("2026-02-30", None, "not-a-date"),
        ("2026/08/12", date(2026, 8, 12), "date-as-text"),
        ("12 Aug 2026", date(2026, 8, 12), "date-as-text"),
        ("8/12", None, "not-a-date"),
        ("8/12/2026", None, "not-a-date"),
        (3.0, None, "not-a-date"),
        ("soon", None, "not-a-date"),
        ("20 Aug", None, "date-without-year"),
        ("Aug. 20, 2026", date(2026, 8, 20), "date-as-text"),
        ("20 de agosto de 2026", date(2026, 8, 20), "date-as-text"),
        ("20 ago 2026", date(2026, 8, 20), "date-as-text"),
        ("20 ago.", None, "date-without-year"),
        ("12.08.2026", None, "not-a-date"),
        ("Feb 29", None, "date-without-year"),
        ("Feb 30", None, "not-a-date"),
    ],
)
def test_dates_are_read_only_where_they_have_one_reading(
    value: CellValue, expected: date | None, code: str | None
) -> None:
    """A serial number or a date with its year first is read; 8/12 could be two days."""
    assert parsed(DAY, value) == (expected, code)


def test_a_text_is_kept_up_to_a_thousand_letters() -> None:
    """What is longer is cut where its beginning ends, and told with both counts."""
    remark = EARS.column("remark")
    assert parsed(remark, "x" * 1000) == ("x" * 1000, None)
    found = parse_value(remark, "x" * 996 + " " + "y" * 99, units=System.US, language="en")
    assert (found.value, found.code) == ("x" * 996 + "...", "text-cut")
    assert dict(found.params) == {"count": 1096, "most": 1000}
