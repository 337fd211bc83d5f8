"""Fields grown once for all tests, in the invented year and in other weathers of that year."""

import random
import statistics
from collections.abc import Callable
from datetime import date, timedelta
from functools import cache

from fieldbook.simulate.field import EarState, FieldTruth, grow, pull_ear
from fieldbook.simulate.place import PLOTS, SEASON_END, SPELLS, YEAR, Plot
from fieldbook.simulate.weather import Day, Spell, daily_weather

WEATHERS = ("one", "two", "three")
BY_ID = {plot.field_id: plot for plot in PLOTS}


@cache
def weather(name: str = "one") -> tuple[Day, ...]:
    spells = tuple(Spell(**spell) for spell in SPELLS)
    return tuple(daily_weather(date(YEAR, 1, 1), SEASON_END, seed=name, spells=spells))


@cache
def truth(field_id: str, name: str = "one") -> FieldTruth:
    return grow(BY_ID[field_id], weather(name), seed=name)


def regrown(plot: Plot, name: str = "one") -> FieldTruth:
    return grow(plot, weather(name), seed=name)


def all_truths() -> list[FieldTruth]:
    return [truth(plot.field_id, name) for name in WEATHERS for plot in PLOTS]


def after_silk(field: FieldTruth, days: int) -> date:
    return field.half_silked + timedelta(days=days)


def ears(field: FieldTruth, day: date, *, count: int = 240, first_stop: int = 21) -> list[EarState]:
    """Pull ears at many interior stops."""
    draw = random.Random("ears")
    return [pull_ear(field, first_stop + number % 60, day, draw) for number in range(count)]


def mean(pulled: list[EarState], of: Callable[[EarState], float | None]) -> float:
    return statistics.fmean(value for value in map(of, pulled) if value is not None)
