"""Invented daily weather of a continental corn-belt climate, the same for the same seed.

Three things carry over from day to day: a slow departure of weeks that is warm when it is dry, a
quick one of days, and whether the day before was wet. Their means follow the normals of one
station; the station's own days are nowhere in here.

Every year has a generator of its own, so its weather is the same in whatever range it is asked
for. The price: no memory crosses New Year.
"""

import calendar
import math
import random
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from itertools import dropwhile


@dataclass(frozen=True, kw_only=True)
class _Climate:
    """What is usual at one time of the year; ``spread_f`` is a standard deviation."""

    high_f: float
    low_f: float
    rain_in: float
    wet_chance: float
    spread_f: float


# Mean high [degF], mean low [degF], rain [in a month], days of 0.01 in and more.
# Published: 1981-2010 normals of Springfield, Illinois (USW00093822), Illinois State Water Survey,
# https://www.isws.illinois.edu/statecli/newnormals/normals.USW00093822.txt, read 2026-11-25.
_NORMALS = (
    (34.8, 18.7, 1.82, 9.1),
    (39.9, 22.6, 1.81, 8.1),
    (52.1, 32.2, 2.63, 10.7),
    (64.6, 42.4, 3.51, 11.3),
    (74.8, 52.6, 4.24, 11.7),
    (83.1, 61.9, 4.46, 10.2),
    (86.2, 65.4, 3.94, 8.6),
    (84.9, 63.6, 3.24, 8.3),
    (78.9, 54.6, 2.90, 7.4),
    (66.4, 43.8, 3.15, 8.5),
    (52.3, 33.9, 3.21, 9.6),
    (38.3, 22.5, 2.52, 9.9),
)
# Spread of one day's temperature about its mean, by month [degF]. Fitted to the page's days of
# 90 degF and more (May to September) and of 32 degF and less (April, October); else assumed.
_SPREADS_F = (11.0, 11.0, 11.0, 8.5, 7.0, 5.5, 4.5, 5.0, 7.0, 9.0, 10.0, 11.0)
# Fitted to the page's days of 0.10 in and of 1.00 in: small rains are many, large ones are few.
_RAIN_SHAPE = 0.6

# Assumed, all of them.
_SLOW_MEMORY = math.exp(-1 / 20)  # from one day to the next: fades in about three weeks
_QUICK_MEMORY = 0.6
_SLOW_SHARE = 0.3  # of the variance of temperature
_SLOW_DRIES = 0.3  # of the chance of rain, for each standard deviation of warmth
_SLOW_MOST = 2.0  # standard deviations beyond which it dries no more
_WET_MEMORY = 0.15  # how much likelier rain is after a wet day than after a dry one
_WET_COOLS_F, _WET_WARMS_F = 4.0, 3.0  # by day, by night
_RANGE_SPREAD_F, _LEAST_RANGE_F = 4.0, 4.0
_LEAST_RAIN_IN = 0.01  # what a gauge is read to

_LEAP_YEAR = 2024  # so that 29 February has a climate


@dataclass(frozen=True, kw_only=True)
class Day:
    """One day of weather, in whole degrees and hundredths of an inch as stations write it."""

    day: date
    tmax_f: int
    tmin_f: int
    rain_in: float


@dataclass(frozen=True, kw_only=True)
class Spell:
    """A stated event that is laid over the invented weather, both ends included.

    Highs and lows are raised by ``warmer_f`` [degF], rain is multiplied by ``rain_factor``. A
    factor never makes a dry day wet.

    Raises
    ------
    ValueError
        If it ends before it begins, or the factor is negative.
    """

    first: date
    last: date
    warmer_f: float = 0.0
    rain_factor: float = 1.0

    def __post_init__(self) -> None:
        if self.last < self.first or self.rain_factor < 0:
            raise ValueError(
                f"this spell ends before it begins or takes more rain than falls: {self}"
            )


@dataclass(frozen=True, kw_only=True)
class _State:
    """What a day hands on to the next; the departures are in standard deviations."""

    slow: float
    quick: float
    wet: bool


def daily_weather(
    first: date, last: date, *, seed: str, spells: Sequence[Spell] = ()
) -> Iterator[Day]:
    """Make every day from `first` to `last`, ends included.

    Parameters
    ----------
    first, last : date
        The range. A day's weather does not depend on it.
    seed : str
        Names the weather: same seed, same days.
    spells : sequence of Spell
        Laid over; where two overlap, degrees add and factors multiply.

    Yields
    ------
    Day
        In order, ``tmin_f`` never above ``tmax_f``.
    """
    for year in range(first.year, last.year + 1):
        for one in dropwhile(lambda made: made.day < first, _year(year, seed)):
            if one.day > last:
                return
            yield _laid_over(one, spells)


def _year(year: int, seed: str) -> Iterator[Day]:
    draw = random.Random(f"{seed}/{year}")
    day = date(year, 1, 1)
    usual = _climate(1, 1)
    state = _State(
        slow=draw.gauss(0, 1), quick=draw.gauss(0, 1), wet=draw.random() < usual.wet_chance
    )
    while day.year == year:
        usual = _climate(day.month, day.day)
        state = _next_state(state, usual, draw)
        yield _one_day(day, usual, state, draw)
        day += timedelta(days=1)


def _next_state(before: _State, usual: _Climate, draw: random.Random) -> _State:
    """Step both departures on (first-order, variance 1) and the two-state chain of rain."""
    slow = _fade(before.slow, _SLOW_MEMORY, draw)
    quick = _fade(before.quick, _QUICK_MEMORY, draw)
    # Cut alike on both sides, so that the mean chance stays as it is.
    warmth = max(-_SLOW_MOST, min(_SLOW_MOST, slow))
    chance = usual.wet_chance * (1 - _SLOW_DRIES * warmth)
    chance += _WET_MEMORY * (before.wet - chance)
    return _State(slow=slow, quick=quick, wet=draw.random() < chance)


def _fade(departure: float, memory: float, draw: random.Random) -> float:
    return memory * departure + math.sqrt(1 - memory**2) * draw.gauss(0, 1)


def _one_day(day: date, usual: _Climate, state: _State, draw: random.Random) -> Day:
    mixed = math.sqrt(_SLOW_SHARE) * state.slow + math.sqrt(1 - _SLOW_SHARE) * state.quick
    # A wet day against the usual mix of wet and dry, which is what the normals are means of.
    wetter = state.wet - usual.wet_chance
    high = usual.high_f + usual.spread_f * mixed - _WET_COOLS_F * wetter
    low = usual.low_f + usual.spread_f * mixed + _WET_WARMS_F * wetter
    spread = max(_LEAST_RANGE_F, high - low + draw.gauss(0, _RANGE_SPREAD_F))
    middle = (high + low) / 2
    return Day(
        day=day,
        tmax_f=round(middle + spread / 2),
        tmin_f=round(middle - spread / 2),
        rain_in=_rain(usual, draw) if state.wet else 0.0,
    )


def _rain(usual: _Climate, draw: random.Random) -> float:
    scale = usual.rain_in / _RAIN_SHAPE
    return max(_LEAST_RAIN_IN, round(draw.gammavariate(_RAIN_SHAPE, scale), 2))


def _laid_over(one: Day, spells: Sequence[Spell]) -> Day:
    within = [spell for spell in spells if spell.first <= one.day <= spell.last]
    if not within:
        return one
    warmer = sum(spell.warmer_f for spell in within)
    return Day(
        day=one.day,
        tmax_f=round(one.tmax_f + warmer),
        tmin_f=round(one.tmin_f + warmer),
        rain_in=round(one.rain_in * math.prod(spell.rain_factor for spell in within), 2),
    )


@cache
def _climate(month: int, day: int) -> _Climate:
    """Draw a straight line from the middle of one month to the middle of the next."""
    length = calendar.monthrange(_LEAP_YEAR, month)[1]
    past = (day - 0.5) / length - 0.5
    here, beside = _middle(month), _middle(month + (1 if past > 0 else -1))
    near = abs(past)
    return _Climate(**{name: (1 - near) * here[name] + near * beside[name] for name in here})


def _middle(month: int) -> dict[str, float]:
    """Lift the middle of a month so far above its mean that the mean of the lines is the month's.

    A line over the month has the mean (6 x middle + middle before + middle after) / 8.
    """
    before, here, after = (_means(month + step) for step in (-1, 0, 1))
    return {name: mean + (2 * mean - before[name] - after[name]) / 8 for name, mean in here.items()}


def _means(month: int) -> dict[str, float]:
    """Give a month's means, with rain as that of one wet day; months go round, 0 is December."""
    at = (month - 1) % 12
    high, low, rain, wet_days = _NORMALS[at]
    return {
        "high_f": high,
        "low_f": low,
        "rain_in": rain / wet_days,
        "wet_chance": wet_days / calendar.monthrange(_LEAP_YEAR, at + 1)[1],
        "spread_f": _SPREADS_F[at],
    }


def weather_csv(days: Iterable[Day]) -> str:
    """Write days as the plain weather file of a season folder."""
    lines = [f"{d.day.isoformat()},{d.tmax_f},{d.tmin_f},{d.rain_in:.2f}" for d in days]
    return "\n".join(["date,tmax_f,tmin_f,rain_in", *lines]) + "\n"
