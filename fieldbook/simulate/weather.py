"""Invented daily weather of a continental summer, the same for the same seed.

A yearly wave for the mean, a slowly fading memory from day to day, wet days that cool the
afternoon. The wave and the spreads are chosen, not fitted: assumed.
"""

import math
import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

_MEAN_F, _SWING_F, _WARMEST_DAY = 50.0, 26.0, 201
_RANGE_F, _MEMORY, _SPREAD_F = 21.0, 0.72, 5.0
_WET_AFTER_DRY, _WET_AFTER_WET, _WET_RAIN_IN = 0.24, 0.45, 0.38


@dataclass(frozen=True, kw_only=True)
class Day:
    """One day of weather, in whole degrees and hundredths of an inch as stations write it."""

    day: date
    tmax_f: int
    tmin_f: int
    rain_in: float


def daily_weather(first: date, last: date, *, seed: str, warmer_f: float = 0.0) -> Iterator[Day]:
    """Make every day from `first` to `last`, ends included."""
    draw = random.Random(seed)
    departure, wet, day = 0.0, False, first
    while day <= last:
        departure = _MEMORY * departure + draw.gauss(0, _SPREAD_F)
        wet = draw.random() < (_WET_AFTER_WET if wet else _WET_AFTER_DRY)
        yield _one_day(day, departure + warmer_f, draw, wet=wet)
        day += timedelta(days=1)


def _one_day(day: date, departure: float, draw: random.Random, *, wet: bool) -> Day:
    angle = 2 * math.pi * (day.timetuple().tm_yday - _WARMEST_DAY) / 365.25
    mean = _MEAN_F + _SWING_F * math.cos(angle) + departure
    spread = max(8.0, _RANGE_F + draw.gauss(0, 3.5) - (7.0 if wet else 0.0))
    rain = round(draw.expovariate(1 / _WET_RAIN_IN), 2) if wet else 0.0
    return Day(
        day=day,
        tmax_f=round(mean + spread / 2 - (2 if wet else 0)),
        tmin_f=round(mean - spread / 2 + (1 if wet else 0)),
        rain_in=rain,
    )


def weather_csv(days: Iterator[Day]) -> str:
    """Write days as the plain weather file of a season folder."""
    lines = [f"{d.day.isoformat()},{d.tmax_f},{d.tmin_f},{d.rain_in:.2f}" for d in days]
    return "\n".join(["date,tmax_f,tmin_f,rain_in", *lines]) + "\n"
