"""Yield from counts, from weights, and after harvest."""

from collections.abc import Sequence
from dataclasses import dataclass

from fieldbook.figures import Figures, shipped_figures
from fieldbook.units import KG_PER_LB

GOOD, AVERAGE, POOR = "good", "average", "poor"
_G_PER_LB = KG_PER_LB * 1000
_ALL_PCT = 100


@dataclass(frozen=True, kw_only=True)
class KernelCounts:
    """Thousands of kernels in a bushel for a condition of grain fill.

    Heavy kernels make a high yield and light ones a low yield. ``stated`` is False where nobody
    said how the grain fills and average is taken.
    """

    heavy: float
    likely: float
    light: float
    condition: str
    stated: bool
    is_own: bool = False


@dataclass(frozen=True, kw_only=True)
class YieldSpan:
    """A yield at light, likely and heavy kernels [bu/ac]."""

    low: float
    likely: float
    high: float


def kernel_counts(
    condition: str | None,
    *,
    own: tuple[float, float, float] | None = None,
    figures: Figures | None = None,
) -> KernelCounts:
    """Return kernels per bushel for a condition: good, average or poor; None counts as average.

    Parameters
    ----------
    own
        A hybrid's own thousands, heavy, likely and light, where earlier harvests suggested them;
        they stand in for the average ones alone.

    Raises
    ------
    ValueError
        For another condition.
    """
    name = condition or AVERAGE
    if name not in (GOOD, AVERAGE, POOR):
        raise ValueError(f"no grain fill condition {name!r}")
    key = f"kernels.{name}_thousand_per_bu"
    is_own = own is not None and name == AVERAGE
    heavy, likely, light = own if own and is_own else (figures or shipped_figures()).numbers(key)
    return KernelCounts(
        heavy=heavy,
        likely=likely,
        light=light,
        condition=name,
        stated=condition is not None,
        is_own=is_own,
    )


def kernels_on_ear(
    rows_around: float,
    kernels_per_row: float,
    lost_rows: float = 0,
    opposite_per_row: float | None = None,
) -> float:
    """Return the kernels on one ear: ``(rows - lost rows) x kernels per row``.

    On a one-sided or scattered ear the row on the other side is counted too, and the two are
    averaged.

    Raises
    ------
    ValueError
        If more rows are lost than there are, or a count is negative.
    """
    if not 0 <= lost_rows <= rows_around:
        raise ValueError("lost rows must lie between none and all rows")
    counts = [kernels_per_row] if opposite_per_row is None else [kernels_per_row, opposite_per_row]
    if min(counts) < 0:
        raise ValueError("a count cannot be negative")
    return (rows_around - lost_rows) * sum(counts) / len(counts)


def mean_of_products(rows: Sequence[float], kernels_per_row: Sequence[float]) -> float:
    """Return kernels per ear, multiplied ear by ear and then averaged: what this tool uses.

    Purdue's field guide, Michigan State and Kansas State do it so.
    """
    return _mean([a * b for a, b in zip(rows, kernels_per_row, strict=True)])


def product_of_means(rows: Sequence[float], kernels_per_row: Sequence[float]) -> float:
    """Return kernels per ear as mean rows times mean kernels per row: reads 1 to 2 % higher.

    Iowa State, Mississippi State and eXtension do it so. Ears with many rows usually have fewer
    kernels in each, so this reads higher than `mean_of_products`.
    """
    if len(rows) != len(kernels_per_row):
        raise ValueError("as many rows as kernels per row are needed")
    return _mean(rows) * _mean(kernels_per_row)


def stop_yield_bu_ac(
    ears_per_ac: float, kernels_per_ear: float, thousand_kernels_per_bu: float
) -> float:
    """Return the yield at one stop [bu/ac].

    ``ears per acre / 1000 x kernels per ear / thousands of kernels per bushel``, source
    `purdue-yield-estimate`. The bushel is at market moisture: correct no second time.
    """
    return ears_per_ac / 1000 * kernels_per_ear / thousand_kernels_per_bu


def yield_span_bu_ac(ears_per_ac: float, kernels_per_ear: float, counts: KernelCounts) -> YieldSpan:
    """Return the yield at the three kernel weights [bu/ac]: never one number alone."""
    low, likely, high = (
        stop_yield_bu_ac(ears_per_ac, kernels_per_ear, thousand)
        for thousand in (counts.light, counts.likely, counts.heavy)
    )
    return YieldSpan(low=low, likely=likely, high=high)


def ring_worth_bu_ac(
    ears_per_ac: float, rows_around: float, thousand_kernels_per_bu: float
) -> float:
    """Return what one ring of kernels on every ear is worth [bu/ac].

    ``ears per acre / 1000 x rows / thousands of kernels per bushel``, source
    `purdue-kernel-abortion`. An upper-side figure: kernel weight partly makes up.
    """
    return stop_yield_bu_ac(ears_per_ac, rows_around, thousand_kernels_per_bu)


def shrunk_weight(weight: float, from_pct: float, to_pct: float) -> float:
    """Return the weight at another moisture, in the unit given.

    ``W2 = W1 (100 - M1) / (100 - M2)``, source `purdue-water-shrink`.

    Raises
    ------
    ValueError
        If a moisture is not from 0 to under 100 %.
    """
    for moisture_pct in (from_pct, to_pct):
        if not 0 <= moisture_pct < _ALL_PCT:
            raise ValueError("moisture must be from 0 to under 100 %")
    return weight * (100 - from_pct) / (100 - to_pct)


def shrink_pct(from_pct: float, to_pct: float) -> float:
    """Return the weight lost by drying from one moisture to another [%]."""
    return 100 - shrunk_weight(100, from_pct, to_pct)


def dry_matter_lb_per_bu(*, figures: Figures | None = None) -> float:
    """Return the dry matter in a market bushel [lb]."""
    return shrunk_weight(*_bushel(figures), 0)


def market_bushels(
    volume_bu: float, test_weight_lb: float, *, figures: Figures | None = None
) -> float:
    """Return bushels by weight from bushels by volume and test weight [lb/bu]."""
    return volume_bu * test_weight_lb / _bushel(figures)[0]


def grain_weight_yield_bu_ac(
    ears_per_ac: float,
    shelled_lb_per_ear: float,
    moisture_pct: float,
    *,
    figures: Figures | None = None,
) -> float:
    """Return the yield from weighed grain, from black layer on [bu/ac].

    ``ears per acre x lb per ear x (100 - M) / (100 - 15.5) / 56``: physics, no kernel count.
    """
    bushel_lb, market_pct = _bushel(figures)
    return ears_per_ac * shrunk_weight(shelled_lb_per_ear, moisture_pct, market_pct) / bushel_lb


def ear_corn_lb_per_bu(moisture_pct: float, *, figures: Figures | None = None) -> float:
    """Return the pounds of ear corn, cob and all, that make a bushel of grain.

    ``1.411 x moisture + 46.2``, source `ohio-state-ear-weight`.

    Raises
    ------
    ValueError
        Below 15 % moisture, where the line reads too low.
    """
    known = figures or shipped_figures()
    if moisture_pct < known.number("ear_weight.least_moisture_pct"):
        raise ValueError("the ear weight line does not hold for corn this dry")
    slope = known.number("ear_weight.line_slope_lb_per_pct")
    return slope * moisture_pct + known.number("ear_weight.line_start_lb")


def ear_weight_yield_bu_ac(
    ears_per_ac: float, ear_lb: float, moisture_pct: float, *, figures: Figures | None = None
) -> float:
    """Return the yield from weighed ears, from black layer on [bu/ac].

    ``ears per acre x lb per ear / ear corn per bushel``, source `ohio-state-ear-weight`.
    """
    return ears_per_ac * ear_lb / ear_corn_lb_per_bu(moisture_pct, figures=figures)


def thousand_kernels_per_bu(
    g_per_100_kernels: float,
    moisture_pct: float | None = None,
    *,
    figures: Figures | None = None,
) -> float:
    """Return thousands of kernels per bushel from the weight of 100 kernels [g].

    Parameters
    ----------
    moisture_pct
        Moisture of the weighed kernels [%], 0 for oven-dry; None: already at market moisture.

    Notes
    -----
    ``56 lb in grams / (10 x grams per 100)``, source `penn-state-kernel-size`.
    """
    bushel_lb, market_pct = _bushel(figures)
    wet_pct = market_pct if moisture_pct is None else moisture_pct
    weight_g = shrunk_weight(g_per_100_kernels, wet_pct, market_pct)
    return bushel_lb * _G_PER_LB * 100 / weight_g / 1000


def field_correction(
    thousand_kernels: float, estimated_bu_ac: float, harvested_bu_ac: float
) -> float:
    """Return the thousands of kernels per bushel that would have made the estimate right.

    ``K x estimate / harvested``. It hides edges, acres and harvest loss as well as kernel weight.

    Raises
    ------
    ValueError
        If nothing was harvested.
    """
    if not harvested_bu_ac > 0:
        raise ValueError("without a harvest there is no correction")
    return thousand_kernels * estimated_bu_ac / harvested_bu_ac


def _bushel(figures: Figures | None) -> tuple[float, float]:
    known = figures or shipped_figures()
    return known.number("bushel.weight_lb"), known.number("bushel.moisture_pct")


def _mean(values: Sequence[float]) -> float:
    if not values:
        raise ValueError("no ears")
    return sum(values) / len(values)
