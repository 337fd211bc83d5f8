"""Pollen, silks and what becomes of each ring of an ear.

A field's pollen falls day by day; a ring's silk comes out at its own time after the plant's
first one and takes pollen for some days. What no grain reached stays bare; what want of sugar
takes back later, it takes from the tip. Numbers without a source are assumed.
"""

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fieldbook.simulate.growth import Growth
from fieldbook.simulate.place import Plot
from fieldbook.simulate.weather import Day

POSITIONS = 32  # along an ear, butt to tip
_PLANT_STEP, _PLANT_STEPS = 0.5, 8  # of a plant's earliness, in standard deviations
_BEFORE_D, _DAYS = 16, 44  # the days looked at: from so long before the field's silking

# About 5 million grains a tassel (Uribelarrea et al. 2002, between their stands) on 7.9 plants
# a square meter.
_GRAINS_PER_CM2 = 3900.0
_USUAL_STAND = 32000.0
# 100 grains a square centimeter and day reach 99 % of the silks (Westgate et al. 1996).
_HITS_PER_GRAIN = math.log(100) / 100
# Full for 5 days, gone at 10: between Bassetti and Westgate (1993) and Thomison (Ohio State).
_FULL_UNTIL_D, _OVER_AT_D = 5.0, 10.0
_FADES = 2.5  # how bent the fall is: few grains get through an old silk
_HOT_F, _HOT_LOSS = 95, 0.4
_SOAKED_IN, _SOAKED_LOSS = 0.5, 0.3
# Silks stop growing together, 7-8 days after the first where watered and 2-3 where dry, and
# those out for less than 2 days fail (Oury et al. 2016); well-watered hybrids here get longer.
_ARREST_D, _ARREST_DRY_D, _ARREST_LEAD_D = 9.5, 5.0, 2.0


@dataclass(frozen=True, kw_only=True, eq=False)
class Pollination:
    """When pollen fell and silks stood in a field.

    Attributes
    ----------
    first_day
        The day of the first column of ``set_by``.
    silk_sd_d
        Standard deviation of the plants' first silks [days].
    span_d
        From a plant's first silk to its last [days].
    arrest_d
        Age of the first silk at which all silks stop growing [days].
    shed
        Grains by day [1/cm2].
    set_by
        Chance that a ring is set by the end of a day; shape (earliness, position, day).
    set_at_last
        The same for the last day, as plain rows.
    """

    first_day: date
    first_pollen: date
    last_pollen: date
    first_silk: date
    half_silked: date
    silk_sd_d: float
    span_d: float
    first_position: float
    arrest_d: float
    shed: tuple[float, ...]
    set_by: NDArray[np.float32]
    set_at_last: tuple[tuple[float, ...], ...]

    def earliness_row(self, z: float) -> int:
        """Find the row of ``set_by`` for a plant that silks `z` standard deviations late."""
        at = round(z / _PLANT_STEP)
        return max(-_PLANT_STEPS, min(_PLANT_STEPS, at)) + _PLANT_STEPS

    def chances_by(self, row: int, day: date) -> tuple[float, ...]:
        """Give the chance of each position to be set by the end of a day."""
        at = (day - self.first_day).days
        if at < 0:
            return (0.0,) * POSITIONS
        return tuple(self.set_by[row, :, min(at, _DAYS - 1)].tolist())

    def set_share_by(self, row: int, day: date, part: slice) -> float:
        """Give the mean chance of a part of the ear's positions to be set by the end of a day."""
        at = (day - self.first_day).days
        if at < 0:
            return 0.0
        return float(self.set_by[row, part, min(at, _DAYS - 1)].mean())

    def silks_end_at(self, arrest_d: float) -> float:
        """Find the position beyond which no silk is out in time, when growth stops at an age."""
        latest = arrest_d - _ARREST_LEAD_D
        if latest >= self.span_d:
            return 1.0
        reach = math.pow(max(0.0, latest) / self.span_d, 1 / _SLOWER_TO_TIP)
        return self.first_position + (1 - self.first_position) * reach

    def mean_set(self) -> float:
        """Give the mean chance of a ring to be set in the end, over the plants of the field."""
        weights = np.exp(-0.5 * _earliness() ** 2)
        by_plant = np.asarray(self.set_at_last).mean(axis=1)
        return float((weights * by_plant).sum() / weights.sum())


_SLOWER_TO_TIP = 1.25  # silks come the slower, the nearer the tip
_BASE_LAG_D = 0.3  # the very butt silks so much after the first rings


def _earliness() -> NDArray[np.floating[Any]]:
    return _PLANT_STEP * np.arange(-_PLANT_STEPS, _PLANT_STEPS + 1)


def pollinate(plot: Plot, growth: Growth, draw: random.Random) -> Pollination:
    """Let a field shed pollen and silk, and work out each ring's chance, day by day."""
    half = growth.stage_days["R1"]
    first_day = half - timedelta(days=_BEFORE_D)
    sd = draw.uniform(1.6, 2.6)
    dry = growth.dry(half - timedelta(days=2), half + timedelta(days=8))
    span = draw.uniform(4.8, 6.8) * (1 + 0.15 * dry)
    first_position = draw.uniform(0.2, 0.32)
    shed = _shed(plot, growth, first_day, sd=sd, ahead_d=draw.gauss(0.6, 0.5))
    chance = _set_by(shed, sd=sd, silked_at=_silked_at(span, first_position))
    window = _window(shed, first_day)
    return Pollination(
        first_day=first_day,
        first_pollen=window[0],
        last_pollen=window[1],
        first_silk=half - timedelta(days=round(2 * sd)),
        half_silked=half,
        silk_sd_d=sd,
        span_d=span,
        first_position=first_position,
        arrest_d=_ARREST_D - _ARREST_DRY_D * dry,
        shed=tuple(shed.tolist()),
        set_by=chance,
        set_at_last=tuple(map(tuple, chance[:, :, -1].tolist())),
    )


def _silked_at(span_d: float, first_position: float) -> NDArray[np.floating[Any]]:
    """Days from a plant's first silk to that of each position."""
    x = (np.arange(POSITIONS) + 0.5) / POSITIONS
    up = np.clip((x - first_position) / (1 - first_position), 0, None) ** _SLOWER_TO_TIP
    down = np.clip((first_position - x) / first_position, 0, None) ** 2
    return span_d * up + _BASE_LAG_D * down


def _shed(
    plot: Plot, growth: Growth, first_day: date, *, sd: float, ahead_d: float
) -> NDArray[np.float64]:
    """Grains by day [1/cm2]: plants begin around one day, each peaks on its second.

    Drought holds silks back and not pollen: what silking lost against tasseling, pollen leads.
    """
    usual_gap = 2.6
    gap = (growth.stage_days["R1"] - growth.stage_days["VT"]).days
    begins = _BEFORE_D - ahead_d - max(0.0, gap - usual_gap) + plot.trouble.pollen_late_d
    hours = (np.arange(_DAYS * 4) + 0.5) / 4
    started = np.exp(-0.5 * ((hours - begins) / sd) ** 2)
    age = hours[: 12 * 4]
    by_plant = age**1.6 * np.exp(-age / 1.1)
    curve = np.convolve(started, by_plant)[: len(hours)].reshape(_DAYS, 4).sum(axis=1)
    total = _GRAINS_PER_CM2 * (plot.stand_per_ac / _USUAL_STAND) ** 0.5
    days = growth.weather(first_day, first_day + timedelta(days=_DAYS - 1))
    return np.asarray(total * curve / curve.sum() * _alive(days))


def _alive(days: Sequence[Day]) -> NDArray[np.float64]:
    """Give the share of each day's pollen that works: heat and heavy rain take some."""
    alive = [
        1 - _HOT_LOSS * (one.tmax_f >= _HOT_F) - _SOAKED_LOSS * (one.rain_in >= _SOAKED_IN)
        for one in days
    ]
    return np.array(alive + [1.0] * (_DAYS - len(alive)))


def _set_by(
    shed: NDArray[np.float64], *, sd: float, silked_at: NDArray[np.floating[Any]]
) -> NDArray[np.float32]:
    out = _BEFORE_D + sd * _earliness()[:, None, None] + silked_at[None, :, None]
    age = np.arange(_DAYS)[None, None, :] + 0.5 - out
    fading = (_OVER_AT_D - age) / (_OVER_AT_D - _FULL_UNTIL_D)
    takes = np.where(age < 0, 0.0, np.clip(fading, 0, 1) ** _FADES)
    hits = np.cumsum(_HITS_PER_GRAIN * shed * takes, axis=2)
    return (1 - np.exp(-hits)).astype(np.float32)


def _window(shed: NDArray[np.float64], first_day: date) -> tuple[date, date]:
    """First and last day of the middle 97 % of the pollen."""
    share = np.cumsum(shed) / shed.sum()
    first, last = (int(np.searchsorted(share, part)) for part in (0.015, 0.985))
    return first_day + timedelta(days=first), first_day + timedelta(days=last)


@dataclass(frozen=True, kw_only=True)
class Losses:
    """What takes rings back from the tip later: shares of an ear's rings.

    ``from_d`` and ``until_d`` are the days after silking over which the loss becomes visible.
    """

    aborted: float
    looks_unset: float
    from_d: int = 9
    until_d: int = 24


_DULL_IN = 0.1  # a day of so much rain has little sun


def tip_losses(plot: Plot, growth: Growth) -> Losses:
    """Work out a field's mean loss at the tip from the four weeks after silking."""
    silk = growth.stage_days["R1"]
    dry = growth.dry(silk + timedelta(days=5), silk + timedelta(days=28))
    days = growth.weather(silk, silk + timedelta(days=24))
    dull = sum(one.rain_in >= _DULL_IN for one in days)
    share = 0.04 + 0.14 * dry + 0.2 * plot.trouble.nitrogen_short + 0.0015 * dull
    return Losses(aborted=0.7 * share, looks_unset=0.3 * share)
