"""The fungicide question: the window, what must be gained, and how likely that is.

It weighs and never says to spray: label, licensed applicator and intervals stand beside it.
"""

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf
from statistics import NormalDist

from fieldbook.agronomy.stages import BEFORE_SILK, R_STAGES
from fieldbook.figures import Figures, shipped_figures

Span = tuple[datetime.date, datetime.date]

BEFORE, OPEN, LAST, LATE, CLOSED = "before", "open", "last", "late", "closed"
FITS, FITS_NOT, CANNOT_TELL = "fits", "fits-not", "cannot-tell"
PUBLISHED_GAINS = (
    "fungicide.gain_iowa_bu_ac",
    "fungicide.gain_illinois_bu_ac",
    "fungicide.gain_illinois_high_disease_bu_ac",
)
"""Figures to choose a mean gain from, each with its source."""

_STAGES = (*BEFORE_SILK, *R_STAGES)
_STATES = {
    "V": (BEFORE, "adjuvant-caution"),
    "VT": (OPEN, "main-window"),
    "R1": (OPEN, "main-window"),
    "R2": (OPEN, "main-window"),
    "R3": (LAST, "only-if-rising"),
    "R4": (LATE, "sources-differ-on-southern-rust"),
    "R5": (CLOSED, "too-late"),
    "R6": (CLOSED, "too-late"),
}
_END = "R3"
_ALL_PCT = 100


@dataclass(frozen=True, kw_only=True)
class SprayWindow:
    """Where the window stands on a day.

    ``state`` is that of the stage surely reached, ``at_most`` that of the furthest stage that may
    be reached; they are equal where the day is certain. ``days_to_r3`` are fewest and most, 0
    where it may be there; None where no date is known.
    """

    state: str
    at_most: str
    reasons: tuple[str, ...]
    days_to_r3: tuple[int, int] | None


@dataclass(frozen=True, kw_only=True)
class SeverityClass:
    """What trials with that severity in the untreated check gained.

    From ``from_pct`` up to, not with, ``to_pct`` (None: no end) of the ear leaf; read about four
    weeks after spraying. ``share_pct`` of trials gained at least ``gain_bu_ac``.
    """

    from_pct: float
    to_pct: float | None
    mean_bu_ac: float
    share_pct: float
    gain_bu_ac: float


@dataclass(frozen=True, kw_only=True)
class PreHarvest:
    """Whether the interval on a label ends before harvest.

    ``spare_days`` are fewest and most days left over; the most is None where harvest has no
    latest day.
    """

    verdict: str
    first_day: datetime.date
    spare_days: tuple[int, int | None]


@dataclass(frozen=True, kw_only=True)
class PriceCostTable:
    """Break-even gains, a row for each cost [$/ac] and a column for each price [$/bu]."""

    costs_per_ac: tuple[float, ...]
    prices_per_bu: tuple[float, ...]
    break_even_bu_ac: tuple[tuple[float, ...], ...]


def spray_window(
    as_of: datetime.date, stages: Mapping[str, Span], *, seen: str | None = None
) -> SprayWindow | None:
    """Return where the window stands, common practice from VT to R3; None with nothing known.

    Parameters
    ----------
    stages
        Earliest and latest day of each stage known, from the forecast. Without days for VT the
        window opens at R1, unless VT was seen.
    seen
        The stage last seen in the field, which is surely reached.

    Raises
    ------
    ValueError
        For a stage that does not exist.
    """
    strange = {*stages, seen or "V"} - set(_STAGES)
    if strange:
        raise ValueError(f"no stage {', '.join(sorted(strange))}")
    if not stages and seen is None:
        return None
    least = _furthest([seen or "V", *(one for one, span in stages.items() if span[1] <= as_of)])
    most = _furthest([least, *(one for one, span in stages.items() if span[0] <= as_of)])
    between = _STAGES[_STAGES.index(least) : _STAGES.index(most) + 1]
    return SprayWindow(
        state=_STATES[least][0],
        at_most=_STATES[most][0],
        reasons=tuple(dict.fromkeys(_STATES[stage][1] for stage in between)),
        days_to_r3=_days_to_end(as_of, stages, least),
    )


def break_even_bu_ac(cost_per_ac: float, price_per_bu: float) -> float:
    """Return the gain that pays for a treatment [bu/ac], source `illinois-net-returns`.

    ``cost per acre / net price per bushel``; the cost is product, application, drying and tracks.

    Raises
    ------
    ValueError
        If cost or price is not above zero.
    """
    if not (0 < cost_per_ac < inf and 0 < price_per_bu < inf):
        raise ValueError("cost and price must be above zero")
    return cost_per_ac / price_per_bu


def chance_to_break_even(break_even: float, mean_bu_ac: float, sd_bu_ac: float) -> float:
    """Return the chance that a field gains at least the break-even [0 to 1].

    ``1 - Phi((break-even - mean) / sd)``: a new field drawn from the fields of the trials.

    Parameters
    ----------
    mean_bu_ac, sd_bu_ac
        Mean gain over trials and its spread between them; no spread is shipped, since none was
        found on a readable page.

    Raises
    ------
    ValueError
        If the spread is not above zero.
    """
    if not sd_bu_ac > 0:
        raise ValueError("the spread between trials must be above zero")
    # The upper tail as a lower one keeps its digits where the chance is small.
    return NormalDist().cdf((mean_bu_ac - break_even) / sd_bu_ac)


def severity_classes(*, figures: Figures | None = None) -> tuple[SeverityClass, ...]:
    """Return the published classes from the least severe, source `illinois-fungicide-2008-10`."""
    known = figures or shipped_figures()
    starts = known.numbers("fungicide.severity_from_pct")
    means = known.numbers("fungicide.severity_gain_bu_ac")
    shares = known.numbers("fungicide.severity_share_pct")
    ends = (*starts[1:], None)
    return tuple(
        SeverityClass(
            from_pct=start,
            to_pct=end,
            mean_bu_ac=mean,
            share_pct=share,
            gain_bu_ac=known.number("fungicide.severity_least_gain_bu_ac"),
        )
        for start, end, mean, share in zip(starts, ends, means, shares, strict=True)
    )


def severity_class(severity_pct: float, *, figures: Figures | None = None) -> SeverityClass:
    """Return the class of a severity: context, since severity then was read weeks later.

    Raises
    ------
    ValueError
        If the severity is not from 0 to 100 %.
    """
    if not 0 <= severity_pct <= _ALL_PCT:
        raise ValueError("a severity lies from 0 to 100 %")
    return max(
        (one for one in severity_classes(figures=figures) if one.from_pct <= severity_pct),
        key=lambda one: one.from_pct,
    )


def pre_harvest(
    sprayed: datetime.date,
    interval_days: int,
    harvest_from: datetime.date,
    harvest_to: datetime.date | None,
) -> PreHarvest:
    """Return whether the interval typed in from the label is over by harvest.

    It fits where harvest can only begin on or after its last day, and fits not where harvest is
    sure to begin before.

    Parameters
    ----------
    harvest_from, harvest_to
        Earliest and latest first day of harvest; None: it may be any later day.

    Raises
    ------
    ValueError
        If the interval is negative, or the latest day is before the earliest.
    """
    if interval_days < 0 or (harvest_to is not None and harvest_to < harvest_from):
        raise ValueError("an interval from 0 days and harvest days in order are needed")
    first_day = sprayed + datetime.timedelta(days=interval_days)
    least = (harvest_from - first_day).days
    most = None if harvest_to is None else (harvest_to - first_day).days
    verdict = FITS if least >= 0 else CANNOT_TELL
    if most is not None and most < 0:
        verdict = FITS_NOT
    return PreHarvest(verdict=verdict, first_day=first_day, spare_days=(least, most))


def price_cost_table(
    costs_per_ac: Sequence[float] | None = None,
    prices_per_bu: Sequence[float] | None = None,
    *,
    figures: Figures | None = None,
) -> PriceCostTable:
    """Return break-even gains over costs and prices; None: the published range of each."""
    known = figures or shipped_figures()
    usual_costs = known.numbers("fungicide.table_costs_per_ac")
    usual_prices = known.numbers("fungicide.table_prices_per_bu")
    costs = usual_costs if costs_per_ac is None else tuple(costs_per_ac)
    prices = usual_prices if prices_per_bu is None else tuple(prices_per_bu)
    return PriceCostTable(
        costs_per_ac=costs,
        prices_per_bu=prices,
        break_even_bu_ac=tuple(
            tuple(break_even_bu_ac(cost, price) for price in prices) for cost in costs
        ),
    )


def _furthest(stages: Sequence[str]) -> str:
    return max(stages, key=_STAGES.index)


def _days_to_end(
    as_of: datetime.date, stages: Mapping[str, Span], least: str
) -> tuple[int, int] | None:
    if _STAGES.index(least) >= _STAGES.index(_END):
        return 0, 0
    if _END not in stages:
        return None
    fewest, most = (max((day - as_of).days, 0) for day in stages[_END])
    return fewest, most
