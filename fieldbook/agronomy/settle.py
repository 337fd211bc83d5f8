"""Estimates held against the harvest, and what they suggest for next season (derived)."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log, sqrt

from fieldbook.agronomy.sampling import nested_variance
from fieldbook.agronomy.yields import field_correction
from fieldbook.figures import Figures, shipped_figures


@dataclass(frozen=True, kw_only=True)
class Settled:
    """One field and year with its estimate and its harvest [bu/ac].

    ``thousand_kernels`` per bushel is what the estimate was made with, ``corrected_thousand`` what
    would have made it right: the field correction.
    """

    field_id: str
    year: int
    hybrid: str | None
    thousand_kernels: float
    estimated_bu_ac: float
    harvested_bu_ac: float

    @property
    def corrected_thousand(self) -> float:
        """Thousands of kernels per bushel that would have made the estimate right."""
        return field_correction(self.thousand_kernels, self.estimated_bu_ac, self.harvested_bu_ac)

    @property
    def miss_pct(self) -> float:
        """How far the estimate was over (plus) or under (minus) the harvest [% of harvest]."""
        return 100 * (self.estimated_bu_ac / self.harvested_bu_ac - 1)


@dataclass(frozen=True, kw_only=True)
class Suggestion:
    """Thousands of kernels per bushel for next season, with the spread of a next field.

    ``low`` to ``high`` is where a next field's correction falls in four of five cases. ``weight``
    is how far the mean of the fields was believed, from 0 (not at all) to 1.
    """

    low: float
    likely: float
    high: float
    weight: float
    fields: int
    years: int


@dataclass(frozen=True, kw_only=True)
class TooFew:
    """Why there is no suggestion yet: fields and years that are still missing."""

    fields: int
    years: int


def suggest(
    settled: Sequence[Settled], base_thousand: float, *, figures: Figures | None = None
) -> Suggestion | TooFew:
    """Suggest thousands of kernels per bushel for next season, from fields that belong together.

    Parameters
    ----------
    settled
        For example all fields of one hybrid.
    base_thousand
        What would be used without them; the mean is drawn towards it.

    Notes
    -----
    On the logarithm of estimate over harvest. The mean over years has variance
    ``v = between / years + within / fields``; it is believed by ``w = prior / (prior + v)``. A
    next field in a next year differs by ``between + within + w v``, with a quantile of t(years):
    few years tell little of how years differ.
    """
    known = figures or shipped_figures()
    fields, years = len({one.field_id for one in settled}), len({one.year for one in settled})
    short = TooFew(
        fields=max(int(known.number("settle.least_fields")) - fields, 0),
        years=max(int(known.number("settle.least_years")) - years, 0),
    )
    if short.fields or short.years:
        return short
    mean, between, within = _spread(settled)
    error = between / years + within / len(settled)
    prior = (known.number("settle.prior_sd_pct") / 100) ** 2
    weight = prior / (prior + error)
    half = _quantile(years, known) * sqrt(between + within + weight * error)
    low, likely, high = (base_thousand * exp(weight * mean + side * half) for side in (-1, 0, 1))
    return Suggestion(low=low, likely=likely, high=high, weight=weight, fields=fields, years=years)


def _spread(settled: Sequence[Settled]) -> tuple[float, float, float]:
    """Return mean, variance between years and within, of the logarithm of estimate over harvest."""
    by_year: dict[int, list[float]] = {}
    for one in settled:
        by_year.setdefault(one.year, []).append(log(one.estimated_bu_ac / one.harvested_bu_ac))
    groups = list(by_year.values())
    mean = sum(sum(group) / len(group) for group in groups) / len(groups)
    parts = nested_variance(groups)
    within = parts and parts.variance_within
    # With one field a year all variance counts as between years.
    between = parts and (parts.ms_between if within is None else parts.variance_between)
    return mean, between or 0.0, within or 0.0


def _quantile(df: int, figures: Figures) -> float:
    from scipy.special import stdtrit

    return float(stdtrit(df, (1 + figures.number("settle.spread_pct") / 100) / 2))
