"""What checks do with rows and books that lack what they look at: nothing, and without a fault."""

from dataclasses import replace
from datetime import date, datetime

import pytest
from seasons import NOW, VISIT_DAY, book_plan, good_visit

from fieldbook.check.book import check_book, empty_cells
from fieldbook.check.cells import parse_value, typed_text
from fieldbook.check.context import Context
from fieldbook.check.history import PastVisit, ear_count, stop_count
from fieldbook.check.verdict import CheckedBook, Question, Reading, State, Status
from fieldbook.entries import BookEntries, CellValue, EntryRow, Mark, RowCells
from fieldbook.figures import shipped_figures
from fieldbook.forms.ears import EARS
from fieldbook.problems import problem
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


# ---- what a book says by its empty cells --------------------------------------------------------


def found_empty(book: BookEntries) -> dict[tuple[object, ...], Reading]:
    """Return what the filled field's empty cells say, by where they are."""
    ours = (one for one in empty_cells(book) if one.visit_id == "A1.KC1")
    return {(one.sheet, one.row, one.column): one for one in ours}


def test_an_empty_cell_is_a_cleared_reading(book: BookEntries) -> None:
    """The remark that nobody wrote is one, what was typed beside it is none."""
    found = found_empty(book)
    remark = found["ears", (1, 1), "remark"]
    assert (remark.status, remark.value) == (Status.CLEARED, None)
    assert ("ears", (1, 1), "rows_around") not in found
    assert ("fields", (), "remark") in found


def test_a_cell_that_is_gone_was_emptied_by_nobody(book: BookEntries) -> None:
    """Without the column of remarks no remark of an ear is cleared; other cells still are."""
    ears = book.sheets["ears"]
    kept = {"field_id", "stop", "ear", "rows_around", "answer"}
    rows = tuple(EntryRow(number=one.number, cells=one.cells.only(kept)) for one in ears.rows)
    torn = replace(book, sheets={**book.sheets, "ears": replace(ears, rows=rows)})
    columns = {column for sheet, _, column in found_empty(torn) if sheet == "ears"}
    assert columns == {"answer"}


def test_a_formula_in_a_printed_cell_is_no_reading(season: Season, book: BookEntries) -> None:
    """An app that works out anew how far to walk changes nothing; where a count stands, it does."""
    stops = book.sheets["stops"]
    first, *rest = stops.rows

    def with_formula(column: str) -> BookEntries:
        cells = first.cells
        marks = {column: Mark(is_formula=True)}
        marked = RowCells(cells.typed, cells.letters, cells.number, marks)
        rows = (EntryRow(number=first.number, cells=marked), *rest)
        return replace(book, sheets={**book.sheets, "stops": replace(stops, rows=rows)})

    assert codes(season, with_formula("go_to")) == []
    assert codes(season, with_formula("ears")) == ["formula-in-entry"]


# ---- the field as it was printed ----------------------------------------------------------------


@pytest.mark.parametrize(("printed_in", "asked"), [(30.0, []), (20.0, ["row-width-differs"])])
def test_a_book_of_another_row_width_is_told(
    season: Season, book: BookEntries, printed_in: float, asked: list[str]
) -> None:
    """The roster has 30 inches; lengths in a book printed for 20 were measured for those."""
    slips = tuple(replace(slip, row_width_in=printed_in) for slip in book.identity.visits)
    assert codes(season, replace(book, identity=replace(book.identity, visits=slips))) == asked


# ---- a season of which less is known ------------------------------------------------------------


def test_a_context_without_weather_has_none_for_any_field(
    season: Season, book: BookEntries
) -> None:
    """A good book is judged by its days then, and is as good."""
    context = Context(
        season_id=season.settings.season_id,
        year=season.settings.year,
        language="en",
        units=System.US,
        roster=season.roster,
        today=NOW.date(),
    )
    assert all(context.temps(field) is None for field in season.roster.fields.values())
    assert check_book(book, context).open_problems == ()


def test_a_note_is_no_open_question() -> None:
    """Nobody waits for an answer to it, nor to what was confirmed."""
    asked, note = problem("rows-odd"), problem("text-cut", count=1200, most=1000)
    questions = tuple(
        Question(visit_id="A1.KC1", problem=one, state=state)
        for one, state in ((asked, State.OPEN), (asked, State.CONFIRMED), (note, State.OPEN))
    )
    verdict = CheckedBook(readings=(), questions=questions, problems=())
    assert verdict.open_questions == questions[:1]
    assert len(verdict.open_problems) == 2
