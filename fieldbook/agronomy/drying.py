"""When grain dries in the field to a wanted moisture, from black layer on and past autumns."""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from math import ceil, floor

import numpy as np

from fieldbook.agronomy.heat import DailyTemps, Floats, gdd_f
from fieldbook.agronomy.stages import dry_down_gdd_f
from fieldbook.figures import Figures, shipped_figures

_TIE = 1e-9


@dataclass(frozen=True, kw_only=True)
class DryDates:
    """When grain is likely to reach a moisture [%].

    ``date`` is the middle of the past years, ``earliest`` and ``latest`` their early and late end
    from an early and a late black layer. None where that year's heat does not get there by 31
    December; ``years_short`` is how many years do not, from the middle black layer.
    """

    moisture_pct: float
    date: datetime.date | None
    earliest: datetime.date | None
    latest: datetime.date | None
    years: int
    years_short: int


def dry_dates(
    to_pct: float,
    *,
    ripe: datetime.date,
    ripe_earliest: datetime.date,
    ripe_latest: datetime.date,
    years: Mapping[int, DailyTemps],
    own: DailyTemps | None = None,
    from_pct: float | None = None,
    figures: Figures | None = None,
) -> DryDates | None:
    """Return when grain reaches a moisture; None without a past year or below the published 20 %.

    30 GDD F a point down to 25 %, 45 a point down to 20 %, source `ohio-state-dry-down`, counted
    from the day after black layer.

    Parameters
    ----------
    to_pct, from_pct
        Wanted moisture and moisture at black layer [%]; None: the assumed one.
    ripe, ripe_earliest, ripe_latest
        Black layer and its range. Where grain was weighed and its moisture is known, all three are
        that day.
    years
        Whole past years by year, matched by month and day.
    own
        The season's own weather; past years take over after its last day.

    Raises
    ------
    ValueError
        If black layer does not lie within its range.
    """
    if not ripe_earliest <= ripe <= ripe_latest:
        raise ValueError("black layer must lie within its range")
    known = figures or shipped_figures()
    need = dry_down_gdd_f(to_pct, from_pct, figures=known)
    past = [temps for year, temps in sorted(years.items()) if year != ripe.year]
    if need is None or not past:
        return None
    few = len(past) < known.number("forecast.least_years")
    low, high = (0.0, 100.0) if few else known.numbers("forecast.percentiles")
    heats = [_Heat.of(temps, known) for temps in past]
    ours = _Heat.of(own, known) if own is not None else None
    early, middle, late = (
        sorted(_dry_on(day, need, heat, ours) for heat in heats)
        for day in (ripe_earliest, ripe, ripe_latest)
    )
    return DryDates(
        moisture_pct=to_pct,
        date=_known(middle[len(middle) // 2]),
        earliest=_known(early[floor((len(past) - 1) * low / 100)]),
        latest=_known(late[ceil((len(past) - 1) * high / 100)]),
        years=len(past),
        years_short=sum(day == datetime.date.max for day in middle),
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class _Heat:
    """The heat of each day [GDD F], from ``first`` on."""

    first: datetime.date
    daily_f: Floats

    @classmethod
    def of(cls, temps: DailyTemps, figures: Figures) -> "_Heat":
        return cls(first=temps.first, daily_f=gdd_f(temps.tmax_f, temps.tmin_f, figures=figures))

    def after(self, day: datetime.date) -> list[float]:
        """Return the heat of each day after a day."""
        kept: list[float] = self.daily_f[(day - self.first).days + 1 :].tolist()
        return kept


def _dry_on(ripe: datetime.date, need: float, past: _Heat, own: _Heat | None) -> datetime.date:
    """Return the day on which the heat after black layer is enough; the last day ever if none."""
    heat = _heat_after(ripe, past, own)
    enough = np.flatnonzero(np.cumsum([0.0, *heat]) >= need - _TIE)
    return ripe + datetime.timedelta(days=int(enough[0])) if enough.size else datetime.date.max


def _heat_after(ripe: datetime.date, past: _Heat, own: _Heat | None) -> list[float]:
    """Return the heat of each day after black layer: the season's own, then a past year's."""
    seen: list[float] = []
    if own is not None and own.first <= ripe:
        seen = own.after(ripe)
    turn = ripe + datetime.timedelta(days=len(seen))
    same_day = datetime.date(past.first.year, turn.month, turn.day)
    return [*seen, *past.after(same_day)]


def _known(day: datetime.date) -> datetime.date | None:
    return None if day == datetime.date.max else day
