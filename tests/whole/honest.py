"""Whole seasons of honest books on fields at random, and what is asked of them."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from fieldbook.forms.rounds import KERNEL_COUNT, POLLINATION, RIPENING, ROADSIDE, Round
from fieldbook.jobs import many
from fieldbook.ledger.safely import write_safely
from fieldbook.problems import Problem
from fieldbook.season.blank import Order, book_plans
from fieldbook.season.intake import take_in
from fieldbook.season.season import Season, open_season
from fieldbook.season.start import TIME_ZONE, begin_season
from fieldbook.settings.settings import Scout, Settings, Station
from fieldbook.simulate import place
from fieldbook.simulate.field import FieldTruth, grow, random_plot
from fieldbook.simulate.scout import Walk, walk_field
from fieldbook.simulate.weather import daily_weather, weather_csv
from fieldbook.units import System
from fieldbook.workbook.write import write_book

# What a season's field sees, in the order of the season: a round, and the days after a stage.
LEGS: tuple[tuple[Round, str, int], ...] = (
    (ROADSIDE, "VT", 0),
    (POLLINATION, "R2", -1),
    (KERNEL_COUNT, "R4", -2),
    (KERNEL_COUNT, "R5", 4),
    (RIPENING, "R6", 3),
)


@dataclass
class Asked:
    """What was filled honestly, and what was said of it."""

    fields: int = 0
    visits: int = 0
    ears: int = 0
    said: list[Problem] = field(default_factory=list)

    def add(self, other: "Asked") -> None:
        """Count another season's in."""
        self.fields += other.fields
        self.visits += other.visits
        self.ears += other.ears
        self.said += other.said

    def of(self, *codes: str) -> list[Problem]:
        """Return what was said with one of these codes."""
        return [found for found in self.said if found.code in codes]


def honest_seasons(folder: Path, *, seeds: Iterable[str], fields: int, full: bool) -> Asked:
    """Walk a season of fields at random for each seed; every round of every field."""
    jobs = [(folder / f"{seed}-{full}", seed, fields, full) for seed in seeds]
    asked = Asked()
    for one in many(_season, jobs):
        asked.add(one)
    return asked


def _season(job: tuple[Path, str, int, bool]) -> Asked:
    folder, seed, count, full = job
    first, last = date(place.YEAR, 1, 1), date(place.YEAR, 12, 31)
    days = list(daily_weather(first, last, seed=seed))
    plots = [random_plot(number, seed) for number in range(count)]
    begin_season(
        folder,
        Settings(
            season_id="honest",
            name="Honest",
            year=place.YEAR,
            units=System.US,
            time_zone=TIME_ZONE,
            stations={place.STATION: Station(name=place.STATION, units=System.US)},
            scouts=tuple(Scout(scout_id=short, name=name) for short, name in place.SCOUTS),
        ),
        [plot.row for plot in plots],
    )
    write_safely(folder / "weather" / f"{place.STATION}.csv", weather_csv(days).encode())
    season, problems = open_season(folder)
    assert season is not None, problems
    truths = {plot.field_id: grow(plot, days, seed=seed) for plot in plots}
    asked = Asked(fields=count)
    for number, leg in enumerate(LEGS):
        for found in _walked(season, truths, number, leg, full=full):
            asked.add(found)
    return asked


def _walked(
    season: Season,
    truths: Mapping[str, FieldTruth],
    number: int,
    leg: tuple[Round, str, int],
    *,
    full: bool,
) -> Iterator[Asked]:
    """Fill a round's books and take them in."""
    round_, stage, after = leg
    form = round_.form(full=full)
    entries = {
        field_id: walk_field(
            truth,
            Walk(day=truth.stage_days[stage] + timedelta(days=after), form=form, rows=form.rows),
            seed=f"{truth.seed}/{number}",
        )
        for field_id, truth in truths.items()
    }
    ears = {
        key for filled in entries.values() for sheet, key, name in filled if name == "kernels_set"
    }
    paths = []
    for at, plan in enumerate(book_plans(season, Order(round_=round_, full=full), entries=entries)):
        paths.append(season.folder.incoming / f"{number}-{at}.xlsx")
        write_safely(paths[-1], write_book(plan))
    evening = datetime(place.YEAR, 12, 1, tzinfo=UTC)
    said = [found for one in take_in(season, paths, now=evening) for found in one.open_problems]
    yield Asked(visits=len(truths), ears=len(ears), said=said)
