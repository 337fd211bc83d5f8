"""How a field develops: heat by the hour, water in the soil, stages, ripening.

Built otherwise than the analysis that it tests: heat comes from a day's course of temperature and
not from its two ends, and water from a daily balance. Numbers without a source are assumed.
"""

import math
import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from itertools import pairwise

from fieldbook.simulate.place import Plot
from fieldbook.simulate.weather import Day

# Height of temperature between the day's low and its high, hour by hour; warmest at 15 h.
_COURSE = tuple(0.5 + 0.5 * math.cos(2 * math.pi * (hour - 15) / 24) for hour in range(24))
_BASE_F, _BEST_F, _TOO_HOT_F, _FALL_PER_F = 50.0, 86.0, 95.0, 1.5

_EMERGENCE_F = 115.0
_TASSEL_BEFORE_SILK_F = 62.0
_NEED_NOISE = 0.02
# Shares of the heat between silking and black layer, and their noise.
_STAGE_SHARES = {"R2": 0.22, "R3": 0.35, "R4": 0.47, "R5": 0.66, "R6": 1.0}
_SHARE_NOISE = 0.012
# Late corn needs less heat: near what Nielsen, Thomison et al. (2002) found, as a share a day.
_LATE_FROM, _LATE_MOST_D = (5, 3), 40
_LATE_SILK, _LATE_FILL = 0.0011, 0.0036
_SILK_DELAY_D = 6.0  # by full dryness before silking
_KILLED_AT_F, _DEAD_FROM = 28, (11, 1)

# Grain moisture [%] by share of the filling heat.
_MOISTURE = ((0.0, 90.0), (0.22, 85.0), (0.35, 80.0), (0.47, 70.0), (0.66, 55.0), (1.0, 34.0))
_DRY_DOWN, _DRY_BASE_F, _DRY_FLOOR_PCT = 0.0011, 40.0, 11.0

_KEEPS = 0.8  # share of a rain that stays in the root zone
_STRESS_BELOW = 0.45  # of the water that the soil can hold
_IRRIGATE_BELOW, _IRRIGATION_IN = 0.6, 1.0


@dataclass(frozen=True, kw_only=True)
class Growth:
    """A field's course from planting on.

    ``heat_f`` is the sum since planting and ``dryness`` runs from 0 to 1, both by day of ``days``.
    """

    days: tuple[Day, ...]
    heat_f: tuple[float, ...]
    dryness: tuple[float, ...]
    stage_days: Mapping[str, date]
    fill_need_f: float
    killed: date | None

    def at(self, day: date) -> int:
        """Find the place of a day in the sequences, held within them."""
        return max(0, min(len(self.days) - 1, (day - self.days[0].day).days))

    def dry(self, first: date, last: date) -> float:
        """Give the mean dryness of the days from `first` to `last`, 0..1."""
        part = self.dryness[self.at(first) : self.at(last) + 1]
        return sum(part) / len(part)

    def weather(self, first: date, last: date) -> tuple[Day, ...]:
        """Give the days from `first` to `last`."""
        return self.days[self.at(first) : self.at(last) + 1]

    def filled(self, day: date) -> float:
        """Give the share of the filling heat that came by a day: 0 at silking, 1 at R6."""
        since = self.heat_f[self.at(day)] - self.heat_f[self.at(self.stage_days["R1"])]
        return max(0.0, min(1.0, since / self.fill_need_f))

    def moisture_pct(self, day: date) -> float:
        """Give the water in the grain [%]: bound to growth until R6, then drying by the day."""
        ripe = self.stage_days["R6"]
        if day <= ripe:
            return along(_MOISTURE, self.filled(day))
        moisture = along(_MOISTURE, self.filled(ripe))
        for one in self.weather(ripe + timedelta(days=1), day):
            warmth = max(0.0, (one.tmax_f + one.tmin_f) / 2 - _DRY_BASE_F)
            moisture -= _DRY_DOWN * warmth * (moisture - _DRY_FLOOR_PCT)
        return moisture


def along(points: Sequence[tuple[float, float]], x: float) -> float:
    """Read a broken line at `x`; beyond its last point it is level."""
    for (x0, y0), (x1, y1) in pairwise(points):
        if x <= x1:
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    return points[-1][1]


@cache
def heat_f(tmax_f: int, tmin_f: int) -> float:
    """Sum the heat of one day [degF days]: the mean, over 24 hours, of what each hour is worth."""
    return sum(_worth(tmin_f + (tmax_f - tmin_f) * part) for part in _COURSE) / len(_COURSE)


def _worth(temperature_f: float) -> float:
    if temperature_f > _TOO_HOT_F:
        most = _BEST_F - _BASE_F
        return max(0.0, most - _FALL_PER_F * (temperature_f - _TOO_HOT_F))
    return min(max(temperature_f, _BASE_F), _BEST_F) - _BASE_F


def grow_stages(plot: Plot, weather: Sequence[Day], draw: random.Random) -> Growth:
    """Let a field grow in a weather.

    Parameters
    ----------
    weather : sequence of Day
        Every day, from planting or before until black layer, a hard freeze or 1 November.

    Raises
    ------
    ValueError
        When the weather ends earlier, or begins after planting.
    """
    if not weather or weather[0].day > plot.planted:
        raise ValueError(f"no weather at the planting of {plot.field_id}")
    start = (plot.planted - weather[0].day).days
    days = tuple(weather[start:])
    sums = _heat_sums(days)
    dryness = dryness_of(plot, weather)[start:]
    silk_f, fill_f = _needs(plot, draw)
    early = _until_silk(days, sums, dryness, silk_f)
    stages, killed = _ripening(days, sums, early, fill_f, draw)
    return Growth(
        days=days,
        heat_f=sums,
        dryness=dryness,
        stage_days=stages,
        fill_need_f=fill_f,
        killed=killed,
    )


def _heat_sums(days: Sequence[Day]) -> tuple[float, ...]:
    total, sums = 0.0, []
    for one in days:
        total += heat_f(one.tmax_f, one.tmin_f)
        sums.append(total)
    return tuple(sums)


def _needs(plot: Plot, draw: random.Random) -> tuple[float, float]:
    """Heat from planting to silk and from silk to black layer [degF days]."""
    maturity = plot.row.relative_maturity or 108.0
    silk = plot.row.silk_gdd_f or 12.0 * maturity + 45
    ripe = plot.row.black_layer_gdd_f or 23.5 * maturity + 55
    before = _EMERGENCE_F if plot.row.gdd_from == "emergence" else 0.0
    late = (plot.planted - date(plot.planted.year, *_LATE_FROM)).days
    late = max(0, min(_LATE_MOST_D, late))
    fill = (ripe - silk) * (1 - _LATE_FILL * late) * draw.gauss(1, _NEED_NOISE)
    return (silk + before) * (1 - _LATE_SILK * late) * draw.gauss(1, _NEED_NOISE), fill


def _until_silk(
    days: Sequence[Day], sums: Sequence[float], dryness: Sequence[float], silk_f: float
) -> dict[str, date]:
    """Find VE, VT and R1; dry soil holds the silks back, not the tassel."""
    ready = _first(sums, silk_f)
    tassel = _first(sums, silk_f - _TASSEL_BEFORE_SILK_F)
    if ready is None or tassel is None:
        raise ValueError("the weather ends before silking")
    before = dryness[max(0, ready - 12) : ready + 1]
    silk = ready + round(_SILK_DELAY_D * sum(before) / len(before))
    emerged = _first(sums, _EMERGENCE_F) or 0
    return {
        "VE": days[emerged].day,
        "VT": days[min(tassel, silk - 1)].day,
        "R1": days[0].day + timedelta(days=silk),
    }


def _ripening(
    days: Sequence[Day],
    sums: Sequence[float],
    early: Mapping[str, date],
    fill_f: float,
    draw: random.Random,
) -> tuple[dict[str, date], date | None]:
    """Add R2 to R6; what a killing freeze cuts off falls on the day of that freeze."""
    silk = (early["R1"] - days[0].day).days
    killed = next((one.day for one in days[silk:] if _kills(one)), None)
    stages = dict(early)
    for stage, share in _STAGE_SHARES.items():
        noise = draw.gauss(0, _SHARE_NOISE) if share < 1 else 0.0
        at = _first(sums, sums[silk] + fill_f * (share + noise))
        day = days[at].day if at is not None else None
        reached = [one for one in (day, killed) if one is not None]
        if not reached:
            raise ValueError(f"the weather ends before {stage}")
        stages[stage] = min(reached)
    cut = killed is not None and stages["R6"] == killed
    return stages, killed if cut else None


def _kills(one: Day) -> bool:
    """Say whether a day ends growth: a hard freeze does, and November by itself."""
    return one.tmin_f <= _KILLED_AT_F or one.day >= date(one.day.year, *_DEAD_FROM)


def _first(sums: Sequence[float], least: float) -> int | None:
    return next((at for at, total in enumerate(sums) if total >= least), None)


def dryness_of(plot: Plot, weather: Sequence[Day]) -> tuple[float, ...]:
    """Give the want of water by day, 0 none to 1 severe, from the root zone and the heat."""
    holds = plot.trouble.soil_in
    water, found = 0.9 * holds, []
    for one in weather:
        age = (one.day - plot.planted).days
        if age < 0:
            found.append(0.0)
            continue
        water += _KEEPS * one.rain_in * (plot.trouble.rain_share if age > _CANOPY_D[0] else 1.0)
        if plot.row.irrigated and water < _IRRIGATE_BELOW * holds:
            water += _IRRIGATION_IN
        left = min(water, holds) / holds
        short = max(0.0, 1 - left / _STRESS_BELOW)
        water = max(0.0, min(water, holds) - _demand_in(one, age) * (1 - short))
        found.append(min(1.0, short * (1 + 0.04 * max(0, one.tmax_f - 90))))
    return tuple(found)


_CANOPY_D, _CANOPY_USE = (20, 62), (0.25, 1.05)
_RIPENS_D, _LESS_A_DAY = 110, 0.02


def _demand_in(one: Day, age: int) -> float:
    """Water that the crop would use [in]: Hargreaves and Samani (1985), from memory."""
    sun_mm = 11.3 + 5.7 * math.cos(2 * math.pi * (one.day.timetuple().tm_yday - 172) / 365)
    mean_c = ((one.tmax_f + one.tmin_f) / 2 - 32) / 1.8
    spread_c = (one.tmax_f - one.tmin_f) / 1.8
    grass_mm = 0.0023 * sun_mm * max(0.0, mean_c + 17.8) * math.sqrt(spread_c)
    (young, full), (least, most) = _CANOPY_D, _CANOPY_USE
    cover = max(0.0, min(1.0, (age - young) / (full - young), 1 - _LESS_A_DAY * (age - _RIPENS_D)))
    return grass_mm / 25.4 * (least + (most - least) * cover)
