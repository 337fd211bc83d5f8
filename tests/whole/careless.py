"""Hold the checks against a careless scout: every kind of mistake, planted where we know it."""

import random
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import cache
from pathlib import Path

from fieldbook.check.book import check_book
from fieldbook.forms.rounds import ROUNDS, Form, Round
from fieldbook.jobs import many
from fieldbook.ledger.safely import write_safely
from fieldbook.problems import Problem
from fieldbook.season.blank import Order, book_plans
from fieldbook.season.season import Season, open_season
from fieldbook.season.start import TIME_ZONE, begin_season
from fieldbook.settings.settings import Scout, Settings, Station
from fieldbook.simulate import place
from fieldbook.simulate.field import FieldTruth, grow
from fieldbook.simulate.mistake import Mistake
from fieldbook.simulate.mistake_kinds import MISTAKES
from fieldbook.simulate.mistakes import Planted, plant
from fieldbook.simulate.scout import Entries, Walk, walk_field
from fieldbook.simulate.weather import Day, Spell, daily_weather, weather_csv
from fieldbook.units import System
from fieldbook.workbook.read import read_book
from fieldbook.workbook.write import write_book

SEED = "marrow-creek-1"
TODAY = date(place.YEAR, 12, 1)
# When a round is walked: days after the field reaches a stage.
WALKED = {
    "roadside": ("R1", 0),
    "pollination": ("R2", 0),
    "kernel-count": ("R4", 3),
    "ripening": ("R6", 3),
    "harvest": ("R6", 30),
}


@dataclass
class Tally:
    """What became of the mistakes of one kind."""

    planted: int = 0
    found: int = 0
    missed: list[str] = field(default_factory=list)
    false: list[str] = field(default_factory=list)

    def add(self, other: "Tally") -> None:
        """Count another form's in."""
        self.planted += other.planted
        self.found += other.found
        self.missed += other.missed
        self.false += other.false

    @property
    def cells(self) -> str:
        """The counts as cells of a table."""
        return f"{self.planted} | {self.found} | {len(self.missed)} | {len(self.false)}"


@dataclass
class Rates:
    """What became of all mistakes, and what was asked where nothing was planted.

    ``tallies`` go by the mistake's name; ``unplanted`` are those for which no field had a row.
    ``rightly`` counts the visits that were filled rightly, ``asked`` what was said of them: true
    but rare readings are asked about, so it need not be empty.
    """

    tallies: dict[str, Tally]
    rightly: int = 0
    asked: list[Problem] = field(default_factory=list)
    unplanted: list[str] = field(default_factory=list)

    def add(self, other: "Rates") -> None:
        """Count another form's in."""
        for name, tally in other.tallies.items():
            self.tallies[name].add(tally)
        self.rightly += other.rightly
        self.asked += other.asked
        self.unplanted += other.unplanted


def open_place(folder: Path) -> Season:
    """Make the invented season without any book."""
    begin_season(
        folder,
        Settings(
            season_id="careless",
            name="Careless",
            year=place.YEAR,
            units=System.US,
            time_zone=TIME_ZONE,
            stations={place.STATION: Station(name=place.STATION, units=System.US)},
            scouts=tuple(Scout(scout_id=short, name=name) for short, name in place.SCOUTS),
        ),
        [row for plot in place.PLOTS for row in (plot.row, *plot.more_rows)],
    )
    path = folder / "weather" / f"{place.STATION}.csv"
    write_safely(path, weather_csv(_weather()).encode())
    return _opened(folder)


def _opened(folder: Path) -> Season:
    season, problems = open_season(folder)
    assert season is not None, problems
    return season


@cache
def truths() -> Mapping[str, FieldTruth]:
    """Grow the invented fields."""
    return {plot.field_id: grow(plot, _weather(), seed=SEED) for plot in place.PLOTS}


@cache
def _weather() -> tuple[Day, ...]:
    """Make the season's weather, which the checks know as well."""
    spells = tuple(Spell(**spell) for spell in place.SPELLS)
    first, last = date(place.YEAR, 1, 1), date(place.YEAR, 12, 31)
    return tuple(daily_weather(first, last, seed=SEED, spells=spells))


def walked(round_: Round, form: Form, *, seed: str) -> dict[str, Entries]:
    """Fill a round's form for every field, rightly."""
    stage, after = WALKED[round_.name]
    return {
        field_id: walk_field(
            truth,
            Walk(
                day=truth.stage_days[stage] + timedelta(days=after),
                form=form,
                rows=form.rows,
            ),
            seed=seed,
        )
        for field_id, truth in truths().items()
    }


def judged(season: Season, order: Order, entries: Mapping[str, Entries]) -> Iterator[Problem]:
    """Write books of the filled fields, read them back and check them; yields every problem."""
    context = season.context({}, today=TODAY, received=TODAY)
    for plan in book_plans(season, order, entries=entries):
        visits = tuple(visit for visit in plan.visits if visit.slip.field_id in entries)
        if not visits:
            continue
        identity = replace(plan.identity, visits=tuple(visit.slip for visit in visits))
        filled = replace(plan, visits=visits, identity=identity)
        read = read_book(write_book(filled), "book.xlsx")
        assert read.book is not None, read.problems
        yield from check_book(read.book, context).open_problems


def run(folder: Path, *, seeds: Iterable[str], quick: bool = True) -> Rates:
    """Plant every kind of mistake in every form that it fits, once a seed; return what came of it.

    `folder` is a season that `open_place` made. The quick forms ask for nothing that the full
    ones do not, so they can be left out.
    """
    forms = [
        (folder, round_.name, full, seed)
        for seed in seeds
        for round_ in reversed(ROUNDS.values())  # the largest books first
        for full in ((True, False) if quick else (True,))
    ]
    rates = Rates(tallies={mistake.name: Tally() for mistake in MISTAKES})
    for found in many(_run_form, forms):
        rates.add(found)
    return rates


def _run_form(job: tuple[Path, str, bool, str]) -> Rates:
    """Plant each kind of mistake once in one form, in fields that nothing is asked about."""
    folder, name, full, seed = job
    season, round_ = _opened(folder), ROUNDS[name]
    form, order = round_.form(full=full), Order(round_=round_, full=full)
    where = f"{round_.name}, {'full' if full else 'quick'}"
    everywhere = walked(round_, form, seed=seed)
    rates = Rates(tallies={}, rightly=len(everywhere))
    rates.asked += judged(season, order, everywhere)
    unclear = {found.place.field_id for found in rates.asked}
    rightly = {field_id: e for field_id, e in everywhere.items() if field_id not in unclear}
    waiting = [mistake for mistake in MISTAKES if mistake.fits(round_, form)]
    draw = random.Random(f"{seed}/{where}")
    while waiting:
        planted = _planted(rightly, waiting, draw)
        if not planted:
            rates.unplanted += [f"{where}: {mistake.name}" for mistake in waiting]
            break
        made = {one.mistake for one in planted.values()}
        waiting = [mistake for mistake in waiting if mistake not in made]
        spoiled = {field_id: one.entries for field_id, one in planted.items()}
        found = list(judged(season, order, spoiled))
        for field_id, one in planted.items():
            here = [problem for problem in found if problem.place.field_id == field_id]
            rates.tallies[one.mistake.name] = _tally(one, here, where)
    return rates


def _planted(
    rightly: Mapping[str, Entries], waiting: list[Mistake], draw: random.Random
) -> dict[str, Planted]:
    """Make as many of the mistakes as there are fields for, one a field."""
    planted: dict[str, Planted] = {}
    for mistake in waiting:
        left = [field_id for field_id in rightly if field_id not in planted]
        draw.shuffle(left)
        made = (plant(rightly[field_id], mistake, field_id, draw) for field_id in left)
        one = next((one for one in made if one is not None), None)
        if one is not None:
            planted[str(one.key[0])] = one
    return planted


def _tally(one: Planted, found: list[Problem], where: str) -> Tally:
    """Hold what was said of a spoiled visit against what must be said, and nothing else."""
    row = ", ".join(str(part) for part in one.key[1:]) or None
    wanted = (one.mistake.code, one.mistake.sheet, row, one.mistake.at)
    said = [(p.code, p.place.table, p.place.row, p.place.column) for p in found]
    return Tally(
        planted=1,
        found=int(wanted in said),
        missed=[] if wanted in said else [f"{where}: {one.key}"],
        false=[f"{where}: {' at '.join(map(str, more))}" for more in said if more != wanted],
    )


def table(rates: Rates) -> str:
    """Write the rates as lines of a table."""
    lines = ["| Mistake | Code | Planted | Found | Missed | False |", "|---|---|--:|--:|--:|--:|"]
    total = Tally()
    for mistake in MISTAKES:
        tally = rates.tallies[mistake.name]
        total.add(tally)
        lines.append(f"| {mistake.name} | `{mistake.code}` | {tally.cells} |")
    return "\n".join([*lines, f"| **all** | | {total.cells} |"])
