"""Languages of tables, plans, trials and mail: no word of ours reaches a reader past the seam."""

import io
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from email import message_from_bytes
from email.message import EmailMessage
from email.policy import default
from pathlib import Path

import pyarrow.parquet as pq
import pytest
from catalogue import all_texts
from harvested import Plot, count, cut, harvest_of, season_of, strips, take
from post import book, laid, mail_season, message
from pseudo import LANGUAGE, Spoken, book_texts, page_texts
from report import factory
from report.test_settle_page import SETTLED
from report.test_trial_page import trial
from seasons import NOW, ROWS, good_visit, small_season, write_filled
from test_languages import leaks

from fieldbook.agronomy.settle import Suggestion, TooFew
from fieldbook.export.export import DICTIONARY, EVERY, SeasonTables, season_tables
from fieldbook.export.files import parquet_bytes
from fieldbook.export.plan_book import plan_book
from fieldbook.export.plan_words import plan_lines
from fieldbook.export.results_book import results_book
from fieldbook.mail.intake import mail_lock, take_mail
from fieldbook.mail.letters import write_letters
from fieldbook.mail.open import opened_source
from fieldbook.mail.send import Sent
from fieldbook.mail.words import handled_line, sent_line
from fieldbook.problems import sentence
from fieldbook.report.growers import report_name
from fieldbook.report.next_season import next_season_toml
from fieldbook.report.plain import PlainView, plain_lines, plain_page
from fieldbook.report.settle_page import settle_view
from fieldbook.report.trial_page import trial_view
from fieldbook.results.planning import season_plan
from fieldbook.results.results import season_results
from fieldbook.results.settle import BY_HYBRID, BY_ROUND, HybridSuggestion, SettledSeason, settle
from fieldbook.results.trials import COUNTED, TrialResult, trial_results
from fieldbook.season.intake import take_in
from fieldbook.season.season import Season
from fieldbook.simulate.weather import daily_weather, weather_csv
from fieldbook.units import System

LATER = date(2026, 12, 1)
JULY, WEEK = date(2026, 7, 6), timedelta(days=7)
OLD = b"\xd0\xcf\x11\xe0"
DICTIONARY_SAYS = ("sheet", "head", "type", "unit", "meaning", "limits", "origin")
YIELDS = {"Early": [198, 205, 190], "Late": [187, None, 184], "Mixed": [176, 188, 171]}
OF_TESTS = (
    "Early",
    "Late",
    "Mixed",
    "Long eighty",
    "Larkspur 108",
    "North",
    "Strip",
    "Season 2026",
    "Re:",
)


def spoken(season: Season) -> Season:
    """Let a season speak the made-up language, and its scouts and growers with it."""
    return replace(season, settings=replace(season.settings, language=LANGUAGE))


def left_in(text: str) -> set[str]:
    """Return the words that never passed the seam, but for names of these tests."""
    for name in (*OF_TESTS, *trial_treatments()):
        text = text.replace(name, " ")
    return leaks(text)


def trial_treatments() -> set[str]:
    """Name the treatments of the invented trial."""
    return {strip.treatment for strip in trial().strips}


def all_in_catalogue(asked: set[str]) -> bool:
    """Say whether a translator gets to see every text that was asked for."""
    return asked - set(all_texts()) - {""} == set()


# ---- pages for the team --------------------------------------------------------------------------


def assert_no_leak(view: PlainView) -> None:
    """Look through a plain page, as a page and as lines for a terminal."""
    assert left_in(page_texts(plain_page(view, factory.context(language=LANGUAGE)))) == set()
    assert left_in("\n".join(plain_lines(view))) == set()


def trials(folder: Path) -> Iterator[TrialResult]:
    """Yield trials with and without blocks, pairs, differences, harvests and strips."""
    yield trial()
    yield trial({"Early": (190, 200, 195), "Late": (195, 193, 199)})
    yield trial({"Early": (201, 207, 195, 210, 199), "Late": (196, 199, 193, 200, 195)})
    yield trial(basis=COUNTED)
    yield replace(trial(), comparison=None)
    plots = [*strips(YIELDS), Plot(field_id="S9", bu_ac=180)]
    for at, some in enumerate((plots, strips({"Early": [190], "Late": [199]}, blocks=False))):
        season = season_of(folder / f"cut{at}", some)
        cut(season, some)
        found, _ = trial_results(spoken(season), as_of=LATER)
        yield from found
    season = season_of(folder / "counted", plots)
    count(season, {plot.field_id: 28 + at for at, plot in enumerate(plots)})
    cut(season, plots[:2])
    yield from trial_results(spoken(season), as_of=LATER)[0]


def test_no_word_of_a_trial_passes_the_seam(tmp_path: Path) -> None:
    """Harvested and counted, with pairs, strips left out, and what can't be compared."""
    with Spoken() as asked:
        for at, found in enumerate(trials(tmp_path)):
            units = System.METRIC if at % 2 else System.US
            context = factory.context(language=LANGUAGE, units=units)
            assert_no_leak(trial_view(found, context, season_name="Test season", as_of=LATER))
    assert all_in_catalogue(asked)


def settled(folder: Path) -> Iterator[SettledSeason]:
    """Yield settled seasons with suggestions, without, and of a season that was cut."""
    enough = Suggestion(low=84.0, likely=92.4, high=101.6, weight=0.7, fields=7, years=2)
    named = HybridSuggestion(hybrid="Larkspur 108", found=TooFew(fields=1, years=2))
    several = (HybridSuggestion(hybrid=None, found=enough), named)
    one = replace(SETTLED.groups[0], by=BY_HYBRID, name="")
    by_round = replace(one, by=BY_ROUND, name="kernel-count", mean_miss_pct=-9.0)
    yield replace(
        SETTLED,
        settled=("x",),  # type: ignore[arg-type]
        suggestions=several,
        groups=(*SETTLED.groups, one, by_round),
    )
    yield replace(SETTLED, estimates=(), groups=())
    plots = [Plot(field_id="A1", bu_ac=170, trial=None), Plot(field_id="B2", bu_ac=9, trial=None)]
    season = season_of(folder / "cut", plots)
    count(season, {plot.field_id: 28 for plot in plots})
    cut(season, plots[:1])
    early = {
        ("fields", ("B2",), "visit_date"): date(2026, 8, 22),
        **{key: value for key, value in harvest_of("B2", 150).items() if key[0] == "harvest"},
    }
    take(season, {"B2": early})
    yield settle(spoken(season), as_of=LATER)


def test_no_word_of_the_settling_passes_the_seam(tmp_path: Path) -> None:
    """Estimates, groups, suggestions, what they lack, and the lines for next season."""
    with Spoken() as asked:
        for found in settled(tmp_path):
            assert_no_leak(settle_view(found, factory.context(language=LANGUAGE)))
            lines = next_season_toml(found, language=LANGUAGE) or ""
            remarks = re.findall(r"# (.*)|rests_on = (.*)", lines)
            assert left_in(" ".join(part for parts in remarks for part in parts)) == set()
    assert all_in_catalogue(asked)


# ---- plan and tables -----------------------------------------------------------------------------


def test_no_word_of_the_plan_passes_the_seam(tmp_path: Path) -> None:
    """The workbook, the lines for a terminal, and what can't be reached."""
    first = replace(ROWS[0], relative_maturity=106)
    sprayed = replace(first, field_id="A3", sprayed_on=JULY, reentry_ends=JULY + WEEK)
    asked_first = replace(first, field_id="A4", sprayed_on=JULY, station=None)
    season = small_season(tmp_path / "season", rows=(*ROWS, sprayed, asked_first))
    weather = weather_csv(daily_weather(date(2019, 1, 1), date(2026, 9, 30), seed="plan"))
    (season.folder.weather / "home.csv").write_text(weather, "utf-8")
    season = replace(season, settings=replace(season.settings, language=LANGUAGE, fields_a_day=1))
    with Spoken() as asked:
        for day in (JULY, JULY + 3 * WEEK, JULY + 10 * WEEK):
            plan = season_plan(season, as_of=day, days=21)
            for units in System:
                settings = replace(season.settings, units=units)
                book = plan_book(settings, plan)
                assert left_in(book_texts(book)) == set()
            assert left_in("\n".join(plan_lines(plan, LANGUAGE))) == set()
    assert all_in_catalogue(asked)


@pytest.fixture
def told(season: Season) -> SeasonTables:
    """Make the tables of a season with one counted field, in the made-up language."""
    book = write_filled(season.folder.path / "b.xlsx", season, good_visit("A1"))
    assert all(one.accepted for one in take_in(season, [book], now=NOW))
    with Spoken():
        other = spoken(season)
        return season_tables(other, season_results(other, as_of=NOW.date()), as_of=NOW.date())


def test_no_word_of_the_results_workbook_passes_the_seam(
    told: SeasonTables, season: Season
) -> None:
    """Heads, choices, charts, the summary and the dictionary; names of figures are names."""
    with Spoken() as asked:
        book = results_book(told, spoken(season).settings, as_of=NOW.date())
    assert left_in(without_keys(book_texts(book), told)) == set()
    assert all_in_catalogue(asked)


def without_keys(text: str, told: SeasonTables) -> str:
    """Take out what machines read: names of tables and columns, keys of figures and of choices."""
    columns = [column for table in told.tables for column in table.columns]
    keys = {name for column in columns for name in (column.name_in(System.US), column.json_key)}
    keys |= set(told.table("figures").frame["key"])
    text = "\n".join(line for line in text.split("\n") if line not in keys)
    return re.sub(r"(?m)(^|; )[^=;\n]+ = ", r"\1", text)


def test_no_word_of_the_dictionary_passes_the_seam(told: SeasonTables) -> None:
    """Beside CSV and Parquet: all but the names that machines read."""
    frame = told.table(DICTIONARY).frame
    frame = frame[frame["table"] != EVERY]
    for name in DICTIONARY_SAYS:
        assert left_in(" ".join(frame[name].dropna().unique())) == set(), name
    choices = "\n".join(frame["choices"].dropna())
    assert left_in(re.sub(r"(?m)(^|; )[^=;\n]+ = ", r"\1", choices)) == set()


def test_no_word_in_parquet_passes_the_seam(told: SeasonTables) -> None:
    """Each column carries its head, unit and meaning."""
    with Spoken():
        for table in told.tables:
            written = parquet_bytes(table, System.US, LANGUAGE)
            schema = pq.read_schema(io.BytesIO(written))
            words = [
                one
                for field in schema
                for key, one in field.metadata.items()
                if not key.startswith(b"PARQUET")
            ]
            assert left_in(b" ".join(words).decode("utf-8")) == set(), table.name


# ---- mail ----------------------------------------------------------------------------------------


def text_of(path: Path) -> str:
    """Return subject and text of a draft."""
    parsed = message_from_bytes(path.read_bytes(), policy=default)
    assert isinstance(parsed, EmailMessage)
    body = parsed.get_body(("plain",))
    assert body is not None
    return f"{parsed['Subject']}\n{body.get_content()}"


def test_no_word_of_an_answer_passes_the_seam(tmp_path: Path) -> None:
    """Taken in, asked, set aside, no book at all; and the lines for a terminal."""
    season = mail_season(tmp_path / "season")
    fault = good_visit("A1") | {("ears", ("A1", 1, 1), "rows_around"): 15}
    messages = {
        "a": message(("a.xlsx", book(season, entries=fault)), name="a", subject=""),
        "b": message(
            ("b.xlsx", b"PK of nothing"), ("c.xls", b"\xd0\xcf\x11\xe0"), name="b", subject=""
        ),
        "c": message(name="c", subject=""),
        "d": message(("d.xlsx", book(season, "A2")), name="d", subject=""),
        "e": message(name="e", sender="stranger@example.org", subject=""),
    }
    season = spoken(season)
    with Spoken() as asked:
        place = laid(tmp_path / "in", messages)
        with mail_lock(season.folder), opened_source(season, place) as source:
            found = [one for one in take_mail(season, source, now=NOW)[1] if one is not None]
        texts = [text_of(one.answer) for one in found if one.answer]
        assert len(texts) == 4
        texts += [handled_line(one, LANGUAGE) for one in found]
        texts += [sentence(said, LANGUAGE) for one in found for said in one.problems]
        sent = [Sent(name="a", recipient="b"), Sent(name="a", problem=found[-1].problems[0])]
        texts += [sent_line(one, LANGUAGE) for one in sent]
    names = r"[\w.@/-]+\.(?:org|xlsx|xls|eml)|\w*\.KC\d"
    assert left_in(re.sub(names, " ", "\n".join(texts))) == set()
    assert all_in_catalogue(asked)


def test_no_word_of_a_letter_passes_the_seam(tmp_path: Path) -> None:
    """The subject and the few lines of every field."""
    season = mail_season(tmp_path / "season", growers={"G1": "oda@example.org"})
    path = season.folder.path / "a.xlsx"
    path.write_bytes(book(season))
    assert all(one.accepted for one in take_in(season, [path], now=NOW))
    season = spoken(season)
    with Spoken() as asked:
        for one in season_results(season, as_of=NOW.date()).fields:
            (season.folder.reports / f"{report_name(one)}.pdf").write_bytes(b"%PDF")
        letters = list(write_letters(season, as_of=NOW.date(), now=NOW))
        texts = [text_of(one.path) for one in letters if one.path]
        assert len(texts) == 1
        texts += [sentence(one.problem, LANGUAGE) for one in letters if one.problem]
    assert left_in("\n".join(texts)) == set()
    assert all_in_catalogue(asked)
