"""The checks that ordinary visits rarely meet: lost parts of a book, and the roster's own."""

import io
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from openpyxl import Workbook, load_workbook
from seasons import NOW, ROWS, VISIT_DAY, book_plan, good_visit, small_season

from fieldbook.check.book import check_book
from fieldbook.check.roster import check_roster
from fieldbook.entries import BookEntries, EntryRow
from fieldbook.forms.roster import RosterRow
from fieldbook.problems import Problem, Weight, sentence
from fieldbook.season.loading import read_books
from fieldbook.season.season import Season
from fieldbook.units import System
from fieldbook.workbook.read import ReadBook, read_book, read_roster
from fieldbook.workbook.roster import write_roster
from fieldbook.workbook.write import write_book
from fieldbook.worker import Outcome


def book_of(season: Season, *, full: bool = False, **more: int) -> BookEntries:
    """Return a filled book as read; `more` fills cells of stop 1."""
    entries = good_visit("A1", pulled=5 if full else 3)
    for column, value in more.items():
        entries["stops", ("A1", 1), column] = value
    data = write_book(book_plan(season, full=full, entries={"A1": entries}))
    read = read_book(data, "ana.xlsx")
    assert read.book is not None
    return read.book


def codes_of(season: Season, book: BookEntries, *, received: date | None = None) -> list[str]:
    """Judge a book; return the codes of what is open."""
    context = season.context({}, today=NOW.date(), received=received)
    return [found.code for found in check_book(book, context).open_problems]


def test_more_barren_plants_than_plants(season: Season) -> None:
    """31 barren of 30 plants cannot be."""
    book = book_of(season, full=True, plants=30, barren=31)
    assert codes_of(season, book) == ["barren-over-plants"]


def test_a_date_after_the_book_was_sent(season: Season) -> None:
    """A book that came in two days before its own visit date is refused that date."""
    early = VISIT_DAY - timedelta(days=2)
    assert codes_of(season, book_of(season), received=early) == ["date-after-sent"]


def test_a_lost_key_column_is_told_once(season: Season) -> None:
    """Without its Stop column no row can be told apart: one message, not one a row."""
    book = book_of(season)
    rows = tuple(
        EntryRow(number=row.number, cells=row.cells.only({*row.cells} - {"stop"}))
        for row in book.sheets["ears"].rows
    )
    torn = replace(book, sheets={**book.sheets, "ears": replace(book.sheets["ears"], rows=rows)})
    found = codes_of(season, torn)
    assert found.count("key-column-missing") == 1
    assert "row-unknown" not in found


def test_a_book_of_a_form_of_the_future(season: Season) -> None:
    """A form version that nobody knows yet is refused with the way out."""
    plan = book_plan(season, entries={"A1": good_visit("A1")})
    newer = replace(plan, identity=replace(plan.identity, form_version=99))
    read = read_book(write_book(newer), "ana.xlsx")
    assert [found.code for found in read.problems] == ["book-form-newer"]
    assert "99" in sentence(read.problems[0])


def torn(season: Season, tear: Callable[[Workbook], object]) -> ReadBook:
    """Write a filled book, tear something out of it, and read it back."""
    data = write_book(book_plan(season, entries={"A1": good_visit("A1")}))
    book = load_workbook(io.BytesIO(data))
    tear(book)
    out = io.BytesIO()
    book.save(out)
    return read_book(out.getvalue(), "ana.xlsx")


def test_a_lost_sheet_is_asked_about(season: Season) -> None:
    """The other sheets are taken in, and the lost one is named."""
    read = torn(season, lambda book: book.remove(book["Stops"]))
    assert read.book is not None
    assert "sheet-missing" in [found.code for found in read.book.problems]
    assert set(read.book.sheets) == {"fields", "ears", "leaves", "photos"}


def test_a_lost_column_counts_as_not_looked_at(season: Season) -> None:
    """The Remark column of Ears is gone: it is named, and all other readings stand."""
    read = torn(season, lambda book: book["Ears"].delete_cols(11))
    assert read.book is not None
    found = [(p.code, str(dict(p.params)["column"])) for p in read.book.problems]
    assert found == [("column-missing", "Remark")]


def test_a_file_that_kills_its_reader_costs_no_other(
    season: Season, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One file's dead reader is that file's fault alone; the next is read."""
    paths = [tmp_path / "one.xlsx", tmp_path / "two.xlsx"]
    for path in paths:
        path.write_bytes(write_book(book_plan(season)))
    good = read_book(paths[1].read_bytes(), "two.xlsx")
    outcomes = [Outcome(died=True), Outcome(value=good)]
    monkeypatch.setattr(
        "fieldbook.season.loading.isolated",
        lambda _, sent: (outcome for outcome, _ in zip(outcomes, sent, strict=True)),
    )
    first, second = (read for *_, read in read_books(season, paths))
    assert [found.code for found in first.problems] == ["file-reader-died"]
    assert second == good


ROSTER = [
    ({"silk_gdd_f": 1990.0, "black_layer_gdd_f": 1600.0}, "silk-after-ripe", "roster-cell-unused"),
    ({"acres": 0.01}, "roster-impossible", "roster-left-out"),
    ({"acres": 900.0}, "roster-rare", None),
    ({"acres": None}, "roster-needs", "roster-left-out"),
    ({"use": "popcorn"}, "roster-other-corn", None),
]


@pytest.mark.parametrize(("changes", "code", "cost"), ROSTER)
def test_each_roster_fault_has_its_own_words(
    changes: dict[str, object], code: str, cost: str | None
) -> None:
    """One fault in one row: its own code, what it costs, and the other field stands."""
    rows = (replace(ROWS[0], **changes), ROWS[1])  # type: ignore[arg-type]
    assert roster_codes(*rows) == [code, *([cost] if cost else [])]


def roster_codes(*rows: RosterRow) -> list[str]:
    """Write, read and check a roster; return the codes."""
    return [found.code for found in roster_problems(*rows)]


def roster_problems(*rows: RosterRow) -> tuple[Problem, ...]:
    """Write, read and check a roster; return what is to say of it."""
    data = write_roster(rows, year=2026, units=System.US, language="en", paper="letter")
    read = read_roster(data, "roster.xlsx")
    assert read.sheet is not None
    _, problems = check_roster(read.sheet, "roster.xlsx", System.US, "en")
    return problems


def test_one_field_with_two_growers_is_refused() -> None:
    """Two rows of a field differ in hybrid and planting date only."""
    other = replace(ROWS[0], grower="Somebody Else", hybrid="Tamsin 104")
    assert roster_codes(ROWS[0], other, ROWS[1]) == [*("roster-field-differs", "roster-left-out")]


def test_a_field_id_that_stands_twice_is_told_though_its_first_row_has_a_fault() -> None:
    """A second row with the ID does not become the field in silence."""
    faulty = replace(ROWS[0], acres=None)
    other = replace(ROWS[1], field_id="A1")
    names = roster_codes(faulty, other, ROWS[2])
    out = "roster-left-out"
    assert set(names) == {"roster-needs", "roster-field-differs", out}
    assert roster_codes(faulty, ROWS[0], ROWS[2]) == ["roster-needs", "roster-row-twice", out]
    assert roster_codes(ROWS[0], faulty, ROWS[2]) == ["roster-needs", "roster-row-twice", out]
    assert roster_codes(faulty, faulty, ROWS[2]) == [*["roster-needs"] * 2, "roster-row-twice", out]
    wide = replace(ROWS[0], row_width_in=20.0, hybrid="Tamsin 104")
    unsaid = replace(ROWS[0], row_width_in=None, hybrid="Tamsin 110")
    differing = roster_codes(unsaid, ROWS[0], wide, ROWS[2])
    assert differing == ["roster-needs", "roster-field-differs", out]


def test_a_field_whose_one_planting_has_a_fault_is_told_as_a_part() -> None:
    """The field stands with the other planting; that it is smaller than it is, is asked."""
    rows = (replace(ROWS[0], acres=0.01), replace(ROWS[0], hybrid="Tamsin 104"), ROWS[1])
    assert roster_codes(*rows) == ["roster-impossible", "roster-field-part"]
    unknown = (replace(ROWS[0], row_width_in=None), replace(ROWS[0], hybrid="Tamsin 104"))
    assert roster_codes(*unknown) == ["roster-needs", "roster-field-part"]


def test_a_grower_id_with_two_names_is_told_with_both_places() -> None:
    """Once for each other name, however many fields have it; case and spaces make no other name."""
    found = roster_problems(
        ROWS[0],
        replace(ROWS[1], grower="oda  fenwick"),
        replace(ROWS[1], field_id="A3", grower="O. Fenwick"),
        replace(ROWS[1], field_id="A4", grower="O. Fenwick"),
        ROWS[2],
    )
    (told,) = found
    assert (told.code, told.weight) == ("roster-grower-differs", Weight.NOTE)
    first = dict(told.params)["first"]
    assert isinstance(first, int)
    assert told.place.cell == f"B{first + 2}"
    assert "'O. Fenwick'" in sentence(told)
    assert f"'Oda Fenwick' in row {first}" in sentence(told)


@pytest.mark.parametrize(("label", "codes"), [("Formerly", []), ("Remark", ["column-missing"])])
def test_a_roster_of_before_is_not_asked_about_a_column_that_came_later(
    label: str, codes: list[str]
) -> None:
    """One that was always there and is gone is asked about."""
    data = write_roster(ROWS, year=2026, units=System.US, language="en", paper="letter")
    book = load_workbook(io.BytesIO(data))
    sheet = book["Roster"]
    at = next(cell.column for row in sheet.iter_rows() for cell in row if cell.value == label)
    sheet.delete_cols(at)
    out = io.BytesIO()
    book.save(out)
    assert [found.code for found in read_roster(out.getvalue(), "roster.xlsx").problems] == codes


def test_an_empty_roster_is_told() -> None:
    """A roster without a field gives nothing to work with."""
    assert roster_codes() == ["roster-empty"]


def test_a_book_is_no_roster(season: Season) -> None:
    """A workbook without a Roster sheet is named so."""
    read = read_roster(write_book(book_plan(season)), "roster.xlsx")
    assert [found.code for found in read.problems] == ["file-not-a-roster"]


def test_scouts_and_stations_that_the_season_does_not_know(tmp_path: Path) -> None:
    """Both are asked about; the field stands."""
    season = small_season(tmp_path / "s", rows=(replace(ROWS[0], scout="zed", station="moon"),))
    codes = [found.code for found in season.problems]
    assert codes == ["roster-unknown-scout", "roster-unknown-station"]
    assert list(season.roster.fields) == ["A1"]
