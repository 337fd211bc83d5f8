"""Killing nights: how bad a low is, what a freeze costs at a stage, and how often it came early."""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from fieldbook.agronomy.heat import DailyTemps
from fieldbook.figures import Figures, shipped_figures

KILLING, POSSIBLE, LOW_GROUND = "killing", "possible", "low-ground"
_AUTUMN = (7, 1)
"""Spring frosts must not count as the first of autumn."""


@dataclass(frozen=True, kw_only=True)
class EarlyFreezes:
    """In how many past years the first cold night of autumn came before a date."""

    years: int
    possible: int
    killing: int


def night_kind(tmin_f: float, *, figures: Figures | None = None) -> str | None:
    """Classify a night by its low [degF]; None: no frost.

    ``killing`` at 28 and under (minutes are enough), ``possible`` at 32 and under (it takes hours,
    which a daily low does not tell), ``low-ground`` at 36 and under. Source `nch-57`; the classes
    are derived.
    """
    known = figures or shipped_figures()
    for kind, key in ((KILLING, "killing"), (POSSIBLE, "possible"), (LOW_GROUND, "low_ground")):
        if tmin_f <= known.number(f"frost.{key}_f"):
            return kind
    return None


def freeze_loss_pct(
    stage: str, *, leaves_only: bool = False, figures: Figures | None = None
) -> float | None:
    """Return the yield lost when corn is killed at a stage [%], source `wisconsin-frost`.

    R4 soft dough, R5 dent, R5.5 half milk, R6 black layer; None for a stage that is not printed.
    """
    known = figures or shipped_figures()
    column = "frost.loss_leaves_pct" if leaves_only else "frost.loss_whole_plant_pct"
    printed = dict(zip(known.numbers("frost.loss_stages"), known.numbers(column), strict=True))
    return printed.get(float(stage[1:])) if stage.startswith("R") else None


def first_night(temps: DailyTemps, at_or_below_f: float) -> datetime.date | None:
    """Return the first night of autumn, from July on, with a low at or below a line; else None."""
    cold = np.flatnonzero(temps.tmin_f <= at_or_below_f)
    autumn = (datetime.date(temps.first.year, *_AUTUMN) - temps.first).days
    cold = cold[cold >= autumn]
    return temps.first + datetime.timedelta(days=int(cold[0])) if cold.size else None


def early_freezes(
    years: Mapping[int, DailyTemps], before: datetime.date, *, figures: Figures | None = None
) -> EarlyFreezes:
    """Count the past years whose first 32 and first 28 degF night came before a day of the year.

    Parameters
    ----------
    years
        Past years with their daily temperatures.
    before
        The day, for example the forecast black layer; matched by month and day.
    """
    known = figures or shipped_figures()
    firsts = [
        [first_night(temps, known.number(f"frost.{kind}_f")) for kind in ("possible", "killing")]
        for temps in years.values()
    ]
    day = (before.month, before.day)
    early = [[night is not None and (night.month, night.day) < day for night in y] for y in firsts]
    return EarlyFreezes(
        years=len(years),
        possible=sum(possible for possible, _ in early),
        killing=sum(killing for _, killing in early),
    )
