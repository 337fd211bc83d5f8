"""Heat units of corn: one day's, the sum since planting, and the leaves they make."""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, overload

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fieldbook.figures import Figures, shipped_figures

Floats = NDArray[np.float64]
_F_PER_C = 1.8
PURDUE, IOWA_STATE = "purdue", "iowa-state"


@dataclass(frozen=True, kw_only=True, eq=False)
class DailyTemps:
    """Daily high and low without a gap, from ``first`` on [degF].

    Raises
    ------
    ValueError
        If the two differ in length or hold a missing value.
    """

    first: datetime.date
    tmax_f: Floats
    tmin_f: Floats

    def __post_init__(self) -> None:
        """Keep both as arrays of numbers, and refuse gaps."""
        for name in ("tmax_f", "tmin_f"):
            object.__setattr__(self, name, np.asarray(getattr(self, name), dtype=float))
        if self.tmax_f.ndim != 1 or self.tmax_f.shape != self.tmin_f.shape:
            raise ValueError("highs and lows must be rows of the same length")
        if not (np.isfinite(self.tmax_f).all() and np.isfinite(self.tmin_f).all()):
            raise ValueError("a temperature is missing; fill gaps first")

    @classmethod
    def from_dates(
        cls, dates: Sequence[datetime.date], tmax_f: ArrayLike, tmin_f: ArrayLike
    ) -> "DailyTemps":
        """Build from dates that follow one another day by day.

        Raises
        ------
        ValueError
            For no dates, a gap or a repeated day, or another number of temperatures.
        """
        if not dates:
            raise ValueError("no days")
        days = np.array([day.toordinal() for day in dates])
        if (np.diff(days) != 1).any():
            raise ValueError("the days do not follow one another; fill gaps first")
        made = cls(first=dates[0], tmax_f=np.asarray(tmax_f), tmin_f=np.asarray(tmin_f))
        if len(made.tmax_f) != len(dates):
            raise ValueError("as many temperatures as days are needed")
        return made

    @property
    def last(self) -> datetime.date:
        """The last day; the day before ``first`` where there is none."""
        return self.first + datetime.timedelta(days=len(self.tmax_f) - 1)


@overload
def gdd_f(tmax_f: float, tmin_f: float, *, figures: Figures | None = None) -> float: ...
@overload
def gdd_f(tmax_f: Floats, tmin_f: Floats, *, figures: Figures | None = None) -> Floats: ...
def gdd_f(
    tmax_f: float | Floats, tmin_f: float | Floats, *, figures: Figures | None = None
) -> float | Floats:
    """Return the heat units of a day [GDD F], for one day or arrays of any same shape.

    ``(Tmax' + Tmin') / 2 - 50`` with both clipped to 50 to 86 first, so that it lies within 0 to
    36; source `purdue-heat-units`.
    """
    known = figures or shipped_figures()
    return clipped_mean(tmax_f, tmin_f, known.number("heat.base_f"), known.number("heat.cap_f"))


@overload
def gdd_c(tmax_c: float, tmin_c: float, *, figures: Figures | None = None) -> float: ...
@overload
def gdd_c(tmax_c: Floats, tmin_c: Floats, *, figures: Figures | None = None) -> Floats: ...
def gdd_c(
    tmax_c: float | Floats, tmin_c: float | Floats, *, figures: Figures | None = None
) -> float | Floats:
    """Return the heat units of a day from degrees Celsius [GDD C]: `gdd_f` / 1.8."""
    known = figures or shipped_figures()
    base_c = (known.number("heat.base_f") - 32) / _F_PER_C
    cap_c = (known.number("heat.cap_f") - 32) / _F_PER_C
    return clipped_mean(tmax_c, tmin_c, base_c, cap_c)


def gdd_since_planting_f(
    planted: datetime.date, temps: DailyTemps, *, figures: Figures | None = None
) -> Floats:
    """Return the running sum of heat since planting [GDD F], one value for each day.

    Counting starts on the day after planting, source `ohio-state-agf-101`; days up to planting
    have 0.

    Raises
    ------
    ValueError
        If the temperatures start later than counting does.
    """
    known = figures or shipped_figures()
    start = planted + datetime.timedelta(days=int(known.number("heat.first_day_after_planting")))
    if temps.first > start:
        raise ValueError("the temperatures start after planting")
    heat = gdd_f(temps.tmax_f, temps.tmin_f, figures=known)
    heat[: (start - temps.first).days] = 0
    return np.cumsum(heat)


def leaf_collars(
    gdd_since_planting: float,
    emergence_gdd: float | None = None,
    *,
    rate: Literal["purdue", "iowa-state"] = "purdue",
    figures: Figures | None = None,
) -> float:
    """Return how many leaf collars the heat since planting makes; 0 before emergence.

    One collar for each 82 units up to the tenth, one for each 50 after (Purdue); 84 and 56 at Iowa
    State. Not more than a hybrid has leaves.

    Parameters
    ----------
    gdd_since_planting
        Heat since planting [GDD F].
    emergence_gdd
        Heat that emergence took [GDD F]; None: the usual figure.
    rate
        Whose rates to use.
    """
    known = figures or shipped_figures()
    suffix = "_iowa_gdd_f" if rate == IOWA_STATE else "_gdd_f"
    early, late = (known.number(f"leaves.{part}{suffix}") for part in ("early", "late"))
    emergence = known.number("heat.emergence_gdd_f") if emergence_gdd is None else emergence_gdd
    turn = known.number("leaves.turn")
    since = max(gdd_since_planting - emergence, 0.0)
    collars = since / early if since <= turn * early else turn + (since - turn * early) / late
    return min(collars, known.number("leaves.most"))


def clipped_mean(
    tmax: float | Floats, tmin: float | Floats, base: float, cap: float
) -> float | Floats:
    """Return the heat units of a day, or of arrays of days, by a base and a cap of their unit."""
    both = np.clip(tmax, base, cap) + np.clip(tmin, base, cap)
    heat = both / 2 - base
    return heat if isinstance(heat, np.ndarray) else float(heat)
