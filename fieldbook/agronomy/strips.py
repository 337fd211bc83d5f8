"""Comparing hybrids or treatments in strips: analysis of variance and protected LSD.

A difference is printed with letters only after a significant F. What cannot be compared comes
back with a reason as data.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np

from fieldbook.agronomy.lsd import least_difference, letters
from fieldbook.figures import Figures, shipped_figures

BLOCKS, UNBLOCKED, UNREPLICATED, REFUSED = "blocks", "unblocked", "unreplicated", "refused"
_FEWEST = 2
_ROUNDING = 1e-14
"""Of the sum of squared values: an error sum of squares this small is rounding alone."""


@dataclass(frozen=True, kw_only=True)
class Strip:
    """One harvested strip; ``block`` is None where strips were not laid out in blocks."""

    treatment: str
    block: str | None
    value: float


@dataclass(frozen=True, kw_only=True)
class Row:
    """One line of an analysis of variance: sum of squares, degrees of freedom, mean square.

    ``ms`` is None without degrees of freedom.
    """

    ss: float
    df: int
    ms: float | None


@dataclass(frozen=True, kw_only=True)
class Anova:
    """An analysis of variance; ``f`` and ``p`` are None where nothing differs by chance."""

    blocks: Row | None
    treatments: Row
    error: Row
    total: Row
    f: float | None
    p: float | None


@dataclass(frozen=True, kw_only=True)
class TreatmentMean:
    """A treatment's mean; ``letters`` are None unless F is significant."""

    treatment: str
    strips: int
    mean: float
    below_highest: float
    letters: str | None


@dataclass(frozen=True, kw_only=True)
class Comparison:
    """Strips compared, the highest mean first.

    ``design`` is ``blocks``, ``unblocked``, ``unreplicated`` (means and differences, no test) or
    ``refused`` (nothing). ``reasons`` are keys that say why something is missing or in doubt.
    ``se_difference`` is the standard error of a difference of two means. ``lsd`` is None unless F
    is significant at ``level_pct``. ``left_out`` are blocks that lack a treatment.
    """

    design: str
    reasons: tuple[str, ...]
    level_pct: float
    means: tuple[TreatmentMean, ...] = ()
    anova: Anova | None = None
    se_difference: float | None = None
    lsd: float | None = None
    cv_pct: float | None = None
    left_out: tuple[str, ...] = ()


def compare_strips(strips: Iterable[Strip], *, figures: Figures | None = None) -> Comparison:
    """Compare treatments over strips.

    Notes
    -----
    ``SE difference = sqrt(2 MSE / b)``, ``LSD = t(1 - a/2, df error) SE``, ``CV = 100 sqrt(MSE) /
    mean``; Fisher's protected LSD, source `unl-variety-statistics`, at 10 % by default
    (`iowa-state-strip-trials`). A block that lacks a treatment is left out and named.
    """
    known = figures or shipped_figures()
    level = known.number("strips.level_pct")
    given = list(strips)
    fault = _fault(given)
    if fault:
        return Comparison(design=REFUSED, reasons=(fault,), level_pct=level)
    if not _replicated(given):
        means = _means(given, None)
        return Comparison(
            design=UNREPLICATED, reasons=("not-replicated",), level_pct=level, means=means
        )
    used, left_out = _whole_blocks(given)
    if not _replicated(used):
        reasons = ("too-few-whole-blocks",)
        return Comparison(design=REFUSED, reasons=reasons, level_pct=level, left_out=left_out)
    return _tested(used, left_out, known)


def _tested(used: list[Strip], left_out: tuple[str, ...], figures: Figures) -> Comparison:
    level = figures.number("strips.level_pct")
    anova = _anova(used)
    replicates = len(used) // len({one.treatment for one in used})
    error_ms = anova.error.ms or 0.0
    significant = anova.p is not None and anova.p <= level / 100
    lsd = least_difference(error_ms, anova.error.df, replicates, figures=figures)
    cv = _cv_pct(used, error_ms)
    reasons = {
        "blocks-left-out": bool(left_out),
        "no-blocks": anova.blocks is None,
        "few-replicates": replicates < figures.number("strips.least_replicates"),
        "cv-high": cv is not None and cv > figures.number("strips.cv_pct"),
        "no-spread": anova.p is None,
        "not-significant": anova.p is not None and not significant,
    }
    return Comparison(
        design=UNBLOCKED if anova.blocks is None else BLOCKS,
        reasons=tuple(key for key, holds in reasons.items() if holds),
        level_pct=level,
        means=_means(used, lsd if significant else None),
        anova=anova,
        se_difference=sqrt(2 * error_ms / replicates),
        lsd=lsd if significant else None,
        cv_pct=cv,
        left_out=left_out,
    )


def _fault(strips: Sequence[Strip]) -> str | None:
    """Return why strips cannot be compared at all."""
    treatments = Counter(one.treatment for one in strips)
    blocked = {one.block is not None for one in strips}
    if len(treatments) < _FEWEST:
        return "one-treatment"
    if not all(np.isfinite(one.value) for one in strips):
        return "no-number"
    if len(blocked) > 1:
        return "some-without-block"
    if True in blocked and len({(one.block, one.treatment) for one in strips}) < len(strips):
        return "treatment-twice-in-block"
    if False in blocked and len(set(treatments.values())) > 1:
        return "unequal-replicates"
    return None


def _replicated(strips: Sequence[Strip]) -> bool:
    counts = Counter(one.treatment for one in strips)
    return bool(counts) and max(counts.values()) >= _FEWEST


def _whole_blocks(strips: Sequence[Strip]) -> tuple[list[Strip], tuple[str, ...]]:
    """Return the strips of blocks with every treatment, and the names of the others."""
    wanted = {one.treatment for one in strips}
    sizes = Counter(one.block for one in strips if one.block is not None)
    short = {block for block, size in sizes.items() if size < len(wanted)}
    return [one for one in strips if one.block not in short], tuple(sorted(short))


def _anova(strips: Sequence[Strip]) -> Anova:
    """Split the sum of squares; every treatment must be as often, and once in every block."""
    from scipy.special import fdtrc

    total = _total(strips)
    treatments = _between([one.treatment for one in strips], strips)
    blocked = strips[0].block is not None
    blocks = _between([str(one.block) for one in strips], strips) if blocked else None
    known_df = treatments.df + (blocks.df if blocks else 0)
    rest = total.ss - treatments.ss - (blocks.ss if blocks else 0)
    by_rounding = rest <= _ROUNDING * sum(one.value**2 for one in strips)
    error = _row(ss=0.0 if by_rounding else rest, df=total.df - known_df)
    f = None if not error.ms else (treatments.ms or 0.0) / error.ms
    p = None if f is None else float(fdtrc(treatments.df, error.df, f))
    return Anova(blocks=blocks, treatments=treatments, error=error, total=total, f=f, p=p)


def _row(ss: float, df: int) -> Row:
    return Row(ss=ss, df=df, ms=ss / df if df else None)


def _total(strips: Sequence[Strip]) -> Row:
    values = np.array([one.value for one in strips])
    return _row(ss=float(((values - values.mean()) ** 2).sum()), df=len(strips) - 1)


def _between(groups: Sequence[str], strips: Sequence[Strip]) -> Row:
    values = np.array([one.value for one in strips])
    names = np.array(groups)
    parts = [values[names == name] for name in dict.fromkeys(groups)]
    squares = sum(part.size * (part.mean() - values.mean()) ** 2 for part in parts)
    return _row(ss=float(squares), df=len(parts) - 1)


def _means(strips: Sequence[Strip], lsd: float | None) -> tuple[TreatmentMean, ...]:
    by_treatment = {
        name: [one.value for one in strips if one.treatment == name]
        for name in dict.fromkeys(one.treatment for one in strips)
    }
    means = {name: float(np.mean(values)) for name, values in by_treatment.items()}
    highest = max(means.values())
    marks = letters(list(means.values()), lsd) if lsd is not None else (None,) * len(means)
    found = [
        TreatmentMean(
            treatment=name,
            strips=len(by_treatment[name]),
            mean=mean,
            below_highest=highest - mean,
            letters=mark,
        )
        for (name, mean), mark in zip(means.items(), marks, strict=True)
    ]
    return tuple(sorted(found, key=lambda one: -one.mean))


def _cv_pct(strips: Sequence[Strip], error_ms: float) -> float | None:
    mean = float(np.mean([one.value for one in strips]))
    return 100 * sqrt(error_ms) / mean if mean > 0 else None
