"""What a few stops tell about a field: mean, interval, stops still needed, spread by level."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import ceil, fsum, sqrt
from statistics import NormalDist, fmean

from fieldbook.figures import Figures, shipped_figures

_FEWEST_FOR_SPREAD = 2


@dataclass(frozen=True, kw_only=True)
class Sample:
    """A mean over stops and how far to trust it.

    ``sd`` and ``se`` are None for one value. ``half_width_95``, ``low`` and ``high`` are None
    under three values.
    """

    n: int
    mean: float
    sd: float | None
    se: float | None
    half_width_95: float | None
    low: float | None
    high: float | None


@dataclass(frozen=True, kw_only=True)
class NestedVariance:
    """The variance of values nested in groups, by level.

    ``variance_between`` is None with one group, ``variance_within`` where no group has two
    values. ``values_per_group`` is the weighted mean size, equal to the plain one for equal sizes.
    """

    groups: int
    values: int
    mean: float
    ms_between: float | None
    ms_within: float | None
    variance_between: float | None
    variance_within: float | None
    values_per_group: float | None


def sample(values: Iterable[float], *, figures: Figures | None = None) -> Sample | None:
    """Describe a sample of stops; None for no values.

    The interval is ``mean +- t(n - 1) sd / sqrt(n)``.
    """
    import numpy as np

    known = figures or shipped_figures()
    numbers = np.asarray(list(values), dtype=float)
    n = numbers.size
    if n == 0:
        return None
    mean = float(numbers.mean())
    sd = float(numbers.std(ddof=1)) if n >= _FEWEST_FOR_SPREAD else None
    se = None if sd is None else sd / sqrt(n)
    enough = se is not None and n >= known.number("sampling.least_for_interval")
    half = t_quantile(n - 1, figures=known) * se if se is not None and enough else None
    return Sample(
        n=n,
        mean=mean,
        sd=sd,
        se=se,
        half_width_95=half,
        low=None if half is None else mean - half,
        high=None if half is None else mean + half,
    )


def t_quantile(df: float, *, figures: Figures | None = None) -> float:
    """Return the two-sided t quantile for the confidence in use."""
    from scipy.special import stdtrit

    return float(stdtrit(df, _upper(figures)))


def more_needed(
    values_sd: float | None, n: int, half_width: float, *, figures: Figures | None = None
) -> int | None:
    """Return how many more values bring the interval down to the wanted half width.

    The total is the fewest with ``t(total - 1) sd / sqrt(total) <= half width``, found by
    iteration from the normal quantile; the ``n`` in hand are taken off. None where the standard
    deviation is not known.

    Raises
    ------
    ValueError
        If the half width is not above zero.
    """
    if not half_width > 0:
        raise ValueError("the half width must be above zero")
    if values_sd is None:
        return None
    known = figures or shipped_figures()
    ratio = values_sd / half_width
    normal = NormalDist().inv_cdf(_upper(known))
    total = max(int(known.number("sampling.least_for_interval")), ceil((normal * ratio) ** 2))
    while t_quantile(total - 1, figures=known) * ratio > sqrt(total):
        total += 1
    return max(total - n, 0)


def stops_wanted(area_ac: float, *, figures: Figures | None = None) -> int:
    """Return how many stops a field should get, source `indiana-cca-yield`.

    One for every ten acres or part of them, and at least five in a small field.
    """
    known = figures or shipped_figures()
    by_area = ceil(area_ac / known.number("sampling.ac_per_stop"))
    return max(by_area, int(known.number("sampling.least_stops")))


def nested_variance(groups: Sequence[Sequence[float]]) -> NestedVariance | None:
    """Split the variance of values nested in groups, for example ears in stops.

    Method of moments from the one-way analysis of variance, for groups of any size; a negative
    estimate between groups counts as zero. Empty groups are left out; None without any value.
    """
    filled = [group for group in groups if len(group)]
    if not filled:
        return None
    values = [value for group in filled for value in group]
    count, mean = len(values), fmean(values)
    means = [fmean(group) for group in filled]
    squares_between = fsum(
        len(group) * (own - mean) ** 2 for group, own in zip(filled, means, strict=True)
    )
    squares_within = fsum(
        (value - own) ** 2 for group, own in zip(filled, means, strict=True) for value in group
    )
    between = _over(squares_between, len(filled) - 1)
    within = _over(squares_within, count - len(filled))
    size = _over(count - sum(len(group) ** 2 for group in filled) / count, len(filled) - 1)
    return NestedVariance(
        groups=len(filled),
        values=count,
        mean=mean,
        ms_between=between,
        ms_within=within,
        variance_between=_component(between, within, size),
        variance_within=within,
        values_per_group=size,
    )


def _component(between: float | None, within: float | None, size: float | None) -> float | None:
    if between is None or within is None or not size:
        return None
    return max(between - within, 0.0) / size


def _over(total: float, df: int) -> float | None:
    return total / df if df > 0 else None


def _upper(figures: Figures | None) -> float:
    confidence = (figures or shipped_figures()).number("sampling.confidence_pct") / 100
    return (1 + confidence) / 2
