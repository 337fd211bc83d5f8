"""An invented season, walked from roster to report in one go."""

import json
import random
import shutil
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from fieldbook.forms.rounds import KERNEL_COUNT, POLLINATION, RIPENING, ROADSIDE, Round
from fieldbook.jobs import many
from fieldbook.problems import Problem, Weight, line
from fieldbook.report.build import SEASON_PAGE, write_reports
from fieldbook.season.blank import Order, book_plans, write_books
from fieldbook.season.folder import write_safely
from fieldbook.season.intake import Taken, take_in
from fieldbook.season.season import Season, open_season
from fieldbook.season.settings import Scout, Settings, Station
from fieldbook.season.start import TIME_ZONE, begin_season
from fieldbook.simulate import place
from fieldbook.simulate.field import FieldTruth, grow, harvest, true_yield_bu_ac
from fieldbook.simulate.files import cut_off, with_sheet_renamed
from fieldbook.simulate.mistakes import MISTAKES, plant
from fieldbook.simulate.scout import Entries, Walk, walk_field
from fieldbook.simulate.weather import Day, Spell, daily_weather, weather_csv
from fieldbook.units import System
from fieldbook.workbook.plan import BookPlan
from fieldbook.workbook.write import write_book

MARK = ".silkbook-demo"
AS_OF = date(place.YEAR, 9, 18)
_SEED = "marrow-creek-24"
_LOST_DAY = date(place.YEAR, 6, 17)
_FULL_FORM = ("ana",)
_ASKED_LINES, _HALF_STOPS = 12, 2


@dataclass(frozen=True, kw_only=True)
class _Leg:
    """One round of the season: walked so many days after a field reaches a stage."""

    round_: Round
    stage: str
    days_after: int


_LEGS = (
    _Leg(round_=ROADSIDE, stage="R1", days_after=-1),
    _Leg(round_=POLLINATION, stage="R1", days_after=9),
    _Leg(round_=KERNEL_COUNT, stage="R4", days_after=3),
    _Leg(round_=RIPENING, stage="R6", days_after=2),
)
# Fields where a scout types what is only a mistake: round, field and the mistake's name.
_SPOILED = {
    (KERNEL_COUNT.name, "T04"): ("an odd number of rows", "a word beside the number"),
    (KERNEL_COUNT.name, "B21"): ("a rare number of rows, not confirmed",),
    (KERNEL_COUNT.name, "F63"): ("the count of ears forgotten", "the letter O for a zero"),
    (POLLINATION.name, "H53"): ("no date",),
    (POLLINATION.name, "K43"): ("more than there can be",),
    (RIPENING.name, "F62"): ("more stalks failed than were tried", "a decimal comma"),
}


class DemoRefusedError(Exception):
    """The folder holds something that the demo did not make."""


def run_demo(folder: Path) -> Iterator[str]:
    """Make the season and run it; yields lines to read. Overwrites only a folder it made."""
    _clear(folder)
    yield f"Making an invented season, {place.NAME} {place.YEAR}, in {folder}"
    days = _weather()
    season = _make(folder, days)
    truths = {plot.field_id: grow(plot, days, seed=_SEED) for plot in place.PLOTS}
    _keep_truth(folder, truths)
    asked: list[Problem] = []
    for leg in _LEGS:
        taken = list(_walk_round(season, leg, truths))
        yield _round_line(leg, taken)
        asked += [found for one in taken for found in one.open_problems]
    yield from _asked_lines(asked)
    steps = list(write_reports(season, as_of=AS_OF, field_id=None, pdf=True, templates=None))
    no_pdf = any(step.problems for step in steps)
    kinds = "HTML pages" if no_pdf else "reports as HTML and PDF"
    yield f"Wrote {len(season.roster.fields)} {kinds}, and a page of the whole season."
    yield from _where_to_look(folder, no_pdf=no_pdf)


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
    return list(daily_weather(first, last, seed=_SEED, spells=spells))


def _make(folder: Path, days: list[Day]) -> Season:
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
        [row for plot in place.PLOTS for row in (plot.row, *plot.more_rows)],
    )
    write_safely(folder / MARK, b"made by 'silkbook demo'\n")
    measured = (day for day in days if day.day <= AS_OF and day.day != _LOST_DAY)
    path = folder / "weather" / f"{place.STATION}.csv"
    write_safely(path, weather_csv(measured).encode())
    season, problems = open_season(folder)
    if season is None:
        raise RuntimeError(f"the demo season can't be opened: {json.dumps(str(problems))}")
    return season


def _keep_truth(folder: Path, truths: Mapping[str, FieldTruth]) -> None:
    """Write beside the season what no scout knows: how each field truly grew and yielded."""
    kept = {}
    for field_id, truth in truths.items():
        cut = harvest(truth, random.Random(f"{_SEED}/{field_id}/harvest"))
        kept[field_id] = {
            "story": truth.plot.story,
            "stages": {stage: day.isoformat() for stage, day in truth.stage_days.items()},
            "yield_bu_ac": round(true_yield_bu_ac(truth), 1),
            "harvested_bu_ac": round(cut.yield_bu_ac, 1),
            "harvested_on": cut.day.isoformat(),
        }
    write_safely(folder / "truth.json", (json.dumps(kept, indent=1) + "\n").encode())


def _walk_round(season: Season, leg: _Leg, truths: Mapping[str, FieldTruth]) -> Iterator[Taken]:
    """Write a round's blank books, fill them as three scouts would, and take them in."""
    days = {
        field_id: truth.stage_days[leg.stage] + timedelta(days=leg.days_after)
        for field_id, truth in truths.items()
    }
    walked = {field_id: day for field_id, day in days.items() if day <= AS_OF}
    plans = [
        plan
        for scout, _ in place.SCOUTS
        for plan in _filled_plans(season, leg.round_, scout, truths, walked)
    ]
    books = list(zip(plans, many(write_book, plans), strict=True))
    paths = []
    for name, data in [*_sent(leg.round_, books), *_mishaps(leg.round_, books)]:
        paths.append(season.folder.incoming / name)
        write_safely(paths[-1], data)
    last = max(walked.values())
    evening = datetime(last.year, last.month, last.day, 23, tzinfo=UTC)
    yield from take_in(season, sorted(paths), now=evening)


def _filled_plans(
    season: Season,
    round_: Round,
    scout: str,
    truths: Mapping[str, FieldTruth],
    walked: Mapping[str, date],
) -> Iterator[BookPlan]:
    order = Order(round_=round_, scout=scout, full=scout in _FULL_FORM)
    for _ in write_books(season, order):
        pass  # the blank books, as the scouts get them
    entries = {
        field_id: _filled(round_, full=order.full, truth=truths[field_id], day=day)
        for field_id, day in walked.items()
    }
    return book_plans(season, order, entries=entries)


def _filled(round_: Round, *, full: bool, truth: FieldTruth, day: date) -> Entries:
    """Fill one field as its scout would, with the mistakes that this field is for."""
    form = round_.form(full=full)
    entries = walk_field(truth, Walk(day=day, form=form, rows=form.rows, forgets=0.002), seed=_SEED)
    field_id = truth.plot.field_id
    draw = random.Random(f"{_SEED}/{round_.name}/{field_id}/mistakes")
    kinds = {mistake.name: mistake for mistake in MISTAKES}
    for name in _SPOILED.get((round_.name, field_id), ()):
        spoiled = plant(entries, kinds[name], field_id, draw)
        entries = spoiled.entries if spoiled else entries
    return entries


Books = list[tuple[BookPlan, bytes]]


def _sent(round_: Round, books: Books) -> Iterator[tuple[str, bytes]]:
    """Name the books as the scouts send them; in ripening somebody renamed a sheet."""
    for plan, data in books:
        scout = plan.identity.scout
        renames = round_ is RIPENING and scout == "ana"
        sent = with_sheet_renamed(data, "Stops", "Stops (2)") if renames else data
        yield f"{round_.name} {scout}.xlsx", sent


def _mishaps(round_: Round, books: Books) -> Iterator[tuple[str, bytes]]:
    """Send along what comes in every season, one of each common kind."""
    by_scout = {plan.identity.scout: (plan, data) for plan, data in books}
    plan, data = by_scout["joss"]
    if round_ is ROADSIDE:
        yield "field notes.xlsx", b"D14 looks fine, T03 ask again. Call Ines about the gate.\n"
    elif round_ is POLLINATION:
        yield "pollination joss from the phone.xlsx", cut_off(data)
    elif round_ is KERNEL_COUNT:
        yield "kernel-count sent twice.xlsx", data
        yield "kernel-count half done.xlsx", write_book(_half(by_scout["mirek"][0]))
    elif round_ is RIPENING:
        yield "ripening of last year.xlsx", write_book(_of_last_year(plan))


def _half(plan: BookPlan) -> BookPlan:
    """Return a book as it is when the scout has done two stops of each field."""
    done = {key: value for key, value in plan.entries.items() if key[1][1:2] <= (_HALF_STOPS,)}
    return replace(plan, entries=done)


def _of_last_year(plan: BookPlan) -> BookPlan:
    before = place.YEAR - 1
    identity = replace(
        plan.identity, season_id=f"marrow-creek-{before}", book_id=f"RP{before % 100}-LOST1"
    )
    return replace(plan, identity=identity)


def _round_line(leg: _Leg, taken: list[Taken]) -> str:
    visits = {visit for one in taken for visit in one.visits}
    books = [one for one in taken if one.accepted]
    left = len(taken) - len(books)
    said = f"{leg.round_.label}: {len(books)} books came back, {len(visits)} fields"
    return f"{said}; {left} other files set aside." if left else f"{said}."


def _asked_lines(asked: list[Problem]) -> Iterator[str]:
    """Say what is questioned, the heaviest first."""
    order = list(Weight)
    heaviest = sorted(asked, key=lambda found: order.index(found.weight))
    yield f"{len(asked)} things are questioned or told, as they would be in a real season:"
    for found in heaviest[:_ASKED_LINES]:
        yield f"  {found.weight.upper():5}  {line(found)}"
    if len(asked) > _ASKED_LINES:
        yield f"  and {len(asked) - _ASKED_LINES} more, in the reports of their fields"


def _where_to_look(folder: Path, *, no_pdf: bool) -> Iterator[str]:
    suffix = "html" if no_pdf else "pdf"
    reports, blank = folder / "reports", folder / "blank" / POLLINATION.name / "joss.xlsx"
    yield "Now open:"
    yield f"  {blank}  (a blank book, as a scout gets it)"
    yield f"  {reports / f'D15-schoolhouse-eighty.{suffix}'}  (a grower's report)"
    yield f"  {reports / SEASON_PAGE}  (the whole season, for the team)"
