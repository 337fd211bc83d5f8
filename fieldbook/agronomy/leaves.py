"""Leaf disease as counted: how many plants, how high up, how severe, by disease and visit."""

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from fieldbook.agronomy.wilson import Change, Count, Share, change, share
from fieldbook.figures import Figures

HIGHEST_FIRST = ("above-2", "above-1", "ear-leaf", "below-1", "below-2", "below-3", "lower")
NONE, UNKNOWN = "none", "unknown"


@dataclass(frozen=True, kw_only=True)
class LeafCount:
    """What one stop of one visit shows of one disease; None: not looked at.

    ``with_it`` and ``high`` are plants of those ``looked`` at, ``high`` with lesions on the third
    leaf below the ear leaf or higher. ``severity_pct`` is a mean over the plants looked at.
    """

    visit_date: datetime.date
    stop: int
    disease: str
    looked: int | None = None
    with_it: int | None = None
    high: int | None = None
    highest_leaf: str | None = None
    severity_pct: float | None = None


@dataclass(frozen=True, kw_only=True)
class LeafReading:
    """One disease at one visit, over its stops.

    A stop that was looked at without a word of the disease counts as free of it. Stops that left
    a part open are missing from that part alone: ``high.places`` may be under
    ``incidence.places``. ``severity_pct`` is the mean, ``worst_pct`` the highest, over
    ``severity_stops``, clean ones among them. A stop with the disease whose severity nobody read
    leaves neither; ``severity_stops`` then counts the stops with the disease that were read.
    """

    disease: str
    visit_date: datetime.date
    incidence: Share | None
    high: Share | None
    highest_leaf: str | None
    severity_pct: float | None
    worst_pct: float | None
    severity_stops: int


def leaf_readings(
    counts: Iterable[LeafCount], *, figures: Figures | None = None
) -> tuple[LeafReading, ...]:
    """Sum up the stops, by disease and then visit; diseases that nobody wrote down are left out."""
    rows = list(counts)
    diseases = sorted({row.disease for row in rows} - {NONE})
    visits = sorted({row.visit_date for row in rows})
    return tuple(
        leaf_reading(disease, [row for row in rows if row.visit_date == day], figures=figures)
        for disease in diseases
        for day in visits
    )


def leaf_reading(
    disease: str, visit: Sequence[LeafCount], *, figures: Figures | None = None
) -> LeafReading:
    """Sum up one disease over the stops of one visit, whether or not it was seen.

    Raises
    ------
    ValueError
        If the rows are of several visits, or of none.
    """
    days = {row.visit_date for row in visit}
    if len(days) != 1:
        raise ValueError("the rows of one visit are needed")
    rows = [_at_stop(disease, visit, stop) for stop in sorted({row.stop for row in visit})]
    severity_pct, worst_pct, severity_stops = _severity(rows)
    leaves = [row.highest_leaf for row in rows if row.highest_leaf]
    return LeafReading(
        disease=disease,
        visit_date=days.pop(),
        incidence=share(_counts(rows, [row.with_it for row in rows]), figures=figures),
        high=share(_counts(rows, [_high(row) for row in rows]), figures=figures),
        highest_leaf=min(leaves, key=HIGHEST_FIRST.index, default=None),
        severity_pct=severity_pct,
        worst_pct=worst_pct,
        severity_stops=severity_stops,
    )


def trend(readings: Sequence[LeafReading]) -> Change | None:
    """Return how incidence moved over the last two visits that read it; None with fewer."""
    known = [one for one in sorted(readings, key=lambda one: one.visit_date) if one.incidence]
    if len({one.disease for one in known}) > 1:
        raise ValueError("a trend is of one disease")
    shares = [one.incidence for one in known if one.incidence]
    return change(shares[-2], shares[-1]) if len(shares) > 1 else None


def _at_stop(disease: str, visit: Sequence[LeafCount], stop: int) -> LeafCount:
    """Return the stop's row of a disease, with most plants where it has two; else a clean one."""
    rows = [row for row in visit if row.stop == stop]
    own = [row for row in rows if row.disease == disease]
    if own:
        return max(own, key=lambda row: row.with_it or 0)
    looked = max((row.looked for row in rows if row.looked is not None), default=None)
    return LeafCount(
        visit_date=rows[0].visit_date, stop=stop, disease=disease, looked=looked, with_it=0
    )


def _counts(rows: Sequence[LeafCount], hits: Sequence[int | None]) -> list[Count]:
    return [
        Count(hits=hit, looked=row.looked)
        for row, hit in zip(rows, hits, strict=True)
        if hit is not None and row.looked is not None
    ]


def _high(row: LeafCount) -> int | None:
    """Return the plants with lesions high up; none where no plant, or no higher leaf, has any."""
    if row.high is None and (row.with_it == 0 or row.highest_leaf == HIGHEST_FIRST[-1]):
        return 0
    return row.high


def _severity(rows: Sequence[LeafCount]) -> tuple[float | None, float | None, int]:
    """Return mean, highest and number of stops; clean stops count, but say nothing of the sick."""
    sick = [row for row in rows if row.with_it != 0]
    read = [row for row in sick if row.severity_pct is not None]
    known = [(row.looked, row.severity_pct or 0.0) for row in rows if row.looked]
    if len(read) < len(sick) or not known:
        return None, None, len(read)
    plants = sum(looked for looked, _ in known)
    mean = sum(looked * pct for looked, pct in known) / plants
    return mean, max(pct for _, pct in known), len(known)
