"""The least significant difference, the letters that show it, and strips in pairs."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from string import ascii_letters

import numpy as np

from fieldbook.figures import Figures, shipped_figures

_FEWEST_PAIRS = 2


@dataclass(frozen=True, kw_only=True)
class Pairs:
    """Two treatments side by side, pair by pair; differences are first minus second.

    ``mean`` of the ``differences``, its standard error, the least significant difference and the
    interval at ``level_pct``, and the chance ``p`` of a mean this far from nothing if there were
    no difference. All but the mean are None for one pair: a split field has no spread to judge
    by. ``p`` is None where all differences are alike.
    """

    differences: tuple[float, ...]
    mean: float
    level_pct: float
    se: float | None
    lsd: float | None
    low: float | None
    high: float | None
    p: float | None


def least_difference(
    error_ms: float, error_df: int, replicates: int, *, figures: Figures | None = None
) -> float:
    """Return the least significant difference of two means of equal size, at the level in use.

    ``t(1 - a/2, df) sqrt(2 MSE / b)``, source `unl-variety-statistics`.
    """
    level = (figures or shipped_figures()).number("strips.level_pct")
    return _upper_t(error_df, level) * sqrt(2 * error_ms / replicates)


def letters(means: Sequence[float], lsd: float) -> tuple[str, ...]:
    """Return letters for means of equal size: two share one unless they differ by over the LSD.

    Notes
    -----
    Along the sorted means every letter is a longest run without a significant difference, so that
    there are no more letters than it takes.

    Raises
    ------
    ValueError
        If it takes more letters than there are.
    """
    order = sorted(range(len(means)), key=lambda index: -means[index])
    runs = _runs([means[index] for index in order], lsd)
    if len(runs) > len(ascii_letters):
        raise ValueError("too many groups for the letters there are")
    found = [""] * len(means)
    for letter, (first, last) in zip(ascii_letters, runs, strict=False):
        for index in order[first : last + 1]:
            found[index] += letter
    return tuple(found)


def paired_strips(
    pairs: Sequence[tuple[float, float]], *, figures: Figures | None = None
) -> Pairs | None:
    """Compare two treatments in pairs of strips, source `sare-paired-strips`; None without pairs.

    ``SE = sd of differences / sqrt(n)``, ``LSD = t(1 - a/2, n - 1) SE``: the same as the analysis
    of variance of two treatments in blocks.
    """
    level = (figures or shipped_figures()).number("strips.level_pct")
    differences = np.array([first - second for first, second in pairs])
    if not differences.size:
        return None
    mean, n = float(differences.mean()), differences.size
    se = float(differences.std(ddof=1)) / sqrt(n) if n >= _FEWEST_PAIRS else None
    lsd = None if se is None else _upper_t(n - 1, level) * se
    return Pairs(
        differences=tuple(float(one) for one in differences),
        mean=mean,
        level_pct=level,
        se=se,
        lsd=lsd,
        low=None if lsd is None else mean - lsd,
        high=None if lsd is None else mean + lsd,
        p=_two_sided(mean / se, n - 1) if se else None,
    )


def _runs(ranked: Sequence[float], lsd: float) -> list[tuple[int, int]]:
    """Return first and last place of each longest run of falling means within the LSD."""
    runs: list[tuple[int, int]] = []
    for first, top in enumerate(ranked):
        last = max(place for place, mean in enumerate(ranked) if top - mean <= lsd)
        if not runs or last > runs[-1][1]:
            runs.append((first, last))
    return runs


def _upper_t(df: int, level_pct: float) -> float:
    from scipy.special import stdtrit

    return float(stdtrit(df, 1 - level_pct / 200))


def _two_sided(t: float, df: int) -> float:
    from scipy.special import stdtr

    return float(2 * stdtr(df, -abs(t)))
