"""Heat since planting day by day, beside what past years brought from the same day on."""

from collections.abc import Iterable, Mapping
from datetime import date, timedelta

import numpy as np

from fieldbook.agronomy.heat import DailyTemps, Floats, gdd_since_planting_f
from fieldbook.figures import Figures
from fieldbook.results.result import HeatCurve, StageResult

_LEAST_DAYS = 30
_BEHIND_D = 10


def heat_curve(
    planted: date,
    own: DailyTemps | None,
    years: Mapping[int, DailyTemps],
    stages: Iterable[StageResult],
    figures: Figures,
) -> HeatCurve | None:
    """Work out the curve of a field; None without temperatures or past years.

    It goes on to the last stage ahead, as far as every past year does.
    """
    if own is None or not years:
        return None
    ours = _since(planted, own, figures)
    days = _days(planted, len(ours), stages)
    past = [_since(_same_day(planted, year), temps, figures) for year, temps in years.items()]
    days = min(days, *map(len, past))
    if not len(ours) or days < _LEAST_DAYS:
        return None
    runs = np.array([run[:days] for run in past])
    few = len(past) < int(figures.number("forecast.least_years"))
    shares = (0.0, 100.0) if few else figures.numbers("forecast.percentiles")
    low, middle, high = np.percentile(runs, (shares[0], 50, shares[1]), axis=0)
    return HeatCurve(
        planted=planted,
        own_f=tuple(map(float, ours[:days])),
        low_f=tuple(map(float, low)),
        middle_f=tuple(map(float, middle)),
        high_f=tuple(map(float, high)),
        years=len(past),
        held_pct=shares[1] - shares[0],
    )


def _since(planted: date, temps: DailyTemps, figures: Figures) -> Floats:
    """Return the running sum from the day of planting on; nothing where it can't be told."""
    skip = (planted - temps.first).days
    if skip < 0:
        return np.array([])
    return gdd_since_planting_f(planted, temps, figures=figures)[skip:]


def _same_day(planted: date, year: int) -> date:
    is_leap_day = (planted.month, planted.day) == (2, 29)
    return planted.replace(year=year, day=28) if is_leap_day else planted.replace(year=year)


def _days(planted: date, own: int, stages: Iterable[StageResult]) -> int:
    ends = [stage.latest or stage.date for stage in stages]
    last = max((day for day in ends if day), default=planted)
    year_end = date(planted.year, 12, 31)
    return max(own, (min(last + timedelta(_BEHIND_D), year_end) - planted).days + 1)
