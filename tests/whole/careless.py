"""Hold the checks against a careless scout: every kind of mistake, planted where we know it."""

import random
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cache
from pathlib import Path

from fieldbook.check.book import check_book
from fieldbook.forms.rounds import ROUNDS, Form, Round
from fieldbook.problems import Problem
from fieldbook.season.blank import Order, book_plans
from fieldbook.season.season import Season, open_season
from fieldbook.season.settings import Scout, Station
from fieldbook.season.start import Beginning, begin_season
from fieldbook.simulate import place
from fieldbook.simulate.field import FieldTruth, grow
from fieldbook.simulate.mistakes import MISTAKES, Mistake, Planted, plant
from fieldbook.simulate.scout import Entries, Walk, walk_field
from fieldbook.simulate.weather import Spell, daily_weather
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
}


@dataclass
class Rates:
    """What became of all mistakes, and what was asked where nothing was planted.

    ``rightly`` counts the visits that were filled rightly, ``asked`` what was said of them: true
    but rare readings are asked about, so it need not be empty.
    """

    tallies: dict[Mistake, "Tally"]
    rightly: int = 0
    asked: list[Problem] = field(default_factory=list)


@dataclass
class Tally:
    """What became of the mistakes of one kind."""

    planted: int = 0
    found: int = 0
    missed: list[str] = field(default_factory=list)
    false: list[str] = field(default_factory=list)


def open_place(folder: Path) -> Season:
    """Make the invented season without any book."""
    begin_season(
        folder,
        Beginning(
            season_id="careless",
            name="Careless",
            year=place.YEAR,
            stations=(Station(name=place.STATION, units=System.US),),
            scouts=tuple(Scout(scout_id=short, name=name) for short, name in place.SCOUTS),
            rows=tuple(row for plot in place.PLOTS for row in (plot.row, *plot.more_rows)),
        ),
    )
    season, problems = open_season(folder)
    assert season is not None, problems
    return season


@cache
def truths() -> Mapping[str, FieldTruth]:
    """Grow the invented fields."""
    spells = tuple(Spell(**spell) for spell in place.SPELLS)
    first, last = date(place.YEAR, 1, 1), date(place.YEAR, 12, 31)
    days = list(daily_weather(first, last, seed=SEED, spells=spells))
    return {plot.field_id: grow(plot, days, seed=SEED) for plot in place.PLOTS}


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
    """Write the books, read them back and check them; yields every problem."""
    context = season.context({}, today=TODAY, received=TODAY)
    for plan in book_plans(season, order, entries=entries):
        read = read_book(write_book(plan), "book.xlsx")
        assert read.book is not None, read.problems
        verdict = check_book(read.book, context)
        yield from (found for found in verdict.open_problems if found.code != "book-nothing-filled")


def run(season: Season, *, seed: str, times: int = 1) -> Rates:
    """Plant every kind of mistake in every form that it fits; return what was found."""
    rates = Rates(tallies={mistake: Tally() for mistake in MISTAKES})
    for time in range(times):
        for round_ in ROUNDS.values():
            for full in (False, True):
                _run_form(season, round_, full, f"{seed}/{time}", rates)
    return rates


def _run_form(season: Season, round_: Round, full: bool, seed: str, rates: Rates) -> None:
    """Plant each kind of mistake once in one form, in fields that nothing is asked about."""
    form, order = round_.form(full=full), Order(round_=round_, full=full)
    everywhere = walked(round_, form, seed=seed)
    asked = list(judged(season, order, everywhere))
    unclear = {found.place.field_id for found in asked}
    rightly = {field_id: e for field_id, e in everywhere.items() if field_id not in unclear}
    rates.rightly += len(everywhere)
    rates.asked += asked
    waiting = [mistake for mistake in MISTAKES if mistake.fits(round_, form)]
    draw = random.Random(seed)
    while waiting:
        planted = _planted(rightly, waiting, draw)
        waiting = waiting[len(planted) :] if planted else waiting[1:]
        entries = {field_id: one.entries for field_id, one in planted.items()}
        found = list(judged(season, order, {**rightly, **entries}))
        for field_id, one in planted.items():
            here = [p for p in found if p.place.field_id == field_id]
            _count(
                rates.tallies[one.mistake],
                one,
                here,
                f"{round_.name}, {'full' if full else 'quick'}",
            )
        strays = [p for p in found if p.place.field_id not in planted]
        assert strays == [], strays


def _planted(
    rightly: Mapping[str, Entries], waiting: list[Mistake], draw: random.Random
) -> dict[str, Planted]:
    """Make the next mistakes, one a field."""
    planted: dict[str, Planted] = {}
    for mistake in waiting:
        left = [field_id for field_id in rightly if field_id not in planted]
        draw.shuffle(left)
        made = (plant(rightly[field_id], mistake, field_id, draw) for field_id in left)
        one = next((one for one in made if one is not None), None)
        if one is None:
            break
        planted[str(one.key[0])] = one
    return planted


def _count(tally: Tally, one: Planted, found: list[Problem], where: str) -> None:
    tally.planted += 1
    row = ", ".join(str(part) for part in one.key[1:]) or None
    wanted = (one.mistake.code, one.mistake.sheet, row, one.mistake.at)
    for said in found:
        at = (said.code, said.place.table, said.place.row, said.place.column)
        if at == wanted:
            tally.found += 1
        else:
            tally.false.append(f"{where}: {said.code} at {said.place.words()}")
    if wanted not in [(p.code, p.place.table, p.place.row, p.place.column) for p in found]:
        tally.missed.append(f"{where}: {one.key}")


def table(tallies: Mapping[Mistake, Tally]) -> str:
    """Write the rates as lines of a table."""
    lines = ["| Mistake | Code | Planted | Found | Missed | False |", "|---|---|--:|--:|--:|--:|"]
    total: Counter[str] = Counter()
    for mistake, tally in tallies.items():
        counts = {
            "planted": tally.planted,
            "found": tally.found,
            "missed": len(tally.missed),
            "false": len(tally.false),
        }
        total.update(counts)
        cells = " | ".join(str(count) for count in counts.values())
        lines.append(f"| {mistake.name} | `{mistake.code}` | {cells} |")
    sums = " | ".join(str(total[name]) for name in ("planted", "found", "missed", "false"))
    return "\n".join([*lines, f"| **all** | | {sums} |"])
