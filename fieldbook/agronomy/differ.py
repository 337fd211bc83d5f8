"""How far readings lie apart, in standard deviations, with a floor beneath the spread. Pure.

A few readings that happen to be alike would make every other one look far off, so no spread
counts as less than its floor.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import copysign, hypot, log1p, sqrt
from statistics import fmean, median, stdev

_MAD_TO_SD = 1.4826
_FEWEST = 2


@dataclass(frozen=True, kw_only=True)
class Middle:
    """The median of a sample, and its robust standard deviation."""

    value: float
    sd: float

    @classmethod
    def of(cls, sample: Sequence[float], *, floor_sd: float) -> "Middle":
        """Work it out: 1.4826 times the median distance from the median, not under a floor.

        That is the standard deviation of a normal sample; a far value changes next to nothing.
        """
        value = median(sample)
        spread = _MAD_TO_SD * median(abs(other - value) for other in sample)
        return cls(value=value, sd=max(spread, floor_sd))

    def score(self, value: float) -> float:
        """Return how many standard deviations a value lies from the median."""
        return (value - self.value) / self.sd


def welch_z(a: Sequence[float], b: Sequence[float], *, floor_sd: float) -> float:
    """Return how far the means of two samples lie apart, as a normal score; negative: a is less.

    Welch's t (1947) with its degrees of freedom, brought to a normal score by Wallace (1959), so
    that few readings must lie further apart. Two samples of two values at least.
    """
    ends = [_error(sample, floor_sd) for sample in (a, b)]
    error = hypot(*(error for error, _ in ends))
    df = error**4 / sum(one**4 / free for one, free in ends)
    return _normal_score((fmean(a) - fmean(b)) / error, df)


def paired_z(differences: Sequence[float], *, floor_sd: float) -> float:
    """Return how far the mean of paired differences lies from zero, as a normal score."""
    error, free = _error(differences, floor_sd)
    return _normal_score(fmean(differences) / error, free)


def _error(sample: Sequence[float], floor_sd: float) -> tuple[float, int]:
    """Return the standard error of a mean and its degrees of freedom."""
    if len(sample) < _FEWEST:
        raise ValueError("a spread needs two values")
    return max(stdev(sample), floor_sd) / sqrt(len(sample)), len(sample) - 1


def _normal_score(t: float, df: float) -> float:
    """Bring a t value to the normal score of nearly the same chance: Wallace (1959)."""
    score = sqrt(df * log1p(t * t / df)) * (8 * df + 1) / (8 * df + 3)
    return copysign(score, t)
