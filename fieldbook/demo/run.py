"""The invented season from its roster to the scale tickets: what the commands do, in one go."""

import json
import shutil
from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from pathlib import Path

from fieldbook.demo.rounds import LEGS, SEED, bring_home, cut, walk_leg
from fieldbook.forms.rounds import HARVEST, POLLINATION, Round
from fieldbook.ledger.safely import write_safely
from fieldbook.problems import Problem, Weight, line
from fieldbook.report.build import write_reports
from fieldbook.report.order import BOARD
from fieldbook.report.plain import PlainView, write_plain
from fieldbook.report.settle_page import settle_pages
from fieldbook.report.trial_page import trial_pages
from fieldbook.results.settle import settle
from fieldbook.results.trials import trial_results
from fieldbook.season.season import Season, open_season
from fieldbook.season.start import TIME_ZONE, begin_season
from fieldbook.season.taken import Taken
from fieldbook.settings.settings import Scout, Settings, Station
from fieldbook.simulate import place
from fieldbook.simulate.field import FieldTruth, grow, true_yield_bu_ac
from fieldbook.simulate.weather import Day, Spell, daily_weather, weather_csv
from fieldbook.units import System
from fieldbook.words import day_words, say_count

MARK = ".silkbook-demo"
SPRAY_DAY = date(place.YEAR, 7, 25)
AS_OF = date(place.YEAR, 9, 18)
SETTLED_ON = date(place.YEAR, 11, 10)
# Fields whose page of July is kept: the rule is met; much disease, but the rule is not met.
SPRAY_FIELDS = ("D16", "F61")
_LOST_DAY = date(place.YEAR, 6, 17)
_ASKED_LINES = 12


class DemoRefusedError(Exception):
    """The folder holds something that the demo did not make."""


def run_demo(folder: Path, *, pdf: bool = True) -> Iterator[str]:
    """Make the season and run it; yields lines to read. Overwrites only a folder it made.

    Growers' reports speak of `AS_OF`, when most fields are ripe; two of `SPRAY_DAY` are kept from
    when a fungicide was still a question. Then all is cut, and the winter's pages are written.
    """
    _clear(folder)
    yield f"Making an invented season, {place.NAME} {place.YEAR}, in {folder}"
    days = _weather()
    season = _make(folder, days)
    truths, strips = (_grown(plots, days) for plots in (place.PLOTS, place.STRIPS))
    _keep_truth(folder, truths | strips)
    asked: list[Problem] = []
    for leg in LEGS:
        taken = walk_leg(season, leg, truths, until=AS_OF)
        yield _round_line(leg.round_, taken)
        asked += _questions(taken)
        if leg.round_ is POLLINATION:
            _write_july(season, pdf=pdf)
    yield from _asked_lines(asked)
    steps = list(write_reports(season, as_of=AS_OF, field_id=None, pdf=pdf, templates=None))
    no_pdf = not pdf or any(step.problems for step in steps)
    kinds = "as HTML pages" if no_pdf else "as HTML and PDF"
    count = len(season.roster.fields)
    yield f"Wrote {count} reports {kinds}, packets, letters, the board and the plan of walks."
    yield f"They speak of {day_words(AS_OF)}, when the last walk is in and most fields are ripe."
    yield from _autumn(season, days, truths | strips, pdf=pdf)
    yield from _where_to_look(folder, no_pdf=no_pdf)


def _autumn(
    season: Season, days: list[Day], truths: Mapping[str, FieldTruth], *, pdf: bool
) -> Iterator[str]:
    """Bring the harvest home, compare the strips and settle the estimates."""
    _write_weather(season.folder.path, days, SETTLED_ON)
    taken = bring_home(season, truths)
    yield _round_line(HARVEST, taken)
    for found in _questions(taken):
        yield _asked_line(found)
    trials, _ = trial_results(season, as_of=SETTLED_ON)
    _write(season, trial_pages(season, trials, as_of=SETTLED_ON, level_pct=None), pdf=pdf)
    yield f"Compared the strips of {len(trials)} trials."
    settled = settle(season, as_of=SETTLED_ON)
    _write(season, settle_pages(season, settled), pdf=pdf)
    counts = len(settled.estimates)
    yield f"Settled {counts} estimates against the harvest of {len(settled.harvests)} fields."


def _write(season: Season, views: Mapping[str, PlainView], *, pdf: bool) -> None:
    for name, view in views.items():
        write_plain(season, view, name, pdf=pdf)


def _write_july(season: Season, *, pdf: bool) -> None:
    """Write some reports while the fungicide window is open; later ones do not replace them."""
    for field_id in SPRAY_FIELDS:
        steps = write_reports(season, as_of=SPRAY_DAY, field_id=field_id, pdf=pdf, templates=None)
        for path in [path for step in steps for path in step.paths]:
            path.rename(path.with_stem(f"{path.stem}-july"))


def _clear(folder: Path) -> None:
    if not folder.exists():
        return
    if folder.is_file() or (any(folder.iterdir()) and not (folder / MARK).is_file()):
        raise DemoRefusedError(
            f"'{folder}' holds something that the demo did not make. Choose a new folder."
        )
    shutil.rmtree(folder)


def _weather() -> list[Day]:
    """Make twelve past years and this one to its end: growing looks ahead, the season may not."""
    spells = tuple(Spell(**spell) for spell in place.SPELLS)
    first, last = date(place.FIRST_WEATHER_YEAR, 1, 1), date(place.YEAR, 12, 31)
    return list(daily_weather(first, last, seed=SEED, spells=spells))


def _write_weather(folder: Path, days: Iterable[Day], last: date) -> None:
    """Write what the station has measured by a day; one day got lost."""
    measured = (day for day in days if day.day <= last and day.day != _LOST_DAY)
    path = folder / "weather" / f"{place.STATION}.csv"
    write_safely(path, weather_csv(measured).encode())


def _grown(plots: Iterable[place.Plot], days: list[Day]) -> dict[str, FieldTruth]:
    return {plot.field_id: grow(plot, days, seed=SEED) for plot in plots}


def _make(folder: Path, days: list[Day]) -> Season:
    plots = (*place.PLOTS, *place.STRIPS)
    begin_season(
        folder,
        Settings(
            season_id=f"marrow-creek-{place.YEAR}",
            name=f"{place.NAME} {place.YEAR}",
            year=place.YEAR,
            units=System.US,
            time_zone=TIME_ZONE,
            price_per_bu=4.2,
            fungicide_cost_per_ac=26.0,
            stations={place.STATION: Station(name=place.STATION, units=System.US)},
            scouts=tuple(Scout(scout_id=short, name=name) for short, name in place.SCOUTS),
        ),
        [row for plot in plots for row in (plot.row, *plot.more_rows)],
    )
    write_safely(folder / MARK, b"made by 'silkbook demo'\n")
    _write_weather(folder, days, AS_OF)
    season, problems = open_season(folder)
    if season is None:
        raise RuntimeError(f"the demo season can't be opened: {json.dumps(str(problems))}")
    return season


def _keep_truth(folder: Path, truths: Mapping[str, FieldTruth]) -> None:
    """Write beside the season what no scout knows: how each field truly grew and yielded."""
    kept = {}
    for field_id, truth in truths.items():
        home = cut(truth)
        kept[field_id] = {
            "story": truth.plot.story,
            "stages": {stage: day.isoformat() for stage, day in truth.stage_days.items()},
            "yield_bu_ac": round(true_yield_bu_ac(truth), 1),
            "harvested_bu_ac": round(home.yield_bu_ac, 1),
            "harvested_on": home.day.isoformat(),
        }
    write_safely(folder / "truth.json", (json.dumps(kept, indent=1) + "\n").encode())


# ---- what is said ---------------------------------------------------------------------------


def _questions(taken: Iterable[Taken]) -> list[Problem]:
    return [found for one in taken for found in one.open_problems]


def _round_line(round_: Round, taken: Iterable[Taken]) -> str:
    sent = list(taken)
    visits = {visit for one in sent for visit in one.visits}
    books = [one for one in sent if one.accepted]
    left = len(sent) - len(books)
    came = say_count(len(books), "one book", "{count} books")
    walked = say_count(len(visits), "one field", "{count} fields")
    said = f"{round_.label}: {came} came back, {walked}"
    others = "one other file" if left == 1 else f"{left} other files"
    return f"{said}; {others} set aside." if left else f"{said}."


def _asked_lines(asked: list[Problem]) -> Iterator[str]:
    """Say what is questioned, the heaviest first."""
    order = list(Weight)
    heaviest = sorted(asked, key=lambda found: order.index(found.weight))
    yield f"{len(asked)} things are questioned or told, as they would be in a real season:"
    yield from map(_asked_line, heaviest[:_ASKED_LINES])
    if len(asked) > _ASKED_LINES:
        yield f"  and {len(asked) - _ASKED_LINES} more, in the reports of their fields"


def _asked_line(found: Problem) -> str:
    return f"  {found.weight.upper():5}  {line(found)}"


def _where_to_look(folder: Path, *, no_pdf: bool) -> Iterator[str]:
    suffix = "html" if no_pdf else "pdf"
    reports, blank = folder / "reports", folder / "blank" / POLLINATION.name / "joss.xlsx"
    pages = (
        (blank, "a blank book, as a scout gets it"),
        (folder / "plan" / "plan.xlsx", "who walks where in the next two weeks"),
        (reports / f"D15-schoolhouse-eighty.{suffix}", "a grower's report"),
        (reports / f"D16-windmill-forty-july.{suffix}", "one of July, with the fungicide question"),
        (reports / f"packet.G01.halvard-oakes.{suffix}", "all fields of one grower, bound"),
        (reports / f"letter.G01.halvard-oakes.{suffix}", "what changed since the last visit"),
        (reports / f"harvest-order.{suffix}", "what to cut first, and why"),
        (reports / f"{BOARD}.html", "the board: the whole season, for the team"),
        (reports / f"trial-hybrids.{suffix}", "strips compared, after harvest"),
        (reports / f"settle.{suffix}", "estimates held against the scale"),
    )
    yield "Now open:"
    for path, what in pages:
        yield f"  {path}  ({what})"
