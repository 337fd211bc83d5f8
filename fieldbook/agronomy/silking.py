"""The day on which half of a field's plants had silked, from counts of plants.

The share of plants with silks follows ``F(t) = 1 / (1 + exp(-k (t - tm)))`` (source
`westgate-1997`). Counts of plants carry binomial error; plants that stand together are more alike
than that, so every range is at least this wide.
"""

import datetime
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import groupby
from math import exp, inf, log, log1p, tanh

from fieldbook.agronomy.ranges import DayRange, Span, Triple, day_range, hull, meet
from fieldbook.figures import Figures, shipped_figures

FALLING, DO_NOT_MEET = "falling", "do-not-meet"
_LN4, _LN19 = log(4), log(19)
_AT_ITS_END = 20.0
"""A log odds that leaves two plants in a billion."""
_LEVEL = 1e-6  # a slope of the log likelihood that may be rounding alone


@dataclass(frozen=True, kw_only=True)
class SilkCount:
    """Plants with silks on a day, of the plants looked at.

    Raises
    ------
    ValueError
        For no plants, or more with silks than were looked at.
    """

    day: datetime.date
    silked: int
    of: int

    def __post_init__(self) -> None:
        """Refuse an impossible count."""
        if not 0 <= self.silked <= self.of or self.of == 0:
            raise ValueError("plants with silks must be among the plants looked at")

    @property
    def share(self) -> float:
        """The share of plants with silks."""
        return self.silked / self.of


@dataclass(frozen=True, kw_only=True)
class SilkConflict:
    """Two counts that do not fit, the earlier one first.

    ``falling``: the share fell by more than chance explains. ``do-not-meet``: no one date fits.
    """

    kind: str
    first: SilkCount
    second: SilkCount


@dataclass(frozen=True, kw_only=True)
class Silking:
    """When half of a field's plants had silked.

    ``day`` needs two days of counts between 5 and 95 % that do not contradict each other, else it
    is None and the range is all that is known. ``spread_days`` is the fitted time from the first
    to the last 5 % of plants, None with ``day``. ``carrying`` is how many days of counts the
    curve rests on.
    """

    day: datetime.date | None
    within: DayRange
    spread_days: float | None
    carrying: int
    conflicts: tuple[SilkConflict, ...] = ()


def silk_slope(days_20_to_80: float) -> float:
    """Return the slope of the curve from the days between 20 and 80 % [1/day].

    ``k = 2 ln 4 / (d80 - d20) = 2.773 / (d80 - d20)``, source `westgate-1997` (the dates) and
    arithmetic.

    Raises
    ------
    ValueError
        If the two days are not in order.
    """
    if not days_20_to_80 > 0:
        raise ValueError("80 % must come after 20 %")
    return 2 * _LN4 / days_20_to_80


def silked_share(days_after_half: float, slope: float) -> float:
    """Return the share of plants silked so many days after half of them were."""
    return 1 / (1 + exp(-slope * days_after_half))


def silking_date(counts: Iterable[SilkCount], *, figures: Figures | None = None) -> Silking | None:
    """Date silking (R1) from counts; None without a count.

    Counts of one day are added up. Those between 5 and 95 % carry the curve, fitted by maximum
    likelihood; the range is the profile likelihood interval of its middle, over all slopes that
    the published spread between plants allows. So one day of counts gives a range and two or
    more a day as well. Counts beyond 5 and 95 % each bound the range from one side, with their own
    binomial error. Where counts contradict each other there is no day, and the range covers what
    each of them says alone.
    """
    known = figures or shipped_figures()
    days = _by_day(counts)
    if not days:
        return None
    least, most = (pct / 100 for pct in known.numbers("silk.carrying_pct"))
    carrying = [one for one in days if least <= one.share <= most]
    alone = [_alone(one, known) for one in days]
    conflicts = _conflicts(days, alone, known)
    bounds = [own for one, own in zip(days, alone, strict=True) if one not in carrying]
    fitted = _fit(carrying, known) if carrying else None
    within = None if conflicts else meet([*bounds, *([fitted.within] if fitted else [])])
    if within is None:
        return Silking(
            day=None,
            within=hull(alone),
            spread_days=None,
            carrying=len(carrying),
            conflicts=conflicts
            or (SilkConflict(kind=DO_NOT_MEET, first=days[0], second=days[-1]),),
        )
    sure = fitted is not None and len(carrying) > 1
    return Silking(
        day=_moved_into(fitted.day, within) if fitted and sure else None,
        within=within,
        spread_days=2 * _LN19 / fitted.slope if fitted and sure else None,
        carrying=len(carrying),
    )


def pollen_silk_gap(half_shed: DayRange, silked: DayRange) -> Span:
    """Return the days from pollen to silk, silk minus pollen; below zero where silks lead.

    Both are days on which half had begun. An open end makes an endless gap.
    """
    low = _days_between(half_shed.latest, silked.earliest)
    high = _days_between(half_shed.earliest, silked.latest)
    return Span(low=-inf if low is None else low, high=inf if high is None else high)


def gap_points_to_stress(gap: Span, *, figures: Figures | None = None) -> bool | None:
    """Tell whether silks came so late after pollen that it points to stress; None: cannot tell."""
    line = (figures or shipped_figures()).number("tassel.silk_gap_stress_days")
    if gap.low > line:
        return True
    return False if gap.high <= line else None


@dataclass(frozen=True, kw_only=True)
class _Fit:
    day: datetime.date
    within: DayRange
    slope: float


def _by_day(counts: Iterable[SilkCount]) -> list[SilkCount]:
    ordered = sorted(counts, key=lambda one: one.day)
    return [
        SilkCount(day=day, silked=sum(c.silked for c in group), of=sum(c.of for c in group))
        for day, group in ((day, list(g)) for day, g in groupby(ordered, key=lambda c: c.day))
    ]


def _slopes(figures: Figures) -> tuple[float, float]:
    """Return the flattest and the steepest slope that the spread between plants allows."""
    spread = Triple.of("silk.plant_spread_days", figures)
    return 2 * _LN19 / spread.high, 2 * _LN19 / spread.low


def _loglik(log_odds: float, count: SilkCount) -> float:
    """Return the binomial log likelihood of a count; its best is at the count's own log odds."""
    log_of_rest = max(log_odds, 0.0) + log1p(exp(-abs(log_odds)))
    return count.silked * log_odds - count.of * log_of_rest


def _pull(log_odds: float, count: SilkCount) -> float:
    """Return how fast the log likelihood of a count rises with the log odds [plants]."""
    return count.silked - count.of * (1 + tanh(log_odds / 2)) / 2


def _best_loglik(silked: int, of: int) -> float:
    parts = (silked, of - silked)
    return sum(part * log(part / of) for part in parts if part)


def _allowed_drop(figures: Figures) -> float:
    """Return how far the log likelihood may fall within the interval: half of chi-square's."""
    from scipy.special import chdtri

    return float(chdtri(1, 1 - figures.number("sampling.confidence_pct") / 100)) / 2


def _log_odds_limits(count: SilkCount, figures: Figures) -> Span:
    """Return the log odds that a count allows, by likelihood ratio; endless for none and all."""
    from scipy.optimize import brentq

    floor = _best_loglik(count.silked, count.of) - _allowed_drop(figures)
    # A log odds that is nearest the count, with half a plant for none and all.
    near = log((count.silked + 0.5) / (count.of - count.silked + 0.5))
    far = near - _AT_ITS_END, near + _AT_ITS_END
    low, high = count.silked > 0, count.silked < count.of
    return Span(
        low=brentq(lambda x: _loglik(x, count) - floor, far[0], near) if low else -inf,
        high=brentq(lambda x: _loglik(x, count) - floor, near, far[1]) if high else inf,
    )


def _alone(count: SilkCount, figures: Figures) -> DayRange:
    """Return the days that one count alone leaves to the middle, over all slopes."""
    limits = _log_odds_limits(count, figures)
    slopes = _slopes(figures)
    fewest = min(-limits.high / slope for slope in slopes)
    most = max(-limits.low / slope for slope in slopes)
    return day_range(count.day, fewest, most)


def _fit(counts: Sequence[SilkCount], figures: Figures) -> _Fit:
    """Fit the curve to counts that each hold plants with and without silks."""
    from scipy.optimize import brentq, minimize_scalar

    origin = counts[0].day
    flattest, steepest = _slopes(figures)
    # This many days from the counts even the flattest curve is at its end.
    beyond = _AT_ITS_END / flattest
    ends = (-beyond, (counts[-1].day - origin).days + beyond)
    profile = _profile(counts, flattest, steepest)
    found = minimize_scalar(lambda t: -profile(t)[0], bounds=ends, method="bounded")
    best, slope = profile(found.x)
    floor = best - _allowed_drop(figures)
    low, high = (brentq(lambda t: profile(t)[0] - floor, found.x, end) for end in ends)
    return _Fit(
        day=origin + datetime.timedelta(days=round(found.x)),
        within=day_range(origin, low, high),
        slope=slope,
    )


def _profile(
    counts: Sequence[SilkCount], flattest: float, steepest: float
) -> Callable[[float], tuple[float, float]]:
    """Return a function from the middle day to its best log likelihood and the slope that gives it.

    For a given middle the log likelihood is concave in the slope, so where it falls from the
    flattest on, or rises up to the steepest, that one is the best. As a whole it has one hill, so
    searches along one line find it.
    """
    from scipy.optimize import minimize_scalar

    days = [(one.day - counts[0].day).days for one in counts]

    def fits(middle: float, slope: float) -> float:
        pairs = zip(days, counts, strict=True)
        return sum(_loglik(slope * (day - middle), one) for day, one in pairs)

    def rises(middle: float, slope: float) -> float:
        pairs = zip(days, counts, strict=True)
        return sum((day - middle) * _pull(slope * (day - middle), one) for day, one in pairs)

    @cache
    def at(middle: float) -> tuple[float, float]:
        if rises(middle, flattest) < -_LEVEL:
            return fits(middle, flattest), flattest
        if rises(middle, steepest) > _LEVEL:
            return fits(middle, steepest), steepest
        found = minimize_scalar(
            lambda slope: -fits(middle, slope), bounds=(flattest, steepest), method="bounded"
        )
        # A bounded search stops just short of an end, so both ends are asked too.
        return max((fits(middle, slope), slope) for slope in (flattest, found.x, steepest))

    return at


def _conflicts(
    days: Sequence[SilkCount], alone: Sequence[DayRange], figures: Figures
) -> tuple[SilkConflict, ...]:
    drop = _allowed_drop(figures)
    found = []
    for index, second in enumerate(days):
        for first, own in zip(days[:index], alone[:index], strict=True):
            if first.share > second.share and _lost_by_pooling(first, second) > drop:
                found.append(SilkConflict(kind=FALLING, first=first, second=second))
            elif meet([own, alone[index]]) is None:
                found.append(SilkConflict(kind=DO_NOT_MEET, first=first, second=second))
    return tuple(found)


def _lost_by_pooling(first: SilkCount, second: SilkCount) -> float:
    """Return how much log likelihood one share for both counts costs."""
    apart = sum(_best_loglik(one.silked, one.of) for one in (first, second))
    return apart - _best_loglik(first.silked + second.silked, first.of + second.of)


def _moved_into(day: datetime.date, within: DayRange) -> datetime.date:
    after = max(day, within.earliest or day)
    return min(after, within.latest or after)


def _days_between(first: datetime.date | None, second: datetime.date | None) -> int | None:
    return (second - first).days if first and second else None
