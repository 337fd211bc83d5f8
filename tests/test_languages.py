"""Languages: whose is used where, and that no word of ours reaches a reader past the seam."""

import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import pytest
from babel.dates import get_day_names, get_month_names
from catalogue import all_texts
from openpyxl import load_workbook
from pseudo import LANGUAGE, Spoken, book_texts, page_texts, plain_words
from report import factory
from seasons import NOW, ROWS, book_plan, good_visit, small_season, write_filled

from fieldbook.agronomy.leafrules import GRAY_LEAF_SPOT
from fieldbook.check.book import check_book
from fieldbook.check.verdict import CheckedBook
from fieldbook.explain import all_lines
from fieldbook.forms.rounds import ROUNDS
from fieldbook.ledger.ledger import Ledger
from fieldbook.problems import catalogue, line
from fieldbook.report import field_page
from fieldbook.report.board_page import board_page
from fieldbook.report.context import ReportContext, report_context
from fieldbook.report.harvest_page import harvest_html, harvest_view
from fieldbook.report.letter_page import LetterView, letter_html, letter_views
from fieldbook.report.letterwords import Compared
from fieldbook.report.packet_page import packet_html, packet_views
from fieldbook.report.plan_page import week_pages
from fieldbook.report.team import on_board
from fieldbook.results.planning import season_plan
from fieldbook.results.result import FieldResult
from fieldbook.results.results import season_results
from fieldbook.season.ask import _plans, _reply
from fieldbook.season.blank import Order, book_plans
from fieldbook.season.intake import take_in
from fieldbook.season.season import Season, open_season
from fieldbook.settings.fresh import settings_text
from fieldbook.settings.settings import Grower, Scout
from fieldbook.units import System
from fieldbook.words import say_count
from fieldbook.workbook.read import read_book
from fieldbook.workbook.roster import write_roster
from fieldbook.workbook.write import write_book

NAMES = {
    *(str(value) for row in ROWS for value in vars(row).values() if isinstance(value, str)),
    *("Test season", "Ana", "Joss", "silkbook", "xlsx", "GDD", "36 or so", "anyone"),
    *("Fusarium", "Gibberella", "Diplodia", "Aspergillus", "Penicillium"),
    *(
        "Some rolled leaves at noon",
        "Mirela Austvik",
        "Lower leaves still green",
        "Weeds in the row",
        "Ears, ",
    ),
    *("Windmill seventy", "Tobias Renwick", "Larkspur", "Three county trials, 2021 to 2024"),
}
DAYS = {
    name.rstrip(".")
    for names in (get_month_names, get_day_names)
    for width in ("wide", "abbreviated")
    for name in names(width, locale="es_US").values()
}
ODD = {
    ("ears", ("A1", 2, 1), "rows_around"): 15,
    ("ears", ("A1", 3, 2), "kernels_set"): "36 or so",
    ("ears", ("A1", 4, 1), "rows_around"): 24,
}


@pytest.fixture
def walked(season: Season, tmp_path: Path) -> Season:
    """Take in a book with three questions; the season is then read in the made-up language."""
    book = write_filled(tmp_path / "first.xlsx", season, good_visit("A1") | ODD)
    (taken,) = take_in(season, [book], now=NOW)
    assert len(taken.open_problems) == len(ODD)
    return replace(season, settings=replace(season.settings, language=LANGUAGE))


def leaks(text: str) -> set[str]:
    """Return the words that never passed the seam."""
    return plain_words(text, NAMES) - DAYS


def test_no_word_of_a_page_passes_the_seam(walked: Season) -> None:
    """Field, board, order of harvest and a scout's week, and every text is in the catalogue."""
    with Spoken() as asked:
        found = season_results(walked, as_of=NOW.date())
        context = report_context(walked)
        pages = [field_page(result, context) for result in (*found.fields, *results())]
        pages.append("".join(board_page(on_board(walked, found, context), context)))
        order = harvest_view(falling(), context, reports={"K07": "a.html"}, scouts={})
        assert order is not None
        pages.append(harvest_html(order, context))
        pages += [packet_html(view, context) for view in packet_views(found.fields, context)]
        pages += [letter_html(view, context) for view in _letters(found.fields, context)]
        plan = season_plan(walked, as_of=NOW.date(), days=14)
        pages += [page for _, page in week_pages(plan, walked.settings, "ana")]
        assert {word for page in pages for word in leaks(page_texts(page))} == set()
    assert asked - set(all_texts()) - {""} == set()


def _letters(fields: Sequence[FieldResult], context: ReportContext) -> Iterator[LetterView]:
    """Yield letters on fields seen once and twice."""
    days = {one.field_id: [seen.date for seen in one.visits if seen.date] for one in fields}
    looked = [one for one in fields if days[one.field_id]]
    for then in (None, looked[0]):
        told = [Compared(now=one, then=then, day=days[one.field_id][-1]) for one in looked]
        yield from letter_views(told, [one for one in fields if one not in looked], context)


def results() -> Iterator[FieldResult]:
    """Yield invented results of many kinds."""
    skipped = ("hostile", "longest names")
    yield from (made() for name, made in factory.ALL.items() if name not in skipped)
    spots = [(8, 4), (12, 6), (9, 5), (4, 1), (11, 8)]
    for disease in (GRAY_LEAF_SPOT, "goss-wilt", "unknown", "none"):
        seen = factory.leaves(factory.leaf(disease, spots))
        yield factory.full(leaves=seen, fungicide=factory.asked())
    yield from falling()
    yield from (factory.harvested(made) for made in (factory.full(), *falling()))
    yield factory.harvested(factory.full(yield_=None, stops=(), ears=None), cut=None)


def falling() -> tuple[FieldResult, ...]:
    """Return fields before harvest whose stalks give way, with little and with much mould."""
    return tuple(
        factory.full(ripe=factory.ripening(mouldy=mouldy, failed=(8, 7, 9, 8, 8)))
        for mouldy in ((0, 1, 0, 0, 1), (9, 8, 9, 7, 9))
    )


def test_no_word_of_a_workbook_passes_the_seam(walked: Season) -> None:
    """Books of every round, the correction book, the roster and the results' workbook."""
    with Spoken() as asked:
        plans = [
            next(iter(book_plans(walked, Order(round_=one, full=full))))
            for one in ROUNDS.values()
            for full in (False, True)
        ]
        with Ledger(walked.folder) as ledger:
            questions = list(_plans(walked, ledger, None))
        made = [write_book(plan) for plan in (*plans, *(plan for plan, _ in questions))]
        made.append(write_roster(ROWS, year=2026, units=System.US, language=LANGUAGE, paper="a4"))
        assert {word for book in made for word in leaks(book_texts(book))} == set()
        replies = [_reply(walked, plan, asked_) for plan, asked_ in questions]
        assert {word for reply in replies for word in leaks(reply)} == set()
    assert asked - set(all_texts()) - {""} == set()


def test_no_word_of_a_message_passes_the_seam(walked: Season) -> None:
    """Questions that an English intake kept are told in any language, and so is what is checked."""
    with Spoken() as asked:
        with Ledger(walked.folder) as ledger:
            told = [line(one.problem.in_file(""), LANGUAGE) for one in ledger.questions()]
        assert len(told) == len(ODD)
        assert leaks(" ".join(told).replace("Ears, ", "")) == set()
        codes = "|".join(catalogue())
        said = " ".join(text.strip() for text in all_lines(LANGUAGE))
        assert leaks(re.sub(rf"\b({codes}) \(", "(", said)) == set()
    assert asked - set(all_texts()) - {""} == set()


def judged(season: Season, data: bytes) -> CheckedBook:
    """Read and judge a book in an English season."""
    read = read_book(data, "book.xlsx", identities=season.folder.identities)
    assert read.book is not None, read.problems
    assert read.book.problems == ()
    return check_book(read.book, season.context({}, today=NOW.date(), received=None))


def written(season: Season, language: str) -> bytes:
    """Write a filled book in a language."""
    settings = replace(season.settings, language=language)
    other = replace(season, settings=settings)
    return write_book(book_plan(other, entries={"A1": good_visit("A1") | ODD}))


@pytest.mark.parametrize("has_key_row", [True, False])
def test_a_book_of_another_language_gives_equal_readings(season: Season, has_key_row: bool) -> None:
    """Columns are found by the hidden key row or by their heads, choices by their labels."""
    english = judged(season, written(season, "en"))
    with Spoken():
        data = written(season, LANGUAGE)
        other = judged(season, data if has_key_row else without_key_rows(data))
    assert [
        (one.visit_id, one.sheet, one.row, one.column, one.value, one.status)
        for one in other.readings
    ] == [
        (one.visit_id, one.sheet, one.row, one.column, one.value, one.status)
        for one in english.readings
    ]
    assert [one.problem.params for one in other.questions] == [
        one.problem.params for one in english.questions
    ]


def without_key_rows(data: bytes) -> bytes:
    """Take the hidden key rows out of a book, as other apps do when rows are copied."""
    book = load_workbook(io.BytesIO(data))
    for sheet in book:
        if sheet.sheet_state == "visible":
            for cell in sheet[1]:
                cell.value = cell.value if sheet.title.startswith("⟦Start") else None
    kept = io.BytesIO()
    book.save(kept)
    return kept.getvalue()


def test_a_choice_is_known_in_every_language(season: Season) -> None:
    """Whatever language a book was printed in, a label typed in another one is the same key."""
    entry = {("stops", ("A1", 1), "place"): "⟦End rows⟧"}
    with Spoken():
        plan = book_plan(season, entries={"A1": good_visit("A1") | entry})
        verdict = judged(season, write_book(plan))
    (place,) = [one for one in verdict.readings if one.column == "place"]
    assert (place.value, place.status) == ("end-rows", "used")


def test_a_scout_and_a_grower_may_have_a_language_of_their_own(season: Season) -> None:
    """Books and messages are in the scout's, pages in the grower's, all else in the season's."""
    ana, joss = season.settings.scouts
    settings = replace(
        season.settings,
        scouts=(replace(ana, language=LANGUAGE), joss),
        growers=(Grower(grower_id="G2", language=LANGUAGE),),
    )
    mixed = replace(season, settings=settings)
    plans = {scout: book_plan(mixed, scout=scout) for scout in ("ana", "joss")}
    assert {scout: plan.identity.language for scout, plan in plans.items()} == {
        "ana": LANGUAGE,
        "joss": "en",
    }
    assert [settings.language_for(grower) for grower in ("G1", "G2")] == ["en", LANGUAGE]


def test_settings_of_a_language_are_read_back(tmp_path: Path) -> None:
    """A fresh file says them, and a grower whom the roster does not know is told."""
    season = small_season(tmp_path / "season")
    settings = replace(
        season.settings,
        scouts=(Scout(scout_id="ana", name="Ana", language=LANGUAGE),),
        growers=(Grower(grower_id="G7", language=LANGUAGE),),
    )
    season.folder.settings.write_text(settings_text(settings), encoding="utf-8")
    again, _ = open_season(season.folder.path)
    assert again is not None
    assert (again.settings.scouts, again.settings.growers) == (settings.scouts, settings.growers)
    assert "season-grower-unknown" in [one.code for one in again.problems]


@pytest.mark.parametrize(
    ("count", "language", "said"),
    [
        (0, "en", "0 questions are open."),
        (1, "en", "One question is open."),
        (2, "en", "2 questions are open."),
        (1, "es", "Hay una pregunta abierta."),
    ],
)
def test_one_thing_is_counted_as_one(count: int, language: str, said: str) -> None:
    """One and several are two texts, each with its own words in any language."""
    texts = ("One question is open.", "{count} questions are open.")
    assert say_count(count, *texts, language) == said
