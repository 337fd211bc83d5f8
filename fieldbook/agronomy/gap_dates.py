"""The likely days behind a gap: a 90 % range from all ears, inside the exact outer range.

A gap's edge on one ear tells a day only if that plant's own first silk is known, and it is not.
Over many ears the plants' dates average out, ears without the gap and bare cobs bound the day from
either side, and how far the edges lie apart tells how uneven the plants were. What stays unknown
is drawn from its low, typical and high figure, and every draw counts by how well it explains the
ears. The method is ours (derived) and is tested on simulated ears only.
"""

import datetime
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fieldbook.agronomy.ears import BASE
from fieldbook.agronomy.gap_edges import EdgesSeen
from fieldbook.agronomy.ranges import DayRange, Triple
from fieldbook.figures import Figures, shipped_figures

Numbers = NDArray[np.float64]

_DRAWS, _SEED = 6000, 1
_SDS_5_TO_95 = 3.29  # standard deviations between the first and the last 5 % of a normal
_EDGE_NOISE = 0.03  # of an edge, as a share of the rings: one ring counted wrong, and chance
_FROM_DAY, _TO_DAY = -3.0, 11.0  # an edge's silks on an average plant, after the field's silking
_ANYWHERE = 0.2  # share of the draws of that day made without regard to the ears
_LEAST_SD = 0.25  # of the silking date, where its range is one day
_LEAST_DRAWN = 0.15  # days of spread that trial days have beyond their mean's own; weights undo it
_NOON = 0.5  # plants with silks are counted by day; the middle of a day stands for it


@dataclass(frozen=True, kw_only=True, eq=False)
class Explained:
    """Draws of what is unknown, weighed by how well they explain the ears.

    Attributes
    ----------
    days
        From the field's silking (half of its plants) to the silks at the edge on an average
        plant [days]; shape (draws,).
    weights
        Sum to 1; shape (draws,).
    receptive
        How long silks take pollen [days]; shape (draws,).
    log_evidence
        Log of the mean likelihood: of two explanations of the same edges, the higher is the better.
    """

    days: Numbers
    weights: Numbers
    receptive: Numbers
    log_evidence: float


@dataclass(frozen=True, kw_only=True, eq=False)
class _Unknown:
    """Draws of the figures behind an ear's timeline, each of shape (draws,)."""

    span: Numbers
    first: Numbers
    lag: Numbers
    receptive: Numbers
    plant_sd: Numbers
    stop_sd: Numbers

    @property
    def pace(self) -> Numbers:
        """Share of the rings that silk in a day, above the first."""
        return (1 - self.first) / self.span

    def age_at(self, position: float) -> Numbers:
        """Return the days from a plant's first silk to that of a ring; below zero under it."""
        return (position - self.first) / self.pace

    def slope_lost(self, lost: float) -> Numbers:
        """Return how much more of an ear's lower part is lost in a day, for a share lost."""
        both_ways = self.pace + self.first / np.maximum(self.lag, 1e-2)
        return np.where(lost < self.first + self.pace * self.lag, both_ways, self.pace)

    def age_lost(self, lost: float) -> Numbers:
        """Return the age to which silks were lost if that share of the rings is, from the base up.

        Loss begins at the first silks and grows both ways until it reaches the butt.
        """
        slope = self.slope_lost(lost)
        return np.where(slope > self.pace, lost / slope, self.age_at(lost))


def explained(
    seen: EdgesSeen, *, same_age: bool = False, figures: Figures | None = None
) -> Explained:
    """Weigh what is unknown by how well it explains the edges of a field.

    On each plant the edge lies at silks of one age: ``y = u - d``, where ``u`` is that age on an
    average plant and ``d`` how much later this one silked, normal with the spread between plants.
    The edges give ``y`` by the ear's timeline; an ear without a gap and a bare cob bound it. ``u``
    may be any day; the likelihood is that of a censored normal (derived).

    Parameters
    ----------
    same_age
        Silks stopped at nearly the same age on every plant, whatever the day on which it silked.
    """
    from scipy.special import log_ndtr

    known = figures or shipped_figures()
    rng = np.random.default_rng(_SEED)
    unknown = _unknown(rng, known)
    spread = unknown.stop_sd if same_age else unknown.plant_sd
    sd = np.sqrt(spread**2 + (_EDGE_NOISE / unknown.pace) ** 2)
    ages, slopes, (low, below), (high, above) = _bounds(seen, unknown)
    ears = len(seen.at) + below + above
    middle = (ages.sum(axis=0) + below * (low - sd / 2) + above * (high + sd / 2)) / ears
    days, log_weight = _proposed(rng, middle, sd / np.sqrt(ears) + _LEAST_DRAWN)
    log_weight -= (np.log(slopes * sd) + ((ages - days) / sd) ** 2 / 2).sum(axis=0)
    log_weight += below * log_ndtr((low - days) / sd) + above * log_ndtr((days - high) / sd)
    best = log_weight.max()
    weights = np.exp(log_weight - best)
    return Explained(
        days=days,
        weights=weights / weights.sum(),
        receptive=unknown.receptive,
        log_evidence=float(best + np.log(weights.mean())),
    )


def likely_days(
    found: Explained, after: Numbers | float, silked: DayRange, *, figures: Figures | None = None
) -> DayRange | None:
    """Return the fewest days in a row that hold what is searched for with 90 % chance.

    The day is that of the silks at the edge, plus the timeline's own error, plus `after` days.

    Parameters
    ----------
    silked
        The days on which half of the plants had silked; its ends are taken as 95 % limits of a
        normal. None is returned where it has an open end.
    """
    if silked.earliest is None or silked.latest is None:
        return None
    known = figures or shipped_figures()
    rng = np.random.default_rng(_SEED + 1)
    width = (silked.latest - silked.earliest).days
    half = width / 2 + _NOON + max(width / 4, _LEAST_SD) * np.clip(rng.normal(size=_DRAWS), -2, 2)
    error = known.number("silk.timeline_error_days") * rng.normal(size=_DRAWS)
    day = np.floor(half + found.days + error + after).astype(int)
    first, last = _shortest(day, found.weights, known.number("cause.likely_pct") / 100)
    return DayRange(
        earliest=silked.earliest + datetime.timedelta(days=first),
        latest=silked.earliest + datetime.timedelta(days=last),
    )


def _drawn(rng: np.random.Generator, figure: Triple) -> Numbers:
    """Draw a figure: half on either side of the typical one, half as dense at the ends as there.

    On a side the density is ``4/3 (1 - t/2)`` of the way ``t`` to the end, so ``t = 2 -
    sqrt(4 - 3 q)`` at the share ``q`` of its draws.
    """
    share = 2 * rng.random(_DRAWS) - 1
    way = 2 - np.sqrt(4 - 3 * np.abs(share))
    end = np.where(share < 0, figure.low, figure.high)
    drawn: Numbers = figure.typical + way * (end - figure.typical)
    return drawn


def _unknown(rng: np.random.Generator, figures: Figures) -> _Unknown:
    def drawn(key: str) -> Numbers:
        return _drawn(rng, Triple.of(f"silk.{key}", figures))

    return _Unknown(
        span=drawn("span_days"),
        first=drawn("first_position"),
        lag=drawn("base_lag_days"),
        receptive=drawn("receptive_days"),
        plant_sd=drawn("plant_spread_days") / _SDS_5_TO_95,
        stop_sd=drawn("growth_stop_spread_days"),
    )


def _bounds(
    seen: EdgesSeen, unknown: _Unknown
) -> tuple[Numbers, Numbers, tuple[Numbers, int], tuple[Numbers, int]]:
    """Return ages at the edges, rings to a day there, and ears below one age and above another."""
    nothing = np.empty((0, _DRAWS))
    if seen.place == BASE:
        ages = [unknown.age_lost(x) for x in seen.at]
        slopes = [unknown.slope_lost(x) for x in seen.at]
        low = unknown.age_lost(seen.free), seen.without
        high = unknown.age_lost(max(seen.full_to - seen.hardly, 0.0)), seen.bare
    else:
        ages = [unknown.age_at(x) for x in seen.at]
        slopes = [unknown.pace for _ in seen.at]
        # What is set by an age is what would be lost by it: it grows from the first silk too.
        low = unknown.age_lost(seen.hardly), seen.bare
        high = unknown.age_at(1 - seen.free), seen.without
    return np.array(ages or nothing), np.array(slopes or nothing), low, high


def _proposed(rng: np.random.Generator, middle: Numbers, sd: Numbers) -> tuple[Numbers, Numbers]:
    """Draw days near what the edges say and some anywhere; return them with the log of even odds.

    The weights undo the choice of where to draw, so the days stay as likely as if drawn evenly.
    """
    breadth = _TO_DAY - _FROM_DAY
    anywhere = rng.random(_DRAWS) < _ANYWHERE
    near = middle + sd * rng.normal(size=_DRAWS)
    days = np.where(anywhere, _FROM_DAY + breadth * rng.random(_DRAWS), near)
    bell = np.exp(-(((days - middle) / sd) ** 2) / 2) / sd / np.sqrt(2 * np.pi)
    density = _ANYWHERE / breadth + (1 - _ANYWHERE) * bell
    inside = (days >= _FROM_DAY) & (days <= _TO_DAY)
    return days, np.where(inside, -np.log(breadth * density), -np.inf)


def _shortest(days: NDArray[np.int_], weights: Numbers, chance: float) -> tuple[int, int]:
    """Return the shortest run of whole days with that chance, the likeliest of equal ones."""
    start = int(days.min())
    reached = np.concatenate([[0.0], np.cumsum(np.bincount(days - start, weights=weights))])

    def held(length: int) -> Numbers:
        sums: Numbers = reached[length:] - reached[:-length]
        return sums

    lengths = range(1, len(reached))
    length = next(one for one in lengths if held(one).max() >= chance * reached[-1])
    begin = start + int(held(length).argmax())
    return begin, begin + length - 1
