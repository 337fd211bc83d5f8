"""What checks do with rows and books that lack what they look at: nothing, and without a fault."""

from dataclasses import replace
from datetime import date, datetime

import pytest
from seasons import NOW, VISIT_DAY, book_plan, good_visit

from fieldbook.check.book import check_book
from fieldbook.check.cells import parse_value, typed_text
from fieldbook.check.history import PastVisit, ear_count, stop_count
from fieldbook.entries import BookEntries, CellValue, EntryRow
from fieldbook.figures import shipped_figures
from fieldbook.forms.ears import EARS
from fieldbook.season.season import Season
from fieldbook.units import System
from fieldbook.workbook.read import read_book
from fieldbook.workbook.write import write_book


@pytest.fixture
def book(season: Season) -> BookEntries:
    """Return a filled book of one visit, as read."""
    read = read_book(write_book(book_plan(season, entries={"A1": good_visit("A1")})), "ana.xlsx")
    assert read.book is not None
    return read.book


def codes(season: Season, book: BookEntries, *past: PastVisit, sent_by: str | None = None):
    """Judge a book; return what is open."""
    known = {"A1": past} if past else {}
    context = season.context(known, today=NOW.date(), received=NOW.date(), sent_by=sent_by)
    return [found.code for found in check_book(book, context).open_problems]


def with_rows(book: BookEntries, sheet: str, *more: EntryRow) -> BookEntries:
    """Put rows behind those of a sheet."""
    entries = book.sheets[sheet]
    longer = replace(entries, rows=(*entries.rows, *more))
    return replace(book, sheets={**book.sheets, sheet: longer})


def emptied(row: EntryRow, number: int) -> EntryRow:
    """Return a row with its printed keys alone."""
    return EntryRow(number=number, cells=row.cells.only({"field_id", "stop", "ear"}))


def test_a_book_without_its_fields_sheet_asks_nothing_of_it(
    season: Season, book: BookEntries
) -> None:
    """Neither its date nor its stage nor who walked, whatever another visit says."""
    torn = replace(book, sheets={n: one for n, one in book.sheets.items() if n != "fields"})
    seen = PastVisit(visit_id="A1.X", day=VISIT_DAY, stage="R5", scout="joss")
    assert codes(season, torn, seen) == []
    assert codes(season, torn, sent_by="joss") == ["mail-field-not-given"]


def test_another_visit_without_a_stage_contradicts_none(season: Season, book: BookEntries) -> None:
    """Its stage was not typed; the day stands."""
    assert codes(season, book, PastVisit(visit_id="A1.X", day=date(2026, 7, 1))) == []


def test_rows_without_an_entry_are_no_rows(season: Season, book: BookEntries) -> None:
    """A second row of the same keys, one that was never printed, one whose key is torn."""
    ear = book.sheets["ears"].rows[0]
    again = emptied(ear, 900)
    stranger = EntryRow(number=901, cells=again.cells.typing("stop", 9.0))
    torn = EntryRow(number=902, cells=again.cells.typing("stop", 1.5))
    assert codes(season, with_rows(book, "ears", again, stranger, torn)) == []
    filled = EntryRow(number=903, cells=ear.cells.typing("stop", 1.5))
    assert codes(season, with_rows(book, "ears", filled)) == ["row-unknown"]


@pytest.mark.parametrize(
    ("value", "said"),
    [(True, "TRUE"), (False, "FALSE"), (datetime(2026, 7, 22, 9), "2026-07-22"), (16.0, "16")],
)
def test_what_is_no_text_is_kept_as_the_app_shows_it(value: CellValue, said: str) -> None:
    """A remark may be a tick, a date or a number."""
    assert typed_text(value) == said
    column = EARS.column("remark")
    assert parse_value(column, value, units=System.US, language="en").value == said


def test_an_ear_that_lost_more_rows_than_it_has_counts_no_kernels() -> None:
    """Its row is asked about; until then it takes part in nothing."""
    assert ear_count(1, {"rows_around": 14, "lost_rows": 16, "kernels_set": 30}).kernels is None
    assert ear_count(1, {"rows_around": 14, "lost_rows": 4, "kernels_set": 30}).kernels == 300


def test_a_stop_that_was_moved_is_not_compared() -> None:
    """It lies elsewhere than the one before."""
    stand = {"plants": 32}
    kept = stop_count(1, stand, row_width_in=30, units=System.US)
    assert kept is not None
    for moved in ({"latitude": 41.5}, {"place": "edge"}):
        assert stop_count(1, {**stand, **moved}, row_width_in=30, units=System.US) is None


def test_a_figure_is_known_by_its_key() -> None:
    """And no other."""
    assert "checks.outlier_z" in shipped_figures()
    assert "checks.nothing" not in shipped_figures()
