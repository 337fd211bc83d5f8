"""When a field reaches each stage of grain fill: heat so far, then each past year's rest.

Every past year is one run: the season's own heat up to its last day, then that year's. The spread
of the runs is the spread of the dates. A stage seen in the field re-anchors what comes after.
"""

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from fieldbook.agronomy.day_ranges import usual_days
from fieldbook.agronomy.heat import DailyTemps, clipped_mean, gdd_since_planting_f
from fieldbook.agronomy.sightings import Sightings
from fieldbook.agronomy.stage_dates import DAYS, HEAT, SEEN, Basis, StageDate
from fieldbook.agronomy.stages import (
    R_STAGES,
    Needs,
    fill_fraction,
    late_planting,
    milk_line_fractions,
)
from fieldbook.figures import Figures, shipped_figures

__all__ = ["DAYS", "HEAT", "SEEN", "Basis", "StageDate", "forecast"]

Floats = NDArray[np.float64]
_DENT = "R5"
_LEAP_DAY = 59
_TIE = 1e-9
_YEARS_KEPT = 256


@dataclass(frozen=True, kw_only=True)
class _Runs:
    """Heat since planting by run and day: shape (runs, days from the day after planting)."""

    planted: datetime.date
    heat: Floats
    own_days: int
    years: int

    def column(self, day: datetime.date) -> int:
        return (day - self.planted).days - 1

    def day(self, column: float) -> datetime.date | None:
        if not np.isfinite(column):
            return None
        return self.planted + datetime.timedelta(days=int(np.floor(column + 0.5)) + 1)

    def heat_on(self, day: datetime.date) -> Floats | None:
        """Heat on a day in each run; None past the end of what is known."""
        column = self.column(day)
        if column >= self.heat.shape[1]:
            return None
        return self.heat[:, column] if column >= 0 else np.zeros(len(self.heat))


def forecast(
    *,
    planted: datetime.date,
    needs: Needs,
    as_of: datetime.date,
    own: DailyTemps | None = None,
    years: Mapping[int, DailyTemps] | None = None,
    seen: Sequence[tuple[datetime.date, str]] = (),
    milk_lines: Mapping[datetime.date, float] = MappingProxyType({}),
    figures: Figures | None = None,
) -> tuple[StageDate, ...]:
    """Date the stages R1 to R6 of a planting; a stage that cannot be dated is left out.

    Parameters
    ----------
    planted
        Planting date; heat counts from the day after.
    needs
        The hybrid's own needs; late planting is taken off here.
    as_of
        The day of the forecast. Weather and sightings after it are not looked at.
    own
        The season's daily temperatures without a gap, from the day after planting or earlier.
        Past years take over after its last day.
    years
        Whole past years, 1 January to 31 December, by year; the season's own year is left out.
        Days are matched by month and day. For 29 February of the season, a past year without one
        gives its 28 February.
    seen
        What visits saw: (day, stage), stages V, VT and R1 to R6. The last one anchors: the share
        of grain fill behind on that day must lie from its stage up to the next one. The forecast's
        own share is kept where it does, else the nearer end is taken; from there on the hybrid
        needs its full heat, without the late-planting reduction. V and VT only say that silking
        did not come before that day.
    milk_lines
        How far the milk line had come, 0 to 1, by day of a visit. Where the last sighting is dent,
        its line narrows the share of grain fill that is behind.

    Returns
    -------
    tuple of StageDate
        In the order of stages. Without past years only stages already passed are dated by heat;
        the others get the usual days after silking, if a stage of grain fill has been seen.

    Raises
    ------
    ValueError
        If `own` starts too late, a past year is not whole, or a stage is unknown.
    """
    known = figures or shipped_figures()
    sightings = Sightings.of(seen, as_of)
    runs = _runs(planted, as_of, own, years or {}, known)
    dated: dict[str, StageDate] = {}
    if runs is not None:
        inside = _inside(sightings, milk_lines, known)
        dated = _by_heat(runs, needs, sightings, inside, known)
    if runs is None or not runs.years:
        dated = {**usual_days(sightings, dated, known), **dated}
    return tuple(dated[stage] for stage in R_STAGES if stage in dated)


def _runs(
    planted: datetime.date,
    as_of: datetime.date,
    own: DailyTemps | None,
    years: Mapping[int, DailyTemps],
    figures: Figures,
) -> _Runs | None:
    """Lay the season's own heat and the rest of each past year end to end."""
    sofar = _own_heat(planted, as_of, own, figures)
    past = [temps for year, temps in sorted(years.items()) if year != planted.year]
    if not past and not len(sofar):
        return None
    if not past:
        return _Runs(planted=planted, heat=sofar[None, :], own_days=len(sofar), years=0)
    after = planted.timetuple().tm_yday + len(sofar)
    limits = figures.number("heat.base_f"), figures.number("heat.cap_f")
    rest = np.stack([_matched_heat(temps, planted.year, *limits)[after:] for temps in past])
    base = sofar[-1] if len(sofar) else 0.0
    heat = np.hstack([np.tile(sofar, (len(past), 1)), base + np.cumsum(rest, axis=1)])
    return _Runs(planted=planted, heat=heat, own_days=len(sofar), years=len(past))


def _own_heat(
    planted: datetime.date, as_of: datetime.date, own: DailyTemps | None, figures: Figures
) -> Floats:
    if own is None or min(own.last, as_of) <= planted:
        return np.zeros(0)
    heat = gdd_since_planting_f(planted, own, figures=figures)
    start = (planted - own.first).days + 1
    return heat[start : (as_of - own.first).days + 1]


@lru_cache(maxsize=_YEARS_KEPT)
def _matched_heat(temps: DailyTemps, year: int, base_f: float, cap_f: float) -> Floats:
    """Return a past year's daily heat on the calendar of the season's year; fields share it."""
    first = temps.first
    whole = datetime.date(first.year, 12, 31)
    if first != datetime.date(first.year, 1, 1) or temps.last != whole:
        raise ValueError(f"the past year {first.year} is not whole")
    heat = np.asarray(clipped_mean(temps.tmax_f, temps.tmin_f, base_f, cap_f))
    wanted = datetime.date(year, 12, 31).timetuple().tm_yday
    if len(heat) < wanted:
        return np.insert(heat, _LEAP_DAY, heat[_LEAP_DAY - 1])
    return np.delete(heat, _LEAP_DAY) if len(heat) > wanted else heat


def _inside(
    sightings: Sightings, milk_lines: Mapping[datetime.date, float], figures: Figures
) -> tuple[float, float]:
    """Return between which shares of grain fill the last sighting was; of no use before silking."""
    last = sightings.last
    if last is None or last.rank == 0:
        return 0.0, 0.0
    if last.stage == _DENT and last.day in milk_lines:
        return milk_line_fractions(milk_lines[last.day], figures=figures)
    following = R_STAGES[min(last.rank, len(R_STAGES) - 1)]
    return fill_fraction(last.stage, figures=figures), fill_fraction(following, figures=figures)


def _by_heat(
    runs: _Runs,
    needs: Needs,
    sightings: Sightings,
    inside: tuple[float, float],
    figures: Figures,
) -> dict[str, StageDate]:
    need, anchored = _thresholds(runs, needs, sightings, inside, figures)
    # Heat never falls, so the days below a need are the days before it is met.
    short = runs.heat[:, :, None] < need[:, None, :] - _TIE
    by_heat = short.sum(axis=1).astype(float)
    by_heat[short[:, -1, :]] = np.inf
    low, high = _bounds(runs, sightings)
    columns = np.maximum.accumulate(np.clip(by_heat, low, high), axis=1)
    dated = {}
    for index, stage in enumerate(R_STAGES):
        moved = bool((columns[:, index] != by_heat[:, index]).any())
        basis = _basis(runs, columns[:, index], stage, sightings, moved, anchored)
        if runs.years or np.isfinite(columns[0, index]):
            dated[stage] = _summary(runs, columns[:, index], stage, basis, figures)
    return _between_visits(dated, sightings)


def _thresholds(
    runs: _Runs,
    needs: Needs,
    sightings: Sightings,
    inside: tuple[float, float],
    figures: Figures,
) -> tuple[Floats, bool]:
    """Return the heat since planting that each stage needs, shape (runs, 6); is it re-anchored."""
    shares = np.array([fill_fraction(stage, figures=figures) for stage in R_STAGES])
    late = late_planting(needs, runs.planted, figures=figures)
    need = np.tile(late.silk_f + shares * late.fill_f, (len(runs.heat), 1))
    heat = None if sightings.last is None else runs.heat_on(sightings.last.day)
    if sightings.last is None or heat is None:
        return need, False
    rank = sightings.last.rank
    share = (heat - late.silk_f) / late.fill_f
    if rank > 0:
        behind = np.clip(share, *inside)
        after = heat[:, None] + (shares[rank:] - behind[:, None]) * needs.fill_f
        return np.hstack([need[:, :rank], after]), True
    # Not silked yet where heat says it is: grain fill can only start now.
    late_silk = (share > 0)[:, None]
    return np.where(late_silk, heat[:, None] + shares * needs.fill_f, need), bool(late_silk.any())


def _bounds(runs: _Runs, sightings: Sightings) -> tuple[Floats, Floats]:
    """Return the first and last column that sightings leave to each stage."""
    low, high = np.full(len(R_STAGES), -np.inf), np.full(len(R_STAGES), np.inf)
    for index in range(len(R_STAGES)):
        not_before, not_after = sightings.bounds(index + 1)
        low[index] = -np.inf if not_before is None else runs.column(not_before)
        high[index] = np.inf if not_after is None else runs.column(not_after)
    return low, high


def _basis(
    runs: _Runs,
    columns: Floats,
    stage: str,
    sightings: Sightings,
    moved: bool,
    anchored: bool,
) -> Basis:
    last = sightings.last
    behind = last is not None and R_STAGES.index(stage) < last.rank
    from_seen = last is not None and (moved or (anchored and not behind))
    kind = SEEN if moved and behind else HEAT
    settled = kind == SEEN or bool((columns < runs.own_days).all())
    return Basis(
        kind=kind,
        anchor_stage=last.stage if last is not None and from_seen else None,
        anchor_date=last.day if last is not None and from_seen else None,
        years=0 if settled else runs.years,
    )


def _summary(runs: _Runs, columns: Floats, stage: str, basis: Basis, figures: Figures) -> StageDate:
    ordered = np.sort(columns)
    few = runs.years < figures.number("forecast.least_years")
    low, high = (0.0, 100.0) if few else figures.numbers("forecast.percentiles")
    return StageDate(
        stage=stage,
        date=runs.day(_percentile(ordered, 50)),
        earliest=runs.day(_percentile(ordered, low)),
        latest=runs.day(_percentile(ordered, high)),
        basis=basis,
        years_short=int(np.isinf(ordered).sum()),
    )


def _between_visits(dated: Mapping[str, StageDate], sightings: Sightings) -> dict[str, StageDate]:
    """Widen dates that visits overruled to the days left open by visits and by other stages."""
    widened = dict(dated)
    overruled = [stage for stage, one in dated.items() if one.basis.kind == SEEN]
    for stage in overruled:
        not_before, _ = sightings.bounds(R_STAGES.index(stage) + 1)
        before = [widened[s].earliest for s in R_STAGES[: R_STAGES.index(stage)] if s in widened]
        earliest = max((day for day in (not_before, *before) if day), default=dated[stage].earliest)
        widened[stage] = replace(widened[stage], earliest=earliest)
    for stage in reversed(overruled):
        _, not_after = sightings.bounds(R_STAGES.index(stage) + 1)
        after = [widened[s].latest for s in R_STAGES[R_STAGES.index(stage) + 1 :] if s in widened]
        latest = min((day for day in (not_after, *after) if day), default=dated[stage].latest)
        widened[stage] = replace(widened[stage], latest=latest)
    return widened


def _percentile(ordered: Floats, percent: float) -> float:
    """Interpolate between ordered values, where an endless one stays endless."""
    place = (len(ordered) - 1) * percent / 100
    below = int(np.floor(place))
    part = place - below
    if part < _TIE:
        return float(ordered[below])
    return float(ordered[below] * (1 - part) + ordered[below + 1] * part)
