"""Shares of plants with their interval, against a line, and between two visits."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import ceil, floor, fsum, hypot
from statistics import NormalDist

from fieldbook.agronomy.sampling import t_quantile
from fieldbook.figures import Figures, shipped_figures

ABOVE, BELOW, CANNOT_TELL = "above", "below", "cannot-tell"


@dataclass(frozen=True, kw_only=True)
class Count:
    """At one place, how many plants (or ears) of those looked at show something."""

    hits: int
    looked: int

    def __post_init__(self) -> None:
        """Refuse more hits than plants."""
        if not 0 <= self.hits <= self.looked:
            raise ValueError("hits must lie between none and all that were looked at")


@dataclass(frozen=True, kw_only=True)
class Interval:
    """From where to where a share may lie [%]."""

    low_pct: float
    high_pct: float


@dataclass(frozen=True, kw_only=True)
class Share:
    """A share over places and how far to trust it.

    ``plain`` takes every plant as drawn on its own, so the truth is at least this wide.
    ``times_wider`` is the variance between places over the one that chance alone makes, None
    where it cannot be told. ``wide`` is the interval from that spread; None where places differ
    no more than chance makes them.
    """

    hits: int
    looked: int
    places: int
    pct: float
    plain: Interval
    times_wider: float | None
    wide: Interval | None

    @property
    def sure(self) -> Interval:
        """The interval to decide by: the wide one where places differ."""
        return self.wide or self.plain


@dataclass(frozen=True, kw_only=True)
class More:
    """How much more looking decides, if the share stays as it is.

    ``places`` is None where the plain interval was used: any place will do.
    """

    plants: int
    places: int | None


@dataclass(frozen=True, kw_only=True)
class Change:
    """How a share moved from one visit to the next [points], and whether it can be told."""

    points: float
    low: float
    high: float

    @property
    def told(self) -> str:
        """``above`` (it rose), ``below`` (it fell) or ``cannot-tell``."""
        return _side(self.low, self.high, 0)


def share(counts: Iterable[Count], *, figures: Figures | None = None) -> Share | None:
    """Return the share over places; None where nothing was looked at.

    Notes
    -----
    Source `wilson-1927` for the plain interval. The wide one is Wilson's with the plants divided
    by how many times wider places spread, and t(places - 1) for the normal quantile (derived).
    """
    known = figures or shipped_figures()
    seen = [count for count in counts if count.looked]
    hits, looked = sum(one.hits for one in seen), sum(one.looked for one in seen)
    if not looked:
        return None
    spread = _times_wider(seen, known)
    wide = None
    if spread is not None and spread > 1:
        quantile = t_quantile(len(seen) - 1, figures=known)
        wide = wilson(hits / looked, looked / spread, quantile)
    return Share(
        hits=hits,
        looked=looked,
        places=len(seen),
        pct=100 * hits / looked,
        plain=wilson(hits / looked, looked, _normal(known)),
        times_wider=spread,
        wide=wide,
    )


def wilson(proportion: float, n: float, quantile: float) -> Interval:
    """Return Wilson's interval of a proportion [%], source `wilson-1927`.

    ``(p + z^2/2n +- z sqrt(p (1 - p)/n + z^2/4n^2)) / (1 + z^2/n)``; ``n`` need not be whole.

    Raises
    ------
    ValueError
        If the proportion is not from 0 to 1 or n is not above zero.
    """
    if not 0 <= proportion <= 1 or not n > 0:
        raise ValueError("a proportion from 0 to 1 of more than nothing is needed")
    weight = quantile**2 / n
    middle = proportion + weight / 2
    half = (weight * (proportion * (1 - proportion) + weight / 4)) ** 0.5
    low, high = (middle - half) / (1 + weight), (middle + half) / (1 + weight)
    # Nothing seen leaves a bound at the very end, which rounding must not move.
    return Interval(
        low_pct=100 * low if proportion > 0 else 0.0,
        high_pct=100 * high if proportion < 1 else 100.0,
    )


def told(found: Share, line_pct: float) -> str:
    """Return where a share lies against a line: ``above``, ``below`` or ``cannot-tell``."""
    return _side(found.sure.low_pct, found.sure.high_pct, line_pct)


def more_to_tell(found: Share, line_pct: float, *, figures: Figures | None = None) -> More | None:
    """Return how much more looking tells a share from a line; nothing more where it is told.

    The share is taken to stay as it is, so that many is as likely too few as too many. None where
    it lies on the line, and for a line at 0 or 100 % that is not told yet.

    Notes
    -----
    A line is outside Wilson's interval when ``n > q^2 L (1 - L) / (p - L)^2``; n is divided by how
    many times wider places spread, and then q = t(places - 1) is found by iteration.
    """
    known = figures or shipped_figures()
    whole = found.wide is None
    if told(found, line_pct) != CANNOT_TELL:
        return More(plants=0, places=None if whole else 0)
    line, gap = line_pct / 100, (found.pct - line_pct) / 100
    if gap == 0 or not 0 < line < 1:
        return None
    ratio = line * (1 - line) / gap**2
    if whole:
        return More(plants=_beyond(ratio * _normal(known) ** 2) - found.looked, places=None)
    return _more_places(found, ratio * (found.times_wider or 1), known)


def change(before: Share, after: Share) -> Change:
    """Return how a share moved between two visits, with its interval [points].

    Source `newcombe-1998`, method 10: from the Wilson interval of each share.
    """
    points = after.pct - before.pct
    down = hypot(after.pct - after.sure.low_pct, before.sure.high_pct - before.pct)
    up = hypot(after.sure.high_pct - after.pct, before.pct - before.sure.low_pct)
    return Change(points=points, low=points - down, high=points + up)


def _times_wider(seen: Sequence[Count], figures: Figures) -> float | None:
    """Return the variance of the share between places over the binomial one."""
    places, looked = len(seen), sum(one.looked for one in seen)
    proportion = sum(one.hits for one in seen) / looked
    chance = proportion * (1 - proportion) / looked
    if places < figures.number("share.least_places") or chance == 0:
        return None
    # Summed exactly, so that the order of places cannot matter.
    squares = fsum((one.hits - proportion * one.looked) ** 2 for one in seen)
    return places / (places - 1) * squares / looked**2 / chance


def _more_places(found: Share, least: float, figures: Figures) -> More:
    each = found.looked / found.places
    places = max(found.places + 1, floor(least * _normal(figures) ** 2 / each))
    while t_quantile(places - 1, figures=figures) ** 2 * least >= places * each:
        places += 1
    more = places - found.places
    return More(plants=ceil(more * each), places=more)


def _beyond(least: float) -> int:
    """Return the first whole number above one."""
    return floor(least) + 1


def _side(low: float, high: float, line: float) -> str:
    if low > line:
        return ABOVE
    return BELOW if high < line else CANNOT_TELL


def _normal(figures: Figures) -> float:
    return NormalDist().inv_cdf((1 + figures.number("sampling.confidence_pct") / 100) / 2)
