"""Hold the sampling interval of a yield against fields whose mean is known.

Only sampling is tested: the truth is worked out in the same unit, ears per acre times kernels per
ear over the kernels per bushel that the visit itself took, so a wrong kernel weight costs nothing.
"""

import random
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache, partial
from statistics import NormalDist, fmean, stdev
from typing import Any

from fieldbook.check.roster import Field, Planting
from fieldbook.figures import shipped_figures
from fieldbook.forms.ears import Ear
from fieldbook.forms.fields import Visit
from fieldbook.forms.rounds import KERNEL_COUNT
from fieldbook.forms.stops import Stop
from fieldbook.jobs import many
from fieldbook.ledger.stored import StoredVisit
from fieldbook.results.counts import counted_visit
from fieldbook.results.yield_result import YieldResult
from fieldbook.simulate.field import FieldTruth, grow, random_plot
from fieldbook.simulate.place import SEASON_END, YEAR, Plot
from fieldbook.simulate.rings import grain_lb, kernel_mg_at, kernels_on_an_ear
from fieldbook.simulate.scout import Entries, Walk, walk_field
from fieldbook.simulate.stops import mean_stand
from fieldbook.simulate.truth import ground_of
from fieldbook.simulate.weather import Day, daily_weather
from fieldbook.units import System

SEED = "yield-truth-1"
STOPS = 30  # walked in each field, then dealt out to visits
SIZES = (3, 5, 10)  # stops a visit
_WEATHERS = 25
_MARKET_PCT, _LB_PER_BU = 15.5, 56.0
# Stops of the truth: far from those that are walked, and so many that they add half a percent to
# the variance of a mean of ten.
_TRUE_STOPS, _FIRST_TRUE_STOP = 2000, 50_001
_RECORDS: Mapping[str, type[Any]] = {"fields": Visit, "stops": Stop, "ears": Ear}


@dataclass(frozen=True, kw_only=True)
class Interior:
    """The truth of a field: kernels on a mean acre, and what they weigh in the end [bu/ac]."""

    kernels_per_ac: float
    harvest_bu_ac: float


@dataclass(frozen=True, kw_only=True)
class Told:
    """What one visit told of a field, and the truth in the same unit [bu/ac]."""

    stops: int
    truth: float
    likely: float
    interval: tuple[float, float]
    range_holds_harvest: bool

    @property
    def holds(self) -> bool:
        """Say whether the sampling interval holds the truth."""
        return self.interval[0] <= self.truth <= self.interval[1]


@dataclass(frozen=True, kw_only=True)
class Rate:
    """How often intervals held, and the 95 % interval of that rate with fields as the unit."""

    fields: int
    visits: int
    held: float
    low: float
    high: float


@dataclass(frozen=True, kw_only=True)
class FieldTold:
    """All that was told of one field."""

    number: int
    story: str
    told: tuple[Told, ...]

    def of(self, stops: int) -> list[Told]:
        """Return the visits of so many stops."""
        return [one for one in self.told if one.stops == stops]


def told_of_fields(count: int, *, full: bool = True, workers: int | None = None) -> list[FieldTold]:
    """Grow fields at random, walk each, and return what every visit told."""
    return list(many(partial(told_of_field, full=full), range(count), workers=workers))


def told_of_field(number: int, *, full: bool) -> FieldTold:
    """Grow one field, walk its stops at dent and judge every visit that they make."""
    plot = random_plot(number, SEED)
    field_truth = grow(plot, _weather(number % _WEATHERS), seed=f"{SEED}/{number}")
    truth = interior_of(field_truth)
    field, entries = _field(plot), _walked(field_truth, full=full)
    told = [
        _told(truth, _yield(entries, field, range(first, first + size)))
        for size in SIZES
        for first in range(1, STOPS + 1, size)
    ]
    return FieldTold(number=number, story=plot.story, told=tuple(told))


@cache
def _weather(number: int) -> tuple[Day, ...]:
    return tuple(daily_weather(date(YEAR, 1, 1), SEASON_END, seed=f"{SEED}/{number}"))


def interior_of(truth: FieldTruth) -> Interior:
    """Work out the means of a field's interior; the draws are not those of any scout."""
    draw = random.Random(f"{SEED}/{truth.plot.field_id}/truth")
    kernels, pounds = zip(
        *(_stop_per_ac(truth, _FIRST_TRUE_STOP + number, draw) for number in range(_TRUE_STOPS)),
        strict=True,
    )
    return Interior(kernels_per_ac=fmean(kernels), harvest_bu_ac=fmean(pounds) / _LB_PER_BU)


def _stop_per_ac(truth: FieldTruth, stop: int, draw: random.Random) -> tuple[float, float]:
    """Give the kernels and the pounds of grain at 15.5 % on an acre like one stop."""
    ground = ground_of(truth, stop)
    plants, barren = mean_stand(truth, ground)
    kernels = 1000 * plants * (1 - barren) * kernels_on_an_ear(truth, ground, draw)
    return kernels, grain_lb(kernels, kernel_mg_at(truth, ground), _MARKET_PCT)


def _walked(truth: FieldTruth, *, full: bool) -> Entries:
    form = KERNEL_COUNT.form(full=full)
    walk = Walk(day=truth.stage_days["R5"], form=form, rows={**form.rows, "stop": STOPS})
    return walk_field(truth, walk, seed=SEED)


def _field(plot: Plot) -> Field:
    """Take from the roster row what the yield needs."""
    row = plot.row
    unsaid = dict.fromkeys(name for name in Field.__dataclass_fields__ if name != "plantings")
    unsaid_planting = dict.fromkeys(Planting.__dataclass_fields__)
    planting = Planting(**{**unsaid_planting, "planted": plot.planted, "acres": row.acres})
    said = {name: getattr(row, name) for name in ("field_id", "field", "acres", "row_width_in")}
    return Field(**{**unsaid, **said, "plantings": (planting,)})


def _yield(entries: Entries, field: Field, stops: Sequence[int]) -> YieldResult:
    visit = StoredVisit(
        visit_id=f"{field.field_id}.KC1",
        field_id=field.field_id,
        field=field.field,
        grower=field.grower,
        round=KERNEL_COUNT.name,
        scout="ana",
        units=System.US,
        row_width_in=field.row_width_in,
        sequence=1,
        records=_records(entries, stops),
    )
    found = counted_visit(visit, field, shipped_figures(), wanted_half_width_bu_ac=10)
    assert found.yield_ is not None
    return found.yield_


def _records(entries: Entries, stops: Sequence[int]) -> dict[str, tuple[Any, ...]]:
    """Turn the cells of some stops into the ledger's records."""
    rows: dict[str, dict[tuple[str | int, ...], dict[str, Any]]] = {name: {} for name in _RECORDS}
    for (sheet, key, column), value in entries.items():
        if sheet in rows and (len(key) == 1 or key[1] in stops):
            rows[sheet].setdefault(key, {})[column] = value
    return {
        sheet: tuple(_record(sheet, key, cells) for key, cells in found.items())
        for sheet, found in rows.items()
    }


def _record(sheet: str, key: tuple[str | int, ...], cells: Mapping[str, Any]) -> Any:
    keys = dict(zip(("field_id", "stop", "ear"), key, strict=False))
    return _RECORDS[sheet](**keys, **cells)


def _told(truth: Interior, found: YieldResult) -> Told:
    assert found.interval_95_bu_ac is not None
    low, high = found.range_bu_ac
    return Told(
        stops=found.stops_used,
        truth=truth.kernels_per_ac / 1000 / found.thousand_kernels_per_bu[1],
        likely=found.likely_bu_ac,
        interval=found.interval_95_bu_ac,
        range_holds_harvest=low <= truth.harvest_bu_ac <= high,
    )


def rate(fields: Iterable[FieldTold], stops: int, good: Callable[[Told], bool]) -> Rate:
    """Work out the share of visits of so many stops that are good.

    Each field gives one share: visits of one field are alike, so fields are the sampling unit.
    """
    visits = [field.of(stops) for field in fields]
    shares = [fmean(map(good, told)) for told in visits]
    half = NormalDist().inv_cdf(0.975) * stdev(shares) / len(shares) ** 0.5
    held = fmean(shares)
    return Rate(
        fields=len(visits),
        visits=sum(map(len, visits)),
        held=held,
        low=held - half,
        high=held + half,
    )


def too_high(fields: Iterable[FieldTold], stops: int) -> float:
    """Return the mean of how much the visits read too high, as a share of the truth."""
    return fmean(told.likely / told.truth - 1 for field in fields for told in field.of(stops))
