"""What a field truly yields, and what comes over the scale."""

import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from math import ceil

from fieldbook.simulate.canopy import failing_stalks
from fieldbook.simulate.place import SEASON_END
from fieldbook.simulate.rings import grain_lb, kernel_mg_at, kernels_on_an_ear
from fieldbook.simulate.stops import mean_stand
from fieldbook.simulate.truth import FieldTruth, ground_of

_STOPS, _EARS_A_STOP = 400, 3
_FIRST_STOP = 10_001  # far from the stops that scouts walk to
_MARKET_PCT, _LB_PER_BU = 15.5, 56.0
_TRUCK_LB = 52_000
_READY_PCT = 21.0
_SCALE_SD, _METER_SD_PCT, _ACRES_SD = 0.006, 0.4, 0.005
_EDGE_SHARE, _EDGE_LOSS = 0.06, 0.15


@dataclass(frozen=True, kw_only=True)
class Harvest:
    """What came over the scale.

    ``bushels`` are the scale's, 56 lb each as wet as they came; ``yield_bu_ac`` is of dry
    bushels at 15.5 % and of the acres that were cut.
    """

    day: date
    acres: float
    bushels: float
    moisture_pct: float
    yield_bu_ac: float


@dataclass(frozen=True, kw_only=True)
class LoadState:
    """One scale ticket."""

    ticket: str
    wet_lb: float
    moisture_pct: float
    test_weight_lb_bu: float


@lru_cache(maxsize=64)
def true_yield_bu_ac(truth: FieldTruth) -> float:
    """Work out the interior's mean yield at 15.5 % moisture [bu/ac]: 400 stops of 3 ears.

    Its own standard error is near 1 %: the spread between stops over the root of 400.
    """
    draw = random.Random(f"{truth.seed}/{truth.plot.field_id}/yield")
    stops = range(_FIRST_STOP, _FIRST_STOP + _STOPS)
    return sum(_stop_yield_bu_ac(truth, stop, draw) for stop in stops) / _STOPS


def _stop_yield_bu_ac(truth: FieldTruth, stop: int, draw: random.Random) -> float:
    ground = ground_of(truth, stop)
    plants, barren = mean_stand(truth, ground)
    ears_per_ac = 1000 * plants * (1 - barren)
    kernels = sum(kernels_on_an_ear(truth, ground, draw) for _ in range(_EARS_A_STOP))
    ear_lb = grain_lb(kernels / _EARS_A_STOP, kernel_mg_at(truth, ground), _MARKET_PCT)
    return ears_per_ac * ear_lb / _LB_PER_BU


def harvest(truth: FieldTruth, draw: random.Random) -> Harvest:
    """Cut a field once it is dry enough, at the season's end at the latest.

    The edges yield less than the interior, fallen stalks and the combine lose some, and scale,
    meter and acres have errors of their own.
    """
    day = _harvest_day(truth)
    stands = true_yield_bu_ac(truth) * (1 - _EDGE_SHARE * _EDGE_LOSS)
    left = 0.4 * failing_stalks(truth.plot, truth.growth, day) * draw.random()
    home = stands * (1 - left) * (1 - draw.uniform(0.01, 0.04))
    acres = round((truth.plot.row.acres or 0.0) * draw.gauss(1, _ACRES_SD), 1)
    moisture = round(truth.growth.moisture_pct(day) + draw.gauss(0, _METER_SD_PCT), 1)
    wet = home * (100 - _MARKET_PCT) / (100 - moisture)
    bushels = round(acres * wet * draw.gauss(1, _SCALE_SD))
    dry = bushels * (100 - moisture) / (100 - _MARKET_PCT)
    return Harvest(
        day=day,
        acres=acres,
        bushels=bushels,
        moisture_pct=moisture,
        yield_bu_ac=dry / acres,
    )


def load_tickets(cut: Harvest, draw: random.Random, *, most: int) -> Iterator[LoadState]:
    """Share a harvest out over the scale, truck by truck; in `most` loads at the most."""
    pounds = cut.bushels * _LB_PER_BU
    trucks = min(most, ceil(pounds / _TRUCK_LB))
    shares = [draw.uniform(0.9, 1.1) for _ in range(trucks)]
    first = draw.randrange(1000, 9000)
    for at, share in enumerate(shares):
        yield LoadState(
            ticket=str(first + 3 * at),
            wet_lb=float(20 * round(pounds * share / sum(shares) / 20)),
            moisture_pct=cut.moisture_pct,
            test_weight_lb_bu=round(draw.gauss(57, 0.6), 1),
        )


def _harvest_day(truth: FieldTruth) -> date:
    day = truth.stage_days["R6"]
    while day < SEASON_END and truth.growth.moisture_pct(day) > _READY_PCT:
        day += timedelta(days=1)
    return day
