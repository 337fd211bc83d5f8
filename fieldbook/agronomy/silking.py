"""The day on which half of a field's plants had silked, from counts of plants.

`silk_curve` holds the curve and its fit. Counts of plants carry binomial error; plants that stand
together are more alike than that, so every range is at least this wide.
"""

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby
from math import inf

from fieldbook.agronomy.ranges import DayRange, Span, hull, meet
from fieldbook.agronomy.silk_curve import (
    SilkCount,
    allowed_drop,
    days_of_one,
    fit_curve,
    lost_by_pooling,
)
from fieldbook.figures import Figures, shipped_figures

FALLING, DO_NOT_MEET = "falling", "do-not-meet"


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
    alone = [days_of_one(one, known) for one in days]
    conflicts = _conflicts(days, alone, known)
    bounds = [own for one, own in zip(days, alone, strict=True) if one not in carrying]
    fitted = fit_curve(carrying, known) if carrying else None
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
        spread_days=fitted.spread_days if fitted and sure else None,
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


def _by_day(counts: Iterable[SilkCount]) -> list[SilkCount]:
    ordered = sorted(counts, key=lambda one: one.day)
    return [
        SilkCount(day=day, silked=sum(c.silked for c in group), of=sum(c.of for c in group))
        for day, group in ((day, list(g)) for day, g in groupby(ordered, key=lambda c: c.day))
    ]


def _conflicts(
    days: Sequence[SilkCount], alone: Sequence[DayRange], figures: Figures
) -> tuple[SilkConflict, ...]:
    drop = allowed_drop(figures)
    found = []
    for index, second in enumerate(days):
        for first, own in zip(days[:index], alone[:index], strict=True):
            if first.share > second.share and lost_by_pooling(first, second) > drop:
                found.append(SilkConflict(kind=FALLING, first=first, second=second))
            elif meet([own, alone[index]]) is None:
                found.append(SilkConflict(kind=DO_NOT_MEET, first=first, second=second))
    return tuple(found)


def _moved_into(day: datetime.date, within: DayRange) -> datetime.date:
    after = max(day, within.earliest or day)
    return min(after, within.latest or after)


def _days_between(first: datetime.date | None, second: datetime.date | None) -> int | None:
    return (second - first).days if first and second else None
