"""Every check of a book, each triggered by its own mistake and by nothing else."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

import pytest
from seasons import NOW, ROWS, VISIT_DAY, book_plan, good_stop, good_visit

from fieldbook.check.book import check_book
from fieldbook.check.history import PastVisit
from fieldbook.check.verdict import CheckedBook, State, Status
from fieldbook.entries import BookEntries, EntryRow, RowCells
from fieldbook.problems import Weight, sentence
from fieldbook.season.season import Season
from fieldbook.units import System
from fieldbook.workbook.plan import EntryKey, EntryValue
from fieldbook.workbook.read import read_book
from fieldbook.workbook.write import write_book

Entries = Mapping[EntryKey, EntryValue]


def read(season: Season, entries: Entries, *, full: bool = False) -> BookEntries:
    """Write a filled book and read it back."""
    data = write_book(book_plan(season, full=full, entries={"A1": entries}))
    found = read_book(data, "ana.xlsx")
    assert found.book is not None
    return found.book


def judge(season: Season, book: BookEntries, **past: tuple[PastVisit, ...]) -> CheckedBook:
    """Judge a book on the test's day."""
    today = NOW.date()
    return check_book(book, season.context(past, today=today, received=today))


def codes(verdict: CheckedBook) -> list[str]:
    """Return the codes of what is open, in order of finding."""
    return [found.code for found in verdict.open_problems]


def test_a_good_visit_has_nothing_to_say(season: Season) -> None:
    """No check fires on an ordinary visit, and every reading is used."""
    verdict = judge(season, read(season, good_visit("A1")))
    assert codes(verdict) == []
    assert {reading.status for reading in verdict.readings} == {Status.USED}


EAR = ("A1", 1, 1)
STOP = ("A1", 1)
HEAD = ("A1",)

ONE_CELL = [
    ("ears", EAR, "rows_around", 15, "rows-odd"),
    ("ears", EAR, "rows_around", 16.5, "not-whole"),
    ("ears", EAR, "rows_around", 44, "out-of-range"),
    ("ears", EAR, "rows_around", -2, "out-of-range"),
    ("ears", EAR, "rows_around", 24, "unusual"),
    ("ears", EAR, "rows_around", "16 rows", "not-a-number"),
    ("ears", EAR, "kernels_set", 81, "out-of-range"),
    ("ears", EAR, "tip_unset", 30, "rings-many"),
    ("ears", EAR, "tip_unset", 60, "rings-impossible"),
    ("ears", EAR, "lost_rows", 18, "lost-over-rows"),
    ("ears", EAR, "base_blank", 3, "gaps-contradict"),
    ("ears", EAR, "bare_cob", "yes", "bare-contradicts"),
    ("ears", EAR, "no_other_gaps", "perhaps", "not-on-list"),
    ("ears", EAR, "ear_length_in", 0.5, "out-of-range"),
    ("ears", EAR, "ear_length_in", 13, "unusual"),
    ("stops", STOP, "ears", 200, "out-of-range"),
    ("stops", STOP, "ears", 50, "unusual"),
    ("stops", STOP, "plants", 20, "ears-over-plants"),
    ("stops", STOP, "length_ft", 2, "out-of-range"),
    ("fields", HEAD, "stage", "R9", "not-on-list"),
    ("fields", HEAD, "stage", "R1", "stage-too-early"),
    ("fields", HEAD, "visit_date", "8/12", "not-a-date"),
    ("fields", HEAD, "visit_date", date(2025, 8, 12), "date-other-season"),
    ("fields", HEAD, "visit_date", date(2026, 8, 29), "date-in-future"),
    ("fields", HEAD, "visit_date", date(2026, 4, 2), "date-before-planting"),
]


@pytest.mark.parametrize(("sheet", "key", "column", "typed", "code"), ONE_CELL)
def test_one_mistake_gives_one_message_at_its_cell(
    season: Season,
    sheet: str,
    key: tuple[str | int, ...],
    column: str,
    typed: EntryValue,
    code: str,
) -> None:
    """The message names the cell as the app shows it, and the reading is not used."""
    entries = {**good_visit("A1", pulled=5), (sheet, key, column): typed}
    book = read(season, entries, full=True)
    verdict = judge(season, book)
    assert codes(verdict) == [code]
    found = verdict.open_problems[0]
    rows = book.sheets[sheet].rows
    names = {"fields": ("field_id",), "stops": ("field_id", "stop")}
    parts = names.get(sheet, ("field_id", "stop", "ear"))
    row = next(r for r in rows if tuple(r.cells[part].value for part in parts) == key)
    near = {column, "kernels_set", "no_other_gaps", "bare_cob", "ears"}
    touched = {cell.ref for name, cell in row.cells.items() if name in near}
    assert found.place.cell in touched
    assert found.place.file == "ana.xlsx"
    assert sentence(found)
    reading = next(
        r for r in verdict.readings if (r.sheet, r.row, r.column) == (sheet, key[1:], column)
    )
    doubted = Status.REFUSED if found.weight is Weight.ERROR else Status.ASKED
    assert reading.status is (doubted if code != "ears-over-plants" else Status.USED)


def test_a_confirmed_rarity_is_used_and_stays_on_record(season: Season) -> None:
    """'Yes, it is true' makes an unusual value count, and the question is kept as confirmed."""
    entries = {
        **good_visit("A1"),
        ("ears", EAR, "rows_around"): 24,
        ("ears", EAR, "answer"): "true",
    }
    verdict = judge(season, read(season, entries))
    assert codes(verdict) == []
    assert [q.state for q in verdict.questions] == [State.CONFIRMED]
    rows = next(r for r in verdict.readings if r.row == (1, 1) and r.column == "rows_around")
    assert rows.status is Status.CONFIRMED


def test_cannot_recount_drops_the_reading_and_keeps_the_visit(season: Season) -> None:
    """'Cannot recount' beside 15 rows leaves that number out and asks no more."""
    entries = {
        **good_visit("A1"),
        ("ears", EAR, "rows_around"): 15,
        ("ears", EAR, "answer"): "lost",
    }
    verdict = judge(season, read(season, entries))
    assert codes(verdict) == []
    status = {r.column: r.status for r in verdict.readings if r.row == (1, 1)}
    assert status["rows_around"] is Status.LOST
    assert status["kernels_set"] is Status.USED


def test_true_never_confirms_the_impossible(season: Season) -> None:
    """'Yes, it is true' beside 15 rows changes nothing: rows come in pairs."""
    entries = {
        **good_visit("A1"),
        ("ears", EAR, "rows_around"): 15,
        ("ears", EAR, "answer"): "true",
    }
    assert codes(judge(season, read(season, entries))) == ["rows-odd"]


def test_over_a_thousand_kernels_are_asked_about(season: Season) -> None:
    """22 rows of 50 kernels are 1,100 on one ear: rare."""
    entries = {
        **good_visit("A1"),
        ("ears", EAR, "rows_around"): 22,
        ("ears", EAR, "kernels_set"): 50,
    }
    verdict = judge(season, read(season, entries))
    assert codes(verdict) == ["kernels-many"]
    assert "1100" in sentence(verdict.open_problems[0])


def test_half_an_ear_is_noted(season: Season) -> None:
    """Rows without kernels are kept, and the missing cell is named."""
    entries = dict(good_visit("A1"))
    del entries["ears", EAR, "kernels_set"]
    assert codes(judge(season, read(season, entries))) == ["part-missing"]


def test_ears_without_a_count_are_asked_about(season: Season) -> None:
    """A stop whose ears were pulled but never counted gives no yield until it is filled."""
    entries = dict(good_visit("A1"))
    del entries["stops", STOP, "ears"]
    assert codes(judge(season, read(season, entries))) == ["ears-without-count"]


def test_a_count_without_ears_is_noted(season: Season) -> None:
    """Ears in the row are counted, but none was husked."""
    entries = {**good_visit("A1", stops=4), ("stops", ("A1", 5), "ears"): 30}
    assert codes(judge(season, read(season, entries))) == ["count-without-ears"]


def test_a_visit_without_a_date_is_asked_about(season: Season) -> None:
    """Readings are kept without a date; only the date is asked for."""
    entries = dict(good_visit("A1"))
    del entries["fields", HEAD, "visit_date"]
    verdict = judge(season, read(season, entries))
    assert codes(verdict) == ["date-missing"]
    assert len(verdict.readings) == len(entries)


def test_all_stops_on_the_edge_leave_no_field_figure(season: Season) -> None:
    """End rows and edges never stand for the field."""
    entries = {**good_visit("A1", stops=3)}
    for stop in (1, 2, 3):
        entries["stops", ("A1", stop), "place"] = "edge"
    assert codes(judge(season, read(season, entries))) == ["all-off-figure"]


def test_places_far_from_the_field_are_asked_about(season: Season) -> None:
    """A longitude without its minus is recognised; a stop 70 miles off is asked about."""
    for longitude, code in ((93.5, "longitude-sign"), (-94.9, "stop-far-away")):
        entries = {
            **good_visit("A1", pulled=5),
            ("stops", STOP, "latitude"): 41.5,
            ("stops", STOP, "longitude"): longitude,
        }
        assert codes(judge(season, read(season, entries, full=True))) == [code]


def test_how_far_a_stop_lies_is_told_in_the_seasons_unit(season: Season) -> None:
    """1.4 degrees of longitude at 41.5 degrees north are 72.5 miles, or 117 km."""
    entries = {
        **good_visit("A1", pulled=5),
        ("stops", STOP, "latitude"): 41.5,
        ("stops", STOP, "longitude"): -94.9,
    }
    for units, distance in ((System.US, "72 miles"), (System.METRIC, "117 km")):
        told = replace(season, settings=replace(season.settings, units=units))
        (asked,) = judge(told, read(season, entries, full=True)).open_questions
        assert f"lies about {distance} from" in sentence(asked.problem)


def test_a_stop_may_lie_a_mile_beyond_the_field(season: Season) -> None:
    """1.2 miles from the middle of 80 acres pass, 1.6 are asked about (a degree is 51.8 miles)."""
    for miles, wanted in ((1.2, []), (1.6, ["stop-far-away"])):
        entries = {
            **good_visit("A1", pulled=5),
            ("stops", STOP, "latitude"): 41.5,
            ("stops", STOP, "longitude"): -93.5 - miles / 51.8,
        }
        assert codes(judge(season, read(season, entries, full=True))) == wanted


def test_a_stage_going_backwards_is_asked_about(season: Season) -> None:
    """R4 after R5 was seen five days before."""
    seen = PastVisit(visit_id="A1.KC0", day=date(2026, 8, 7), stage="R5")
    assert codes(judge(season, read(season, good_visit("A1")), A1=(seen,))) == ["stage-backwards"]


def moved(book: BookEntries, sheet: str, change: dict[int, EntryRow | None]) -> BookEntries:
    """Return a book with some rows of a sheet replaced or dropped, by index."""
    rows = [change.get(at, row) for at, row in enumerate(book.sheets[sheet].rows)]
    kept = tuple(row for row in rows if row is not None)
    return replace(book, sheets={**book.sheets, sheet: replace(book.sheets[sheet], rows=kept)})


def test_a_doubled_ear_is_refused_on_both_rows(season: Season) -> None:
    """Two filled rows with one key: neither is used, and both rows are named."""
    book = read(season, good_visit("A1"))
    rows = book.sheets["ears"].rows
    cells = rows[1].cells.typing("ear", 1.0)
    twice = moved(book, "ears", {1: EntryRow(number=rows[1].number, cells=cells)})
    verdict = judge(season, twice)
    assert codes(verdict) == ["row-doubled", "row-missing"]
    assert not [r for r in verdict.readings if r.sheet == "ears" and r.row in ((1, 1), (1, 2))]


def bearing(book: BookEntries, sheet: str, at: int, field: str) -> BookEntries:
    """Return a book with another field typed into the Field cell of a row, by index."""
    row = book.sheets[sheet].rows[at]
    cells = row.cells.typing("field_id", field)
    return moved(book, sheet, {at: EntryRow(number=row.number, cells=cells)})


@pytest.mark.parametrize(("sheet", "cell"), [("fields", "A5"), ("stops", "A5"), ("ears", "A5")])
def test_a_row_that_bears_another_field_is_one_question(
    season: Season, sheet: str, cell: str
) -> None:
    """The message is at the row's Field cell; neither field has its numbers, the rest stands."""
    book = bearing(read(season, good_visit("A1")), sheet, 0, "A2")
    verdict = judge(season, book)
    (asked,) = verdict.open_problems
    assert asked.code == "row-of-other-field"
    assert (asked.place.cell, asked.place.column) == (cell, "field_id")
    said = sentence(asked)
    assert "type A1 under Field" in said
    assert "if A2's, move them to its own row" in said
    assert verdict.visits == ("A1.KC1",)
    first = book.sheets[sheet].rows[0].cells
    key = tuple(int(str(first[name].value)[0]) for name in ("stop", "ear") if name in first)
    rows = {(one.sheet, one.row) for one in verdict.readings}
    whole = {(one.sheet, one.row) for one in judge(season, read(season, good_visit("A1"))).readings}
    assert rows == whole - {(sheet, key)}


def test_a_row_keeps_its_numbers_beside_a_copy_of_it_in_another_field(season: Season) -> None:
    """Row 1 of A1 was copied over that of A2: A1's own row is used, the copy by neither."""
    book = read(season, good_visit("A1"))
    rows = book.sheets["ears"].rows
    at = next(at for at, row in enumerate(rows) if row.cells["field_id"].value == "A2")
    cells = RowCells(rows[0].cells.typed, rows[0].cells.letters, rows[at].number)
    copied = moved(book, "ears", {at: EntryRow(number=rows[at].number, cells=cells)})
    verdict = judge(season, copied)
    assert codes(verdict) == ["row-of-other-field"]
    assert verdict.readings == judge(season, book).readings


def test_rows_that_were_sorted_stand(season: Season) -> None:
    """Every row is there once, so none bears another's field."""
    book = read(season, good_visit("A1"))
    rows = dict(enumerate(reversed(book.sheets["ears"].rows)))
    assert codes(judge(season, moved(book, "ears", rows))) == []


def test_a_row_that_was_never_printed_is_refused(season: Season) -> None:
    """Stop 9 is not in the plan of five; the others stand."""
    book = read(season, good_visit("A1"))
    rows = book.sheets["stops"].rows
    cells = rows[0].cells.typing("stop", 9.0)
    verdict = judge(season, moved(book, "stops", {0: EntryRow(number=5, cells=cells)}))
    assert codes(verdict) == ["row-unknown", "row-missing"]


def test_a_deleted_row_is_noted(season: Season) -> None:
    """A printed ear that is gone is told, and nothing else is lost."""
    book = read(season, good_visit("A1"))
    assert codes(judge(season, moved(book, "ears", {2: None}))) == ["row-missing"]


def test_a_changed_locked_name_is_asked_about(season: Season) -> None:
    """The printed name is used; the changed one is shown."""
    book = read(season, good_visit("A1"))
    row = book.sheets["fields"].rows[0]
    cells = row.cells.typing("field", "Long ninety")
    verdict = judge(season, moved(book, "fields", {0: EntryRow(number=5, cells=cells)}))
    assert codes(verdict) == ["identity-edited"]


def test_a_book_of_another_season_is_refused_whole(season: Season) -> None:
    """Nothing of it is read."""
    book = read(season, good_visit("A1"))
    other = replace(book, identity=replace(book.identity, season_id="north-2025"))
    verdict = judge(season, other)
    assert codes(verdict) == ["book-other-season"]
    assert verdict.readings == ()


def test_a_field_that_the_roster_lost_is_kept_but_named(season: Season) -> None:
    """Readings of an unknown field are kept for the day that the roster has it again."""
    book = read(season, good_visit("A1"))
    roster = replace(
        season.roster, fields={k: v for k, v in season.roster.fields.items() if k != "A1"}
    )
    verdict = judge(replace(season, roster=roster), book)
    assert codes(verdict) == ["field-unknown"]
    assert len(verdict.readings) == len(good_visit("A1"))


def test_two_ears_a_plant_are_asked_and_never_refused(season: Season) -> None:
    """More ears than plants is true in thin stands: the count stays used once confirmed."""
    entries = {
        **good_stop("A1", 1, ears=30),
        ("fields", HEAD, "visit_date"): VISIT_DAY,
        ("stops", STOP, "plants"): 20,
        ("stops", STOP, "answer"): "true",
    }
    verdict = judge(season, read(season, entries))
    assert codes(verdict) == []
    assert ROWS[0].field_id == "A1"
