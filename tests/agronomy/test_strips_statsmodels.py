"""Strips compared as statsmodels compares them: a second opinion that shares no code with ours."""

from math import sqrt
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from fieldbook.agronomy.strips import Comparison, Strip, compare_strips

AGREE = {"rel": 1e-9, "abs": 1e-9}
_SEEDS = range(25)


def trial(seed: int) -> pd.DataFrame:
    """Draw a balanced trial [bu/ac]: 2 to 6 treatments in 2 to 8 blocks, differing or not."""
    draw = np.random.default_rng(seed)
    treatments, blocks = int(draw.integers(2, 7)), int(draw.integers(2, 9))
    better = draw.normal(0, 12 * (seed % 3), treatments)
    ground = draw.normal(0, 10, blocks)
    rows = [
        {
            "treatment": f"T{t}",
            "block": f"B{b}",
            "value": draw.normal(180 + better[t] + ground[b], 6),
        }
        for t in range(treatments)
        for b in range(blocks)
    ]
    return pd.DataFrame(rows)


def theirs(table: pd.DataFrame, formula: str) -> SimpleNamespace:
    """Fit the formula and return the analysis of variance and the fit."""
    from statsmodels.formula.api import ols
    from statsmodels.stats.anova import anova_lm

    fit = ols(formula, data=table).fit()
    return SimpleNamespace(fit=fit, lines=anova_lm(fit, typ=2))


def ours(table: pd.DataFrame, *, blocked: bool) -> Comparison:
    """Compare the same strips."""
    return compare_strips(
        Strip(treatment=row.treatment, block=row.block if blocked else None, value=row.value)
        for row in table.itertuples()
    )


DESIGNS = pytest.mark.parametrize(
    ("formula", "blocked"),
    [("value ~ C(treatment) + C(block)", True), ("value ~ C(treatment)", False)],
    ids=["blocks", "no blocks"],
)


@DESIGNS
@pytest.mark.parametrize("seed", _SEEDS)
def test_analysis_of_variance(seed: int, formula: str, blocked: bool) -> None:
    """Sums of squares, degrees of freedom, mean square of error, F and p are theirs."""
    table = trial(seed)
    lines = theirs(table, formula).lines
    found = ours(table, blocked=blocked).anova
    assert found is not None
    treatments, error = lines.loc["C(treatment)"], lines.loc["Residual"]
    assert found.treatments.ss == pytest.approx(treatments["sum_sq"], **AGREE)
    assert found.error.ss == pytest.approx(error["sum_sq"], **AGREE)
    assert (found.treatments.df, found.error.df) == (treatments["df"], error["df"])
    assert found.error.ms == pytest.approx(error["sum_sq"] / error["df"], **AGREE)
    assert found.f == pytest.approx(treatments["F"], **AGREE)
    assert found.p == pytest.approx(treatments["PR(>F)"], **AGREE)
    if blocked:
        assert found.blocks is not None
        assert found.blocks.ss == pytest.approx(lines.loc["C(block)"]["sum_sq"], **AGREE)


@DESIGNS
@pytest.mark.parametrize("seed", _SEEDS)
def test_least_difference(seed: int, formula: str, blocked: bool) -> None:
    """The error of a difference is that of their coefficient; the LSD is half its interval."""
    table = trial(seed)
    fit = theirs(table, formula).fit
    coefficient = "C(treatment)[T.T1]"
    found = ours(table, blocked=blocked)
    assert found.se_difference == pytest.approx(fit.bse[coefficient], **AGREE)
    means = {one.treatment: one.mean for one in found.means}
    assert means["T1"] - means["T0"] == pytest.approx(fit.params[coefficient], **AGREE)
    low, high = fit.conf_int(alpha=found.level_pct / 100).loc[coefficient]
    significant = fit.f_test(_all_alike(table)).pvalue <= found.level_pct / 100
    assert (found.lsd is not None) == significant
    if found.lsd is not None:
        assert found.lsd == pytest.approx((high - low) / 2, **AGREE)


def _all_alike(table: pd.DataFrame) -> str:
    """Write the hypothesis that no treatment differs from the first."""
    others = sorted(set(table["treatment"]))[1:]
    return ", ".join(f"C(treatment)[T.{name}] = 0" for name in others)


def test_both_kinds_of_trial_are_among_them() -> None:
    """The drawn trials hold significant ones and others, so that neither side goes untested."""
    told = {ours(trial(seed), blocked=True).lsd is not None for seed in _SEEDS}
    assert told == {True, False}


def test_tukey_agrees_on_the_error_and_is_wider() -> None:
    """Their Tukey test shares our mean square of error and asks for more than an LSD."""
    from statsmodels.stats.multicomp import pairwise_tukeyhsd

    table = trial(5)
    found = ours(table, blocked=False)
    assert found.anova is not None
    assert found.anova.error.ms is not None
    wide = pairwise_tukeyhsd(table["value"], table["treatment"], alpha=0.1)
    assert float(wide.variance) == pytest.approx(found.anova.error.ms, **AGREE)
    lsd = float(stats.t.ppf(0.95, found.anova.error.df)) * (found.se_difference or 0.0)
    apart = float(wide.q_crit) * sqrt(wide.variance / table["block"].nunique())
    assert apart >= lsd
