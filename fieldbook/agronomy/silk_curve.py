"""The curve that silking follows, fitted to counts of plants with silks by maximum likelihood.

The share of plants with silks follows ``F(t) = 1 / (1 + exp(-k (t - tm)))`` (source
`westgate-1997`). Counts of plants carry binomial error.
"""

import datetime
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from math import exp, inf, log, log1p, tanh

from fieldbook.agronomy.ranges import DayRange, Span, Triple, day_range
from fieldbook.figures import Figures

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


@dataclass(frozen=True, kw_only=True)
class SilkFit:
    """The middle of a fitted curve, the days that it may lie in, and its slope [1/day]."""

    day: datetime.date
    within: DayRange
    slope: float

    @property
    def spread_days(self) -> float:
        """The time from the first to the last 5 % of plants [days]."""
        return 2 * _LN19 / self.slope


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


def allowed_drop(figures: Figures) -> float:
    """Return how far the log likelihood may fall within the interval: half of chi-square's."""
    from scipy.special import chdtri

    return float(chdtri(1, 1 - figures.number("sampling.confidence_pct") / 100)) / 2


def _log_odds_limits(count: SilkCount, figures: Figures) -> Span:
    """Return the log odds that a count allows, by likelihood ratio; endless for none and all."""
    from scipy.optimize import brentq

    floor = _best_loglik(count.silked, count.of) - allowed_drop(figures)
    # A log odds that is nearest the count, with half a plant for none and all.
    near = log((count.silked + 0.5) / (count.of - count.silked + 0.5))
    far = near - _AT_ITS_END, near + _AT_ITS_END
    low, high = count.silked > 0, count.silked < count.of
    return Span(
        low=brentq(lambda x: _loglik(x, count) - floor, far[0], near) if low else -inf,
        high=brentq(lambda x: _loglik(x, count) - floor, near, far[1]) if high else inf,
    )


def days_of_one(count: SilkCount, figures: Figures) -> DayRange:
    """Return the days that one count alone leaves to the middle, over all slopes."""
    limits = _log_odds_limits(count, figures)
    slopes = _slopes(figures)
    fewest = min(-limits.high / slope for slope in slopes)
    most = max(-limits.low / slope for slope in slopes)
    return day_range(count.day, fewest, most)


def fit_curve(counts: Sequence[SilkCount], figures: Figures) -> SilkFit:
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
    floor = best - allowed_drop(figures)
    low, high = (brentq(lambda t: profile(t)[0] - floor, found.x, end) for end in ends)
    return SilkFit(
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


def lost_by_pooling(first: SilkCount, second: SilkCount) -> float:
    """Return how much log likelihood one share for both counts costs."""
    apart = sum(_best_loglik(one.silked, one.of) for one in (first, second))
    return apart - _best_loglik(first.silked + second.silked, first.of + second.of)
