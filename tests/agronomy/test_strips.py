"""Strips compared: analysis of variance, protected LSD, letters, pairs, and what is refused."""

from itertools import combinations
from math import sqrt

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from scipy import stats

from fieldbook.agronomy.lsd import least_difference, letters, paired_strips
from fieldbook.agronomy.strips import Comparison, Strip, compare_strips

yields = st.floats(80, 280, width=32)
tables = st.tuples(st.integers(2, 6), st.integers(2, 6)).flatmap(
    lambda shape: arrays(float, shape, elements=yields)
)


def strips(table: np.ndarray, *, blocked: bool = True) -> list[Strip]:
    """Turn a table of treatments by blocks into strips."""
    return [
        Strip(treatment=f"T{t}", block=f"B{b}" if blocked else None, value=float(value))
        for (t, b), value in np.ndenumerate(table)
    ]


def residual_ss(design: np.ndarray, values: np.ndarray) -> float:
    """Return what least squares leaves over."""
    fitted = design @ np.linalg.lstsq(design, values, rcond=None)[0]
    return float(((values - fitted) ** 2).sum())


def dummies(codes: np.ndarray) -> np.ndarray:
    """Return one column for each code."""
    return (codes[:, None] == np.unique(codes)).astype(float)


@given(tables)
def test_sums_of_squares_are_those_of_least_squares(table: np.ndarray) -> None:
    """F and p in blocks are those of two regressions, with and without treatments."""
    treatment, block = (codes.ravel() for codes in np.indices(table.shape))
    values = table.ravel()
    with_blocks = dummies(block)
    full = residual_ss(np.hstack([with_blocks, dummies(treatment)]), values)
    assume(full > 1e-3)
    reduced = residual_ss(with_blocks, values)
    df = (table.shape[0] - 1, (table.shape[0] - 1) * (table.shape[1] - 1))
    f = (reduced - full) / df[0] / (full / df[1])
    found = compare_strips(strips(table)).anova
    assert found is not None
    assert (found.treatments.df, found.error.df) == df
    assert found.error.ss == pytest.approx(full, rel=1e-6, abs=1e-6)
    assert found.f == pytest.approx(f, rel=1e-5, abs=1e-6)
    assert found.p == pytest.approx(stats.f.sf(f, *df), rel=1e-4, abs=1e-9)


@given(tables)
def test_without_blocks_it_is_scipys_one_way(table: np.ndarray) -> None:
    """Strips without blocks have the F and p of a one-way analysis."""
    found = compare_strips(strips(table, blocked=False))
    assert found.anova is not None
    assume(found.anova.error.ss > 1e-3)
    theirs = stats.f_oneway(*table)
    assert found.anova.f == pytest.approx(theirs.statistic, rel=1e-6, abs=1e-9)
    assert found.anova.p == pytest.approx(theirs.pvalue, rel=1e-6, abs=1e-12)
    assert (found.design, "no-blocks" in found.reasons) == ("unblocked", True)


@given(arrays(float, st.tuples(st.just(2), st.integers(2, 8)), elements=yields))
def test_two_treatments_are_a_paired_test(table: np.ndarray) -> None:
    """With two treatments blocks, pairs and scipy's paired t agree on p and the LSD."""
    pairs = paired_strips(list(zip(*table.tolist(), strict=True)))
    assert pairs is not None
    assert pairs.se is not None
    assume(pairs.se > 1e-2)
    found = compare_strips(strips(table))
    assert found.anova is not None
    theirs = stats.ttest_rel(*table)
    assert found.anova.p == pytest.approx(theirs.pvalue, rel=1e-4, abs=1e-9)
    assert pairs.p == pytest.approx(theirs.pvalue, rel=1e-6, abs=1e-12)
    assert found.se_difference == pytest.approx(pairs.se, rel=1e-4)
    ends = theirs.confidence_interval(0.9)
    assert (pairs.low, pairs.high) == pytest.approx((ends.low, ends.high))
    assert found.lsd is None or found.lsd == pytest.approx(pairs.lsd, rel=1e-4)


@given(tables)
def test_letters_only_after_a_significant_f(table: np.ndarray) -> None:
    """There is an LSD and there are letters exactly where F is significant at the level."""
    found = compare_strips(strips(table))
    significant = found.anova is not None and found.anova.p is not None and found.anova.p <= 0.1
    assert (found.lsd is not None) == significant
    assert {one.letters is not None for one in found.means} == {significant}
    assert ("not-significant" in found.reasons) == (
        not significant and "no-spread" not in found.reasons
    )


def cliques(means: list[float], lsd: float) -> set[frozenset[int]]:
    """Return every largest group without a significant difference, by trying all groups."""
    every = range(len(means))
    groups = [
        frozenset(group)
        for size in range(1, len(means) + 1)
        for group in combinations(every, size)
        if all(abs(means[a] - means[b]) <= lsd for a, b in combinations(group, 2))
    ]
    return {group for group in groups if not any(group < other for other in groups)}


@given(means=st.lists(st.integers(100, 130), min_size=1, max_size=8), lsd=st.integers(0, 20))
def test_letters_are_the_largest_groups(means: list[int], lsd: int) -> None:
    """Each letter is one largest group without a difference, and every such group has one."""
    found = letters(means, lsd)
    used = sorted(set("".join(found)))
    groups = [frozenset(i for i, own in enumerate(found) if letter in own) for letter in used]
    assert len(set(groups)) == len(groups)
    assert set(groups) == cliques([float(one) for one in means], lsd)
    best = max(range(len(means)), key=means.__getitem__)
    assert found[best].startswith("a")


def test_letters_may_overlap() -> None:
    """A mean between two may share a letter with each of them."""
    assert letters([150, 160, 155, 120], 6) == ("b", "a", "ab", "c")
    assert len(letters(list(range(52)), 0.5)) == 52
    with pytest.raises(ValueError, match="too many groups"):
        letters(list(range(53)), 0.5)


def test_least_difference_at_ten_percent() -> None:
    """At 10 % two-sided the 0.95 quantile of t is used: 2.131847 for 4 df, from a table."""
    assert least_difference(8, 4, 4) == pytest.approx(2.131847 * sqrt(2 * 8 / 4), rel=1e-6)


def test_block_that_lacks_a_treatment_is_left_out() -> None:
    """A lost strip costs its block, by name; the rest is as if that block had never been."""
    table = np.array([[150, 160, 155, 171.0], [170, 175, 172, 190], [160, 164, 171, 168]])
    whole = strips(table)
    lost = [one for one in whole if (one.treatment, one.block) != ("T1", "B2")]
    found = compare_strips(lost)
    assert (found.left_out, "blocks-left-out" in found.reasons) == (("B2",), True)
    without = compare_strips([one for one in whole if one.block != "B2"])
    assert (found.means, found.anova) == (without.means, without.anova)


def test_too_few_whole_blocks() -> None:
    """With one whole block left nothing is compared."""
    table = np.array([[150, 160.0], [170, 175]])
    found = compare_strips(strips(table)[:-1])
    assert (found.design, found.reasons) == ("refused", ("too-few-whole-blocks",))
    assert (found.left_out, found.means) == (("B1",), ())


def one(treatment: str, block: str | None, value: float = 150) -> Strip:
    """Make a strip."""
    return Strip(treatment=treatment, block=block, value=value)


@pytest.mark.parametrize(
    ("laid_out", "reason"),
    [
        ([], "one-treatment"),
        ([one("A", "1"), one("A", "2")], "one-treatment"),
        ([one("A", "1"), one("B", "1"), one("A", "1")], "treatment-twice-in-block"),
        ([one("A", "1"), one("B", None)], "some-without-block"),
        ([one("A", None), one("A", None), one("B", None)], "unequal-replicates"),
        ([one("A", "1", float("nan")), one("B", "1")], "no-number"),
    ],
)
def test_what_cannot_be_compared_says_why(laid_out: list[Strip], reason: str) -> None:
    """What is not a trial comes back refused, with the reason as data."""
    found = compare_strips(laid_out)
    assert found == Comparison(design="refused", reasons=(reason,), level_pct=10)


def test_split_field_has_differences_only() -> None:
    """A split field has its two values and their difference, no test, and says why."""
    found = compare_strips([one("new", "1", 190), one("old", "1", 181)])
    assert (found.design, found.reasons) == ("unreplicated", ("not-replicated",))
    assert [(mean.treatment, mean.below_highest) for mean in found.means] == [
        ("new", 0),
        ("old", 9),
    ]
    assert (found.anova, found.lsd, found.se_difference, found.cv_pct) == (None,) * 4
    pair = paired_strips([(190, 181)])
    assert pair is not None
    assert (pair.mean, pair.se, pair.lsd, pair.low, pair.p) == (9, None, None, None, None)
    assert paired_strips([]) is None


def test_strips_without_any_spread_are_not_tested() -> None:
    """Values that leave no error have no F: nobody harvests so exactly."""
    table = np.array([[150.1, 160.1, 170.1], [155.3, 165.3, 175.3]])
    found = compare_strips(strips(table))
    assert found.anova is not None
    assert (found.anova.f, found.anova.p, found.lsd) == (None, None, None)
    assert "no-spread" in found.reasons
    alike = paired_strips([(150, 140), (160, 150)])
    assert alike is not None
    assert (alike.se, alike.p) == (0, None)


def test_few_replicates_and_high_cv_are_said() -> None:
    """Under 4 replicates and a CV over 12 % stand as reasons."""
    table = np.array([[100, 180, 140.0], [150, 120, 190]])
    found = compare_strips(strips(table))
    assert found.cv_pct is not None
    assert found.cv_pct > 12
    assert found.reasons == ("few-replicates", "cv-high", "not-significant")


def test_protection_holds_the_false_alarms() -> None:
    """Where nothing differs, about one trial in ten gets letters at the 10 % level."""
    rng = np.random.default_rng(5)
    trials = [rng.normal(180, 8, (6, 4)) + rng.normal(0, 10, (1, 4)) for _ in range(800)]
    alarms = np.mean([compare_strips(strips(table)).lsd is not None for table in trials])
    assert 0.07 < alarms < 0.13
