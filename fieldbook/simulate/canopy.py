"""Leaves, stalks and moulds of a field over the season.

An epidemic runs on a clock of its own: a day that suits the fungus counts for more than one, a
hot dry one for less. All numbers are assumed; the ranges of temperature follow the notes of the
crop protection services (Ohio State, Purdue, Missouri, Illinois) in whole degrees.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import accumulate

from fieldbook.simulate.growth import Growth
from fieldbook.simulate.place import Infection, Plot
from fieldbook.simulate.weather import Day


@dataclass(frozen=True, kw_only=True)
class _Habit:
    """What mean temperature suits a disease [degF], and how fast it goes from plant to plant."""

    least_f: float
    most_f: float
    rate: float


_HABITS = {
    "gray-leaf-spot": _Habit(least_f=72, most_f=84, rate=0.20),
    "northern-leaf-blight": _Habit(least_f=62, most_f=80, rate=0.14),
    "common-rust": _Habit(least_f=58, most_f=77, rate=0.22),
    "southern-rust": _Habit(least_f=74, most_f=90, rate=0.24),
    "tar-spot": _Habit(least_f=62, most_f=74, rate=0.16),
}
_OTHER = _Habit(least_f=60, most_f=85, rate=0.14)
_CLIMB_RATE, _DAYS_A_LEAF = 0.25, 7.0
_EAR_LEAF_RATE, _EAR_LEAF_LATER_D = 0.16, 26.0
THIRD_BELOW = -3  # the third leaf below the ear leaf, which is 0
_LOWEST, _TOP = -6.0, 2.0


@dataclass(frozen=True, kw_only=True)
class Epidemic:
    """A disease in a field; ``clock`` is days from its half, by day from ``first_day`` on."""

    infection: Infection
    rate: float
    first_day: date
    clock: tuple[float, ...]

    def _time(self, day: date) -> float:
        return self.clock[max(0, min(len(self.clock) - 1, (day - self.first_day).days))]

    def incidence(self, day: date, *, patch: float = 0.0) -> float:
        """Give the share of plants that have it; `patch` shifts it at one place, in log odds."""
        return self.infection.ceiling * _logistic(self.rate * self._time(day) + patch)

    def high_share(self, day: date) -> float:
        """Give the share of these that have it on the third leaf below the ear leaf or higher."""
        return _logistic(_CLIMB_RATE * (self._time(day) - self.infection.climb_d))

    def top_leaf(self, day: date) -> float:
        """Find the highest leaf with it on a usual plant, counted from the ear leaf."""
        climbed = (self._time(day) - self.infection.climb_d) / _DAYS_A_LEAF
        return max(_LOWEST, min(_TOP, THIRD_BELOW + climbed))

    def severity_pct(self, day: date) -> float:
        """Give the share of the ear leaf's area with lesions [%], over all plants."""
        later = self._time(day) - self.infection.climb_d - _EAR_LEAF_LATER_D
        return self.infection.ear_leaf_pct * _logistic(_EAR_LEAF_RATE * later)

    def leaf_loss(self, day: date) -> float:
        """Give the share of the ear leaf's area lost by a day."""
        return self.severity_pct(day) / 100


def _logistic(x: float) -> float:
    return 1 / (1 + math.exp(-x))


def epidemics(infections: Sequence[Infection], growth: Growth) -> tuple[Epidemic, ...]:
    """Let each infection run through the season's days."""
    return tuple(_epidemic(one, growth) for one in infections)


def _epidemic(infection: Infection, growth: Growth) -> Epidemic:
    habit = _HABITS.get(infection.disease, _OTHER)
    ran = list(accumulate(_suits(habit, one) for one in growth.days))
    half = ran[growth.at(growth.stage_days["R1"] + timedelta(days=infection.half_d))]
    return Epidemic(
        infection=infection,
        rate=habit.rate,
        first_day=growth.days[0].day,
        clock=tuple(time - half for time in ran),
    )


def _suits(habit: _Habit, one: Day) -> float:
    mean = (one.tmax_f + one.tmin_f) / 2
    away = max(0.0, habit.least_f - mean, mean - habit.most_f)
    return max(0.2, 1.0 - 0.05 * away + (0.35 if one.rain_in > 0 else -0.1))


_EVERYWHERE = {"white-scattered": 0.012, "pink-tip": 0.004, "blue-green": 0.004}
_SPLASH_D = 21
_RAIN_DAY_IN = 0.1
_RIPE_LATER_D = 14


def mould_shares(plot: Plot, growth: Growth) -> dict[str, float]:
    """Give the share of ears with each mould at harvest: what is about, and the weather."""
    kinds = {**dict.fromkeys(plot.trouble.moulds, 0.0), **_EVERYWHERE}
    return {
        kind: min(0.9, (usual + plot.trouble.moulds.get(kind, 0.0)) * _mould_weather(kind, growth))
        for kind, usual in kinds.items()
    }


def _mould_weather(kind: str, growth: Growth) -> float:
    """About 1 in the weather that a mould likes: pink tips wet and cool, olive powder dry."""
    silk = growth.stage_days["R1"]
    if kind == "olive-powder":
        return 0.4 + growth.dry(silk, growth.stage_days["R5"])
    if kind != "pink-tip":
        return 1.0
    days = growth.weather(silk, silk + timedelta(days=_SPLASH_D))
    rains = sum(one.rain_in >= _RAIN_DAY_IN for one in days)
    mean = sum(one.tmax_f + one.tmin_f for one in days) / (2 * len(days))
    return max(0.3, min(1.5, 0.3 + 0.1 * rains + 0.06 * (74 - mean)))


def mould_seen(growth: Growth, day: date) -> float:
    """Give the share of the final mould that shows: from dough to two weeks after R6."""
    starts, ends = growth.stage_days["R4"], growth.stage_days["R6"] + timedelta(days=_RIPE_LATER_D)
    return max(0.0, min(1.0, (day - starts).days / max(1, (ends - starts).days)))


def failing_stalks(plot: Plot, growth: Growth, day: date, *, patch: float = 0.0) -> float:
    """Give the share of stalks that fail the test: rises from dent on, most around black layer."""
    silk, ripe = growth.stage_days["R1"], growth.stage_days["R6"]
    final = plot.trouble.stalk_rot + 0.04 * growth.dry(silk, ripe)
    risen = _logistic(((day - ripe).days + 4) / 6) / _logistic((_RIPE_LATER_D + 4) / 6)
    return min(0.95, final * risen * math.exp(0.4 * patch - 0.08))


def fired_leaves(plot: Plot, growth: Growth, day: date) -> float:
    """Count the leaves fired from the bottom up, counted from the sixth below the ear leaf."""
    silk = growth.stage_days["R1"]
    age = (day - silk).days
    aging = max(0.0, (day - growth.stage_days["R5"]).days) / 9
    early = max(0.0, min(1.0, (age + 5) / 35))
    want = 4.5 * plot.trouble.nitrogen_short
    dry = 2.5 * growth.dry(silk - timedelta(days=10), max(silk, day))
    return aging + early * (want + dry)
