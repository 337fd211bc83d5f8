"""When a field reaches each stage of grain fill: heat so far, then each past year's rest.

Every past year is one run: the season's own heat up to its last day, then that year's. The spread
of the runs is the spread of the dates. A stage seen in the field re-anchors what comes after.
"""

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fieldbook.agronomy.heat import DailyTemps, gdd_f, gdd_since_planting_f
from fieldbook.agronomy.sightings import Sightings, Window
from fieldbook.agronomy.stages import (
    R_STAGES,
    Needs,
    days_after_silk,
    fill_fraction,
    late_planting,
)
from fieldbook.figures import Figures, shipped_figures

HEAT, DAYS, SEEN = "heat units", "days after silking", "seen"
Floats = NDArray[np.float64]
_LEAP_DAY = 59
_TIE = 1e-9


@dataclass(frozen=True, kw_only=True)
class Basis:
    """What a date rests on.

    ``kind`` is ``heat units``, ``days after silking`` or ``seen``. ``anchor_stage`` and
    ``anchor_date`` name the stage seen that the date is counted from, None where none bears on it.
    ``years`` is how many past years are behind it, 0 where the season's own weather or a visit is
    enough.
    """

    kind: str
    anchor_stage: str | None = None
    anchor_date: datetime.date | None = None
    years: int = 0


@dataclass(frozen=True, kw_only=True)
class StageDate:
    """A stage and when the field reaches it.

    ``date`` is the median, ``earliest`` and ``latest`` the 10th and 90th percentile of the runs;
    with fewer than five past years the first and the last of them. Where visits overrule the heat,
    they are the days that the visits leave open. A run that does not reach the
    stage by 31 December counts as later than any date: where a percentile falls on such a run, or
    between it and the one before, it is None. ``years_short`` is how many runs those are.
    """

    stage: str
    date: datetime.date | None
    earliest: datetime.date | None
    latest: datetime.date | None
    basis: Basis
    years_short: int = 0

    @property
    def years(self) -> int:
        """How many past years are behind the date."""
        return self.basis.years


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
        dated = _by_heat(runs, needs, sightings, known)
    if runs is None or not runs.years:
        dated = {**_by_days(sightings, dated, known), **dated}
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
    rest = np.stack([_matched_heat(temps, planted.year, figures)[after:] for temps in past])
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


def _matched_heat(temps: DailyTemps, year: int, figures: Figures) -> Floats:
    """Return a past year's daily heat on the calendar of the season's year."""
    first = temps.first
    whole = datetime.date(first.year, 12, 31)
    if first != datetime.date(first.year, 1, 1) or temps.last != whole:
        raise ValueError(f"the past year {first.year} is not whole")
    heat = gdd_f(temps.tmax_f, temps.tmin_f, figures=figures)
    wanted = datetime.date(year, 12, 31).timetuple().tm_yday
    if len(heat) < wanted:
        return np.insert(heat, _LEAP_DAY, heat[_LEAP_DAY - 1])
    return np.delete(heat, _LEAP_DAY) if len(heat) > wanted else heat


def _by_heat(
    runs: _Runs, needs: Needs, sightings: Sightings, figures: Figures
) -> dict[str, StageDate]:
    need, anchored = _thresholds(runs, needs, sightings, figures)
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
            one = _summary(runs, columns[:, index], stage, basis, figures)
            dated[stage] = _between_visits(one, sightings) if basis.kind == SEEN else one
    return dated


def _thresholds(
    runs: _Runs, needs: Needs, sightings: Sightings, figures: Figures
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
        inside = np.clip(share, shares[rank - 1], shares[min(rank, len(shares) - 1)])
        after = heat[:, None] + (shares[rank:] - inside[:, None]) * needs.fill_f
        return np.hstack([need[:, :rank], after]), True
    # Not silked yet where heat says it is: grain fill can only start now.
    behind = (share > 0)[:, None]
    return np.where(behind, heat[:, None] + shares * needs.fill_f, need), bool(behind.any())


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


def _between_visits(one: StageDate, sightings: Sightings) -> StageDate:
    """Widen a date that visits overruled to the days that they leave open."""
    not_before, not_after = sightings.bounds(R_STAGES.index(one.stage) + 1)
    return replace(one, earliest=not_before or one.earliest, latest=not_after or one.latest)


def _percentile(ordered: Floats, percent: float) -> float:
    """Interpolate between ordered values, where an endless one stays endless."""
    place = (len(ordered) - 1) * percent / 100
    below = int(np.floor(place))
    part = place - below
    if part < _TIE:
        return float(ordered[below])
    return float(ordered[below] * (1 - part) + ordered[below + 1] * part)


def _by_days(
    sightings: Sightings, dated: Mapping[str, StageDate], figures: Figures
) -> dict[str, StageDate]:
    """Give the usual days after silking to every stage, from the stages seen."""
    window = sightings.silking(figures)
    if window is None:
        return {}
    # A stage cannot come before one that heat has dated.
    floor = max((one.date for one in dated.values() if one.date), default=datetime.date.min)
    return {stage: _day_range(stage, sightings, window, floor, figures) for stage in R_STAGES}


def _day_range(
    stage: str, sightings: Sightings, window: Window, floor: datetime.date, figures: Figures
) -> StageDate:
    rank = R_STAGES.index(stage) + 1
    bounds = sightings.bounds(rank)
    fewest, most = (
        datetime.timedelta(days=days) for days in days_after_silk(stage, figures=figures)
    )
    early = max(_within(window[0] + fewest, *bounds), floor)
    late = max(_within(window[1] + most, *bounds), early)
    last = sightings.last
    now = last is not None and rank == last.rank
    return StageDate(
        stage=stage,
        date=late if now else None,
        earliest=early,
        latest=late,
        basis=Basis(
            kind=SEEN if now else DAYS,
            anchor_stage=last.stage if last else None,
            anchor_date=last.day if last else None,
        ),
    )


def _within(
    day: datetime.date, not_before: datetime.date | None, not_after: datetime.date | None
) -> datetime.date:
    return min(max(day, not_before or day), not_after or datetime.date.max)
