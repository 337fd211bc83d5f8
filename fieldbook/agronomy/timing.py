"""When a gap on the ear was made: from the position of its edge to a range of days.

Silks come out first near the base third and last at the tip, and a silk takes pollen for about a
week. So the edge of a gap points to days after the plant's first silk. Every figure behind it is a
low, typical and high one, and all of that range is carried into the days. The method is ours
(derived) and is tested on simulated ears only.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from statistics import fmean, stdev

from fieldbook.agronomy.ears import BASE, SCATTERED, TIP_ABORTED, TIP_UNSET, EarRings
from fieldbook.agronomy.gaps import ONE_SIDED
from fieldbook.agronomy.ranges import DayRange, Span, Triple
from fieldbook.figures import Figures, shipped_figures

POLLEN_LATE, SILKS_LOST = "pollen-late", "early-silks-lost"
POLLEN_ENDED, SILKS_STOPPED = "pollen-ended", "silk-growth-stopped"
EARLY_LOSS = "lost-in-first-days"
STRESS_FIRST, STRESS_LATER = "stress-in-two-weeks", "stress-in-four-weeks"
POLLEN_BROKEN, SIDE_STRESS, SILKS_DRAPED = "pollen-broken", "side-stress", "silks-draped"


@dataclass(frozen=True, kw_only=True)
class Edge:
    """Where a kind of gap ends or begins along the ears that show it, 0 butt to 1 tip.

    ``mean``, least and most over ``ears``; ``sd`` is None for one ear. An edge at the same place
    on neighbouring ears is a sign of one event on one day.
    """

    place: str
    mean: float
    low: float
    high: float
    sd: float | None
    ears: int


@dataclass(frozen=True, kw_only=True)
class DatedReading:
    """One reading of a gap, the days after first silk and the days on the calendar it points to.

    ``within`` is the outer range, with every figure at its ends. ``likely`` holds the day in nine
    fields of ten, and is None where the reading is a stretch of days or the ears were not weighed
    one by one. ``told`` says that the narrower of the two is narrow enough to be called a date;
    if not, ``why`` says what stands against it.
    """

    place: str
    reading: str
    days: Span
    within: DayRange
    likely: DayRange | None = None
    told: bool = False
    why: str | None = None


def silk_out_days(
    position: float, *, span_days: float, first_position: float, base_lag_days: float
) -> float:
    """Return the days from a plant's first silk to the silk of a ring.

    ``D (x - x0) / (1 - x0)`` from ``x0`` to the tip, ``b (x0 - x) / x0`` below it (derived).

    Parameters
    ----------
    position
        ``x``, the share of the rings below this one: 0 butt, 1 tip.
    span_days, first_position, base_lag_days
        ``D``, ``x0`` and ``b``.

    Raises
    ------
    ValueError
        If a position lies outside the ear, or the first silk not inside it.
    """
    if not 0 <= position <= 1 or not 0 < first_position < 1:
        raise ValueError("a position on the ear lies between butt and tip")
    if position >= first_position:
        return span_days * (position - first_position) / (1 - first_position)
    return base_lag_days * (first_position - position) / first_position


def silk_out_range(position: Span, *, figures: Figures | None = None) -> Span:
    """Return the fewest and most days from first silk to the silk of a ring, exactly.

    The days grow with the span and with the lag, and away from the first position on either
    side. So the most is at a corner of the four ranges, and the fewest is zero where the ring may
    be the first itself, else at a corner too.
    """
    known = figures or shipped_figures()
    span, first, lag = (
        Triple.of(f"silk.{key}", known) for key in ("span_days", "first_position", "base_lag_days")
    )
    corners = [
        silk_out_days(x, span_days=d, first_position=x0, base_lag_days=b)
        for x, d, x0, b in product(
            (position.low, position.high),
            (span.low, span.high),
            (first.low, first.high),
            (lag.low, lag.high),
        )
    ]
    may_be_first = position.low <= first.high and first.low <= position.high
    return Span(low=0.0 if may_be_first else min(corners), high=max(corners))


def edge(ears: Sequence[EarRings], place: str) -> Edge | None:
    """Return where gaps of a place have their edge, over the complete ears that show one.

    The edge is the end of a base gap and the beginning of a tip gap; None where no ear shows it.
    """
    at = [x for ear in ears if (x := _edge_position(ear, place)) is not None]
    if not at:
        return None
    return Edge(
        place=place,
        mean=fmean(at),
        low=min(at),
        high=max(at),
        sd=stdev(at) if len(at) > 1 else None,
        ears=len(at),
    )


def readings(
    found: Edge,
    silked: DayRange,
    *,
    plant_spread_days: float | None = None,
    figures: Figures | None = None,
) -> tuple[DatedReading, ...]:
    """Return every reading of a gap with the days it points to, for the mean edge.

    A base gap ending at ``x1``: the first adequate pollen came at ``e(x1) + Lr``, or the silks out
    before ``e(x1)`` were lost. A tip gap never set from ``x2`` on: the last adequate pollen came at
    ``e(x2)``; or silk growth stopped, up to two days after that (source `oury-2016`); or kernels
    were lost so early that nothing is left of them. A tip aborted from ``x2`` on: it was
    pollinated, so look at the two, at most four weeks after.

    Parameters
    ----------
    silked
        The days on which half of the plants had silked.
    plant_spread_days
        Days from the first to the last 5 % of plants to silk, where counts tell it; None: the
        typical figure. Half of it widens every range to either side, since an ear may stand on an
        early or a late plant.
    """
    known = figures or shipped_figures()
    spread = Triple.of("silk.plant_spread_days", known).typical
    half = (spread if plant_spread_days is None else plant_spread_days) / 2
    out = silk_out_range(Span(low=found.mean, high=found.mean), figures=known)
    return tuple(
        DatedReading(
            place=found.place,
            reading=name,
            days=days,
            within=silked.moved(days.low - half, days.high + half),
        )
        for name, days in _days(found.place, out, known)
    )


def side_and_scatter_readings(
    place: str,
    silked: DayRange,
    *,
    plant_spread_days: float | None = None,
    figures: Figures | None = None,
) -> tuple[DatedReading, ...]:
    """Return the readings of gaps without an edge: scattered ones and one-sided ears.

    Scattered: silks clipped or pollen broken off at any time while silks took pollen. One-sided:
    hard stress two to four weeks after, or silks that shaded others (the source calls that
    speculation) while they took pollen.

    Raises
    ------
    ValueError
        For a place that has an edge.
    """
    if place not in (SCATTERED, ONE_SIDED):
        raise ValueError(f"gaps of the {place} have an edge")
    whole = Edge(place=place, mean=1.0, low=1.0, high=1.0, sd=None, ears=0)
    return readings(whole, silked, plant_spread_days=plant_spread_days, figures=figures)


def _days(place: str, out: Span, figures: Figures) -> list[tuple[str, Span]]:
    """Return the days after a plant's first silk that each reading of a gap points to."""
    lasts = Triple.of("silk.receptive_days", figures)
    taking = Span(low=0.0, high=out.high + lasts.high)
    if place == BASE:
        first_pollen = Span(low=out.low + lasts.low, high=taking.high)
        return [(POLLEN_LATE, first_pollen), (SILKS_LOST, Span(low=0.0, high=out.high))]
    if place == SCATTERED:
        return [(POLLEN_BROKEN, taking)]
    if place == ONE_SIDED:
        soonest, latest = figures.numbers("silk.one_sided_days")
        return [(SIDE_STRESS, Span(low=soonest, high=latest)), (SILKS_DRAPED, taking)]
    tip = silk_out_range(Span(low=1.0, high=1.0), figures=figures)
    if place == TIP_ABORTED:
        weeks = zip(
            (STRESS_FIRST, STRESS_LATER), figures.numbers("silk.abortion_days"), strict=True
        )
        return [(name, Span(low=out.low, high=tip.high + days)) for name, days in weeks]
    lead = figures.number("silk.growth_stop_lead_days")
    soon = figures.number("silk.early_loss_days")
    return [
        (POLLEN_ENDED, out),
        (SILKS_STOPPED, Span(low=out.low, high=out.high + lead)),
        (EARLY_LOSS, Span(low=out.low, high=tip.high + soon)),
    ]


def _edge_position(ear: EarRings, place: str) -> float | None:
    if not ear.rings:
        return None
    unset, aborted = ear.tip_unset or 0.0, ear.tip_aborted or 0.0
    if place == BASE:
        return ear.base / ear.rings if ear.base else None
    if place == TIP_UNSET:
        return 1 - unset / ear.rings if unset else None
    if place == TIP_ABORTED:
        return 1 - (unset + aborted) / ear.rings if aborted else None
    raise ValueError(f"gaps of {place!r} have no edge")
