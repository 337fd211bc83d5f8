"""The plan of a season: windows from the forecast, what visits and sprayings change, its files."""

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from html import unescape
from pathlib import Path

import pytest
from openpyxl import load_workbook
from parts import need, pango_missing
from pypdf import PdfReader
from report import factory
from seasons import NOW, ROWS, VISIT_DAY, book_plan, good_visit, small_season, write_filled

from fieldbook.agronomy.windows import gibberella_watch
from fieldbook.check.roster import Field
from fieldbook.export.plan_file import (
    fields_in_walking_order,
    keep_plan,
    plan_json,
    planned_days,
)
from fieldbook.export.plan_words import entry_words, plan_lines, spread_words
from fieldbook.figures import shipped_figures
from fieldbook.forms.roster import RosterRow
from fieldbook.forms.rounds import POLLINATION, RIPENING
from fieldbook.problems import Place, catalogue, problem, sentence
from fieldbook.report.plan_build import write_plan
from fieldbook.report.plan_page import week_pages
from fieldbook.results import planning
from fieldbook.results.due import FieldRounds, RoundWindow, field_rounds
from fieldbook.results.looks_result import OutlookResult
from fieldbook.results.planning import PlannedRound, SeasonPlan, State, season_plan
from fieldbook.results.result import StageResult, VisitResult
from fieldbook.results.results import SeasonResults
from fieldbook.season.blank import Order, book_plans
from fieldbook.season.intake import take_in
from fieldbook.season.season import Season
from fieldbook.simulate.weather import daily_weather, weather_csv
from fieldbook.words import day_words

JULY = date(2026, 7, 6)
DATED = tuple(replace(row, station="home", relative_maturity=106) for row in ROWS)
Make = Callable[..., Season]


@pytest.fixture(scope="module")
def weather() -> str:
    return weather_csv(daily_weather(date(2019, 1, 1), date(2026, 9, 30), seed="plan"))


@pytest.fixture
def make(tmp_path: Path, weather: str) -> Make:
    """Make a season with seven past years of weather."""

    def made(rows: tuple[RosterRow, ...] = DATED, **settings: object) -> Season:
        season = small_season(tmp_path / "season", rows=rows)
        (season.folder.weather / "home.csv").write_text(weather, "utf-8")
        return replace(season, settings=replace(season.settings, **settings))  # type: ignore[arg-type]

    return made


def of(plan: SeasonPlan, field_id: str) -> list[PlannedRound]:
    return [one for one in plan.rounds if one.field_id == field_id]


def codes(plan: SeasonPlan) -> list[str]:
    return [one.code for one in plan.problems if one.code.startswith("plan-")]


# ---- windows ------------------------------------------------------------------------------------


def dated(*days: tuple[str, date | None, date | None, date | None]) -> tuple[StageResult, ...]:
    return tuple(
        factory.stage(name, likely, (early, late) if early and late else None)
        for name, likely, early, late in days
    )


def rounds(season: Season, stages: tuple[StageResult, ...], **more: object) -> FieldRounds:
    field: Field = season.roster.fields["A1"]
    result = replace(factory.ALL["no visit"](), stages=stages, **more)  # type: ignore[arg-type]
    return field_rounds(field, result, shipped_figures())


def day(month: int, number: int) -> date:
    return date(2026, month, number)


STAGES = dated(
    ("R1", day(7, 20), day(7, 16), day(7, 25)),
    ("R3", day(8, 10), day(8, 5), day(8, 15)),
    ("R5", day(9, 1), day(8, 25), day(9, 8)),
    ("R6", day(9, 20), day(9, 10), day(10, 1)),
)


def test_each_round_has_its_window_with_its_spread(season: Season) -> None:
    """Ten days before silk; 3 to 10 days after; R3 to R5; the day after R5 to a week after R6."""
    found = rounds(season, STAGES, as_of=JULY).windows
    assert [(one.round, one.opens.day, one.closes.day) for one in found] == [
        ("roadside", day(7, 10), day(7, 20)),
        ("pollination", day(7, 23), day(7, 30)),
        ("kernel-count", day(8, 10), day(9, 1)),
        ("ripening", day(9, 2), day(9, 27)),
    ]
    assert (found[1].opens.earliest, found[1].opens.latest) == (day(7, 19), day(7, 28))
    assert (found[3].closes.earliest, found[3].closes.latest) == (day(9, 17), day(10, 8))


def test_a_range_without_a_likely_day_gives_its_middle(season: Season) -> None:
    """Where only the usual days after silking are known, the middle of the range is likely."""
    found = rounds(season, dated(("R1", None, day(7, 16), day(7, 26))), as_of=JULY)
    assert found.windows[0].closes.day == day(7, 21)


def test_a_window_is_told_until_the_next_has_opened(season: Season) -> None:
    """A missed round is no longer due once the field is ready for the one after."""
    names = [
        [one.round for one in rounds(season, STAGES, as_of=as_of).windows]
        for as_of in (day(7, 21), day(7, 23))
    ]
    assert names[0] == ["roadside", "pollination", "kernel-count", "ripening"]
    assert names[1] == ["pollination", "kernel-count", "ripening"]


def test_a_visit_ends_its_round_and_those_before(season: Season) -> None:
    """A field whose kernels are counted has only its ripening left."""
    full = factory.ALL["full"]()
    assert "kernel-count" in {visit.round for visit in full.visits}
    found = field_rounds(season.roster.fields["A1"], full, shipped_figures())
    assert [one.round for one in found.windows] == ["ripening"]


# ---- the look for mould ----------------------------------------------------------------------


def watched(level: str = "raised", **more: object) -> OutlookResult:
    """Make an outlook whose watch asks for a look at ears on 1 September, or does not."""
    watch = gibberella_watch((), day(7, 21))
    assert watch.follow_up == day(9, 1)
    return replace(factory.NO_OUTLOOK, gibberella=replace(watch, level=level), **more)  # type: ignore[arg-type]


def walked(round_: str, on: date) -> VisitResult:
    return replace(factory.full().visits[0], round=round_, date=on)


def ripening(found: FieldRounds) -> list[RoundWindow]:
    return [one for one in found.windows if one.round == "ripening"]


@pytest.mark.parametrize(
    ("outlook", "why"),
    [
        (watched("raised"), "raised"),
        (watched("some"), "some"),
        (watched("no-signal", hot_and_dry=True), "hot-and-dry"),
        (watched("no-signal"), None),
        (watched("unknown"), None),
        (factory.NO_OUTLOOK, None),
    ],
)
def test_the_watch_makes_ripening_a_look_for_mould(
    season: Season, outlook: OutlookResult, why: str | None
) -> None:
    """From six weeks after silking on, for two weeks, once the round has opened; else as usual."""
    (found,) = ripening(rounds(season, STAGES, as_of=JULY, outlook=outlook))
    assert found.mould == why
    usual = (day(9, 2), day(9, 27))
    assert (found.opens.day, found.closes.day) == ((day(9, 2), day(9, 15)) if why else usual)


def test_a_look_for_mould_outside_of_the_round_stands_alone(season: Season) -> None:
    """A field without ripening dates, or ripe at another time, is looked at six weeks on."""
    late = dated(("R5", day(10, 1), None, None), ("R6", day(10, 20), None, None))
    soon = dated(("R5", day(8, 10), None, None), ("R6", day(8, 26), None, None))
    for stages in (STAGES[:2], late, soon):
        (found,) = ripening(rounds(season, stages, as_of=JULY, outlook=watched()))
        assert (found.opens.day, found.closes.day) == (day(9, 1), day(9, 15))


@pytest.mark.parametrize(
    ("round_", "on", "left"),
    [
        ("ripening", day(8, 25), 1),
        ("ripening", day(9, 1), 0),
        ("ripening, stalks alone", day(9, 1), 1),
        ("harvest", day(8, 25), 0),
        ("kernel-count", day(9, 5), 1),
    ],
)
def test_a_ripening_walk_before_that_day_is_walked_once_more(
    season: Season, round_: str, on: date, left: int
) -> None:
    """Mould seen too soon tells little; ears opened late enough, or the harvest, end the watch."""
    name, _, stalks = round_.partition(", ")
    ripe = replace(factory.ripening(**({"mouldy": None} if stalks else {})), day=on)
    found = rounds(
        season,
        STAGES,
        as_of=on,
        outlook=watched(),
        visits=(walked(name, on),),
        ripe=ripe if name == "ripening" else None,
    )
    assert len(ripening(found)) == left


def test_the_plan_says_where_to_open_ears(make: Make, monkeypatch: pytest.MonkeyPatch) -> None:
    """Terminal, page, workbook and JSON tell the walk and why; `blank` gets the ripening book."""
    season = make()
    results = planning.season_results

    def with_watch(season: Season, *, as_of: date) -> SeasonResults:
        found = results(season, as_of=as_of)
        return replace(found, fields=tuple(replace(f, outlook=watched()) for f in found.fields))

    monkeypatch.setattr(planning, "season_results", with_watch)
    plan = season_plan(season, as_of=day(9, 1), days=14)
    looks = [one for one in plan.walks("ana") if one.window.mould]
    assert looks
    for one in looks:
        assert one.day is not None
        assert day(9, 1) <= one.day <= day(9, 15)
    words = "The mould watch is raised: open 20 ears at each of 5 stops"
    assert words in "\n".join(plan_lines(plan, "en", "ana"))
    html = "".join(page for _, page in week_pages(plan, season.settings, "ana"))
    assert words in html
    assert "Ripening *" in html
    assert "Wear an N95 mask" in html
    paths, _ = write_plan(season, plan, pdf=False, templates=None)
    for sheet in ("Walks", "Dates"):
        rows = load_workbook(paths[0])[sheet].iter_rows(min_row=3, values_only=True)
        assert any(str(row[-1]).startswith(words) for row in rows)
    assert "raised" in {
        one["mould"] for one in json.loads(plan_json(plan, language="en"))["rounds"]
    }
    fields = fields_in_walking_order(season.folder, "ripening")
    assert fields is not None
    order = Order(round_=RIPENING, scout="ana", walked=fields)
    (book,) = book_plans(season, order)
    assert [one.slip.field_id for one in book.visits] == [one.field_id for one in looks]
    assert RIPENING.form(full=False).has("stalks", "ears_opened", "ears_mouldy")


# ---- a season -----------------------------------------------------------------------------------


def test_a_season_is_laid_out_for_each_scout(make: Make) -> None:
    """Every dated field gets a day inside its window, by scout, within the limit."""
    plan = season_plan(make(fields_a_day=1), as_of=JULY, days=21)
    assert set(plan.fields_a_day) == {"ana", "joss"}
    for scout in plan.fields_a_day:
        walks = plan.walks(scout)
        assert walks
        assert len({one.day for one in walks}) == len(walks)
        for one in walks:
            assert one.day is not None
            assert max(JULY, one.window.opens.day) <= one.day <= one.window.closes.day
            assert one.day <= plan.through == JULY + timedelta(days=20)


def test_a_scout_may_have_a_limit_of_her_own(make: Make) -> None:
    """Ana's own number wins over the season's; Joss keeps the season's."""
    season = make()
    ana, joss = season.settings.scouts
    own = replace(season.settings, scouts=(replace(ana, fields_a_day=3), joss), fields_a_day=5)
    plan = season_plan(replace(season, settings=own), as_of=JULY, days=7)
    assert plan.fields_a_day == {"ana": 3, "joss": 5}


def test_a_full_scout_is_told(make: Make) -> None:
    """One field a day and five fields that close on one day: what is left over is named."""
    first = DATED[0]
    rows = tuple(replace(first, field_id=f"N{at}", field=f"Piece {at}") for at in range(12))
    plan = season_plan(make(rows, fields_a_day=1), as_of=JULY, days=30)
    lost = [one for one in plan.unreached("ana") if one.round == "pollination"]
    assert len(lost) == 12 - 8  # its window is eight days long
    assert {one.state for one in lost} == {State.FULL}
    said = [sentence(one, "en") for one in plan.problems if one.code == "plan-full"]
    assert len(said) == len(plan.unreached("ana"))
    assert "Ana's days are full until then" in said[0]


def test_no_walk_before_re_entry(make: Make) -> None:
    """The walk waits for the end of the interval; where that is too late, it is told."""
    free = season_plan(make(), as_of=JULY, days=60)
    window = next(one for one in of(free, "A1") if one.round == "pollination").window
    ends = window.opens.day + timedelta(days=2)
    sprayed = {"sprayed_on": ends - timedelta(days=1), "product": "Some product"}
    rows = (replace(DATED[0], reentry_ends=ends, **sprayed), *DATED[1:])  # type: ignore[arg-type]
    plan = season_plan(make(rows), as_of=JULY, days=60)
    waited = next(one for one in of(plan, "A1") if one.round == "pollination")
    assert waited.day == ends
    assert not waited.call_first
    assert entry_words(waited, plan, "en").startswith("From ")
    beyond = window.closes.day + timedelta(days=1)
    late = (replace(rows[0], sprayed_on=window.opens.day, reentry_ends=beyond), *DATED[1:])
    lost = season_plan(make(late), as_of=JULY, days=60)
    round_ = next(one for one in of(lost, "A1") if one.round == "pollination")
    assert (round_.state, round_.day) == (State.REENTRY, None)
    assert "plan-reentry" in codes(lost)


def test_a_field_is_walked_before_a_spray_that_is_still_to_come(make: Make) -> None:
    """What the spray closes it closes from its day on; of both stretches the longer one counts."""
    free = season_plan(make(), as_of=JULY, days=60)
    window = next(one for one in of(free, "A1") if one.round == "pollination").window
    sprayed = {"sprayed_on": window.closes.day, "product": "Some product"}
    ends = window.closes.day + timedelta(days=9)
    rows = (replace(DATED[0], reentry_ends=ends, **sprayed), *DATED[1:])  # type: ignore[arg-type]
    plan = season_plan(make(rows), as_of=JULY, days=60)
    walk = next(one for one in of(plan, "A1") if one.round == "pollination")
    assert walk.day is not None
    assert window.opens.day <= walk.day < window.closes.day
    said = day_words(window.closes.day)
    assert walk.call_first
    assert entry_words(walk, plan, "en") == f"Spray planned {said}: call the grower first"
    once_sprayed = season_plan(make(rows), as_of=window.closes.day, days=60)
    lost = next(one for one in of(once_sprayed, "A1") if one.round == "pollination")
    assert lost.state is State.REENTRY


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ({}, "Call the grower first"),
        ({"sprayed_on": date(2026, 7, 2)}, "Sprayed Thu 2 July: call the grower first"),
        ({"sprayed_on": date(2026, 7, 2), "reentry_ends": date(2026, 7, 4)}, ""),
        (
            {"sprayed_on": date(2026, 7, 5), "reentry_ends": date(2026, 7, 4)},
            "Sprayed Sun 5 July: call the grower first",
        ),
    ],
)
def test_an_unknown_spraying_means_a_call(make: Make, row: dict[str, date], words: str) -> None:
    """Without the end of a re-entry interval nobody walks in before a call."""
    rows = (replace(DATED[0], **row), *DATED[1:])  # type: ignore[arg-type]
    plan = season_plan(make(rows), as_of=JULY, days=14)
    one = of(plan, "A1")[0]
    assert entry_words(one, plan, "en") == words
    assert one.call_first is bool(words)


@pytest.mark.parametrize(
    ("row", "why"),
    [
        ({"station": None}, "names no weather station"),
        ({"relative_maturity": None}, "neither its maturity nor its heat"),
        ({"planted": date(2026, 9, 1)}, "does not cover the days since planting"),
    ],
)
def test_a_field_without_dates_says_why(make: Make, row: dict[str, object], why: str) -> None:
    """The reason is the first thing that the roster or the weather lacks."""
    third = replace(DATED[2], **row)  # type: ignore[arg-type]
    plan = season_plan(make((*DATED[:2], third)), as_of=JULY, days=14)
    said = [sentence(one, "en") for one in plan.problems if one.code == "plan-no-dates"]
    assert len(said) == 1
    assert said[0].startswith("B7 Behind the barn")
    assert why in said[0]
    assert not of(plan, "B7")


def test_a_round_taken_in_is_not_planned_again(make: Make, tmp_path: Path) -> None:
    """After a kernel count only the ripening of that field is left."""
    season, next_day = make(), VISIT_DAY + timedelta(days=1)
    before = season_plan(season, as_of=next_day, days=14)
    assert [one.round for one in of(before, "A1")] == ["kernel-count", "ripening"]
    book = write_filled(tmp_path / "back.xlsx", season, good_visit("A1"))
    assert [one.visits for one in take_in(season, [book], now=NOW)] == [("A1.KC1",)]
    plan = season_plan(season, as_of=next_day, days=14)
    assert [one.round for one in of(plan, "A1")] == ["ripening"]
    assert "kernel-count" in [one.round for one in of(plan, "B7")]


# ---- files --------------------------------------------------------------------------------------


def test_blank_follows_the_kept_plan(make: Make) -> None:
    """Books hold the fields that the plan gives a day for this round, in walking order."""
    season = make()
    plan = season_plan(season, as_of=JULY, days=21)
    keep_plan(season.folder, plan, language="en")
    walked = fields_in_walking_order(season.folder, "pollination")
    wanted = [one for one in plan.walks("ana") if one.round == "pollination"]
    assert walked is not None
    assert [one for one in walked if one != "B7"] == [one.field_id for one in wanted]
    order = Order(round_=POLLINATION, scout="ana", walked=tuple(reversed(walked)))
    slips = next(iter(book_plans(season, order))).identity.visits
    assert [one.field_id for one in slips] == [one.field_id for one in reversed(wanted)]
    assert len(book_plan(season).visits) == 2


def test_the_board_reads_the_day_of_every_planned_walk(make: Make) -> None:
    """By field and round; what the plan gives no day has none."""
    season = make()
    plan = season_plan(season, as_of=JULY, days=21)
    keep_plan(season.folder, plan, language="en")
    wanted = {(one.field_id, one.round): one.day for one in plan.rounds if one.day}
    assert wanted
    assert len(wanted) < len(plan.rounds)
    assert planned_days(season.folder) == wanted


def test_a_missing_or_broken_plan_is_none(make: Make) -> None:
    """What cannot be read is no plan; nothing raises."""
    folder = make().folder
    assert fields_in_walking_order(folder, "pollination") is None
    assert planned_days(folder) == {}
    folder.plan.mkdir()
    for text in ("{", "[]", '{"rounds": [{"round": "pollination"}]}', '{"rounds": 3}'):
        (folder.plan / "plan.json").write_text(text, "utf-8")
        assert fields_in_walking_order(folder, "pollination") is None, text
        assert planned_days(folder) == {}, text


def test_the_json_tells_every_round(make: Make) -> None:
    """Likely day and spread, planned day, and what to do first; one scout's alone if asked."""
    plan = season_plan(make(), as_of=JULY, days=14)
    raw = json.loads(plan_json(plan, language="en"))
    assert (raw["schema_version"], raw["as_of"]) == (1, "2026-07-06")
    assert len(raw["rounds"]) == len(plan.rounds)
    first = raw["rounds"][0]
    assert first["opens"]["earliest"] <= first["opens"]["day"] <= first["opens"]["latest"]
    only = json.loads(plan_json(plan, language="en", scout="joss"))
    assert {one["field"] for one in only["rounds"]} == {"B7"}


def test_the_workbook_tells_the_plan(make: Make) -> None:
    """Walks in order, dates as dates, problems and the rule; nothing is locked."""
    season = make()
    plan = season_plan(season, as_of=JULY, days=21)
    paths, problems = write_plan(season, plan, pdf=False, templates=None)
    assert not problems
    book = load_workbook(paths[0])
    assert book.sheetnames == ["Walks", "Dates", "To look at", "How"]
    rows = list(book["Walks"].iter_rows(min_row=3, values_only=True))
    walks = [one for scout in plan.fields_a_day for one in plan.walks(scout)]
    assert sorted((row[0].date(), row[1], row[2]) for row in rows) == sorted(
        (one.day, one.number, one.field_id) for one in walks
    )
    assert len(list(book["Dates"].iter_rows(min_row=3, values_only=True))) == len(plan.rounds)
    assert not any(sheet.protection.sheet for sheet in book)


def test_pages_of_an_older_plan_go(make: Make) -> None:
    """Nobody shall walk by last week's page; other files in the folder stay."""
    season = make()
    season.folder.plan.mkdir()
    old, own = (season.folder.plan / name for name in ("ana-week-of-2026-06-29.pdf", "map.pdf"))
    for path in (old, own):
        path.write_bytes(b"x")
    write_plan(season, season_plan(season, as_of=JULY, days=7), pdf=False, templates=None)
    assert not old.exists()
    assert own.exists()


@pytest.mark.pdf
@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_a_full_week_fits_on_one_page(make: Make, tmp_path: Path, paper: str) -> None:
    """Eight fields on each of seven days, with long names, take one page."""
    need(pango_missing())
    from fieldbook.report.pdf import page_pdf

    season = make()
    plan = season_plan(season, as_of=JULY, days=7)
    one = replace(
        plan.rounds[0],
        field="Schoolhouse eighty by the river",
        grower="Tamar O'Neill & Sons, of the hill",
        miles=2.0,
        sprayed_on=JULY,
    )
    week = tuple(
        replace(one, field_id=f"N{at}", day=JULY + timedelta(days=at // 8), number=at % 8 + 1)
        for at in range(56)
    )
    full = replace(plan, rounds=week)
    asked = [
        problem("rows-odd", Place(field_id="N1", sheet="Ears"), **catalogue()["rows-odd"].example)
    ] * 20
    settings = replace(season.settings, paper=paper)
    [(first, html)] = week_pages(full, settings, one.scout, asked=asked)
    assert first == JULY
    assert "20 questions asked back from your books." in html
    (tmp_path / "week.pdf").write_bytes(page_pdf(html))
    reader = PdfReader(tmp_path / "week.pdf")
    assert len(reader.pages) == 1
    text = " ".join(reader.pages[0].extract_text().split())
    assert "56 fields to walk on 7 days" in text
    assert "Leave at once if a plane or a sprayer comes" in text
    assert "N55" in text


@pytest.mark.parametrize(("fields", "more"), [(40, ""), (43, "And 3 more, which stand in")])
def test_a_page_names_the_first_fields_that_are_not_reached(
    make: Make, fields: int, more: str
) -> None:
    """Whatever cannot be reached in a season of thousands, a scout's page stays a page."""
    season = make()
    plan = season_plan(season, as_of=JULY, days=7)
    lost = [
        replace(plan.rounds[0], field_id=f"N{at}", state=State.FULL, day=None)
        for at in range(fields)
    ]
    said = catalogue()["plan-full"].example
    told = tuple(problem("plan-full", Place(field_id=one.field_id), **said) for one in lost)
    full = replace(plan, rounds=tuple(lost), problems=told)
    [(_, html)] = week_pages(full, season.settings, lost[0].scout, asked=[])
    text = unescape(html)
    assert text.count(sentence(told[0])) == 40
    assert ("more, which stand in" in text) is bool(more)
    assert more in text


@pytest.mark.parametrize(
    ("calls", "words"),
    [
        ((True,), "1 field to walk on 1 day. Call the grower before you walk in."),
        ((True, True), "2 fields to walk on 1 day. Call the grower before each of them."),
        ((True, False), "2 fields to walk on 1 day. Call the grower before 1 of them."),
        ((False,), "1 field to walk on 1 day."),
    ],
)
def test_a_page_says_before_which_walks_to_call(
    make: Make, calls: tuple[bool, ...], words: str
) -> None:
    """One walk is not "one of them"."""
    season = make()
    plan = season_plan(season, as_of=JULY, days=7)
    one = replace(plan.rounds[0], day=JULY)
    walks = tuple(
        replace(one, field_id=f"N{at}", number=at, call_first=call)
        for at, call in enumerate(calls, start=1)
    )
    [(_, html)] = week_pages(replace(plan, rounds=walks), season.settings, one.scout)
    assert f">{words}</p>" in html


@pytest.mark.pdf
def test_a_page_tells_what_is_asked_back_and_told(make: Make, tmp_path: Path) -> None:
    """Questions with their place and way out, the first few; notes apart; once."""
    need(pango_missing())
    from fieldbook.report.pdf import page_pdf

    season = make()
    plan = season_plan(season, as_of=JULY, days=14)
    place = Place(field_id="A1", sheet="Ears", table="ears", row="1, 2", column="rows_around")
    asked = [
        problem(code, place, **catalogue()[code].example) for code in ("rows-odd", "few-stops")
    ]
    (_, first), *later = week_pages(plan, season.settings, "ana", asked=asked)
    assert "Asked back from your books" in first
    assert "A1 Ears" in first
    assert "rows come in pairs" in first
    assert "Told of your books" in first
    assert not any("your books" in page for _, page in later)
    (tmp_path / "week.pdf").write_bytes(page_pdf(first))
    assert len(PdfReader(tmp_path / "week.pdf").pages) == 1
    (_, many), *_ = week_pages(plan, season.settings, "ana", asked=asked[:1] * 8)
    assert "And 2 more: the correction books" in many


def test_a_scout_with_questions_and_no_walk_has_a_page(make: Make) -> None:
    """What is asked back reaches him all the same."""
    season = make()
    plan = replace(season_plan(season, as_of=JULY, days=7), rounds=())
    asked = [problem("rows-odd", Place(field_id="A1"), **catalogue()["rows-odd"].example)]
    [(_, html)] = week_pages(plan, season.settings, "ana", asked=asked)
    assert "Nothing to walk." in html
    assert "rows come in pairs" in html
    assert not [*week_pages(plan, season.settings, "ana")]


def test_a_page_escapes_what_people_type(make: Make) -> None:
    """A field called like a tag is text on the page."""
    season = make()
    plan = season_plan(season, as_of=JULY, days=7)
    odd = replace(plan.rounds[0], field="<b>x</b>", day=JULY, number=1)
    [(_, html)] = week_pages(replace(plan, rounds=(odd,)), season.settings, odd.scout)
    assert "<b>" not in html
    assert "&lt;b&gt;x" in html


def test_a_spread_is_told_in_words(season: Season) -> None:
    """A likely day with its range; a settled one alone."""
    window = rounds(season, STAGES, as_of=JULY).windows[0]
    assert spread_words(window.closes, "en") == "Mon 20 July (16 Jul to 25 Jul)"
    settled = replace(window.closes, earliest=window.closes.day, latest=window.closes.day)
    assert spread_words(settled, "en") == "Mon 20 July"
