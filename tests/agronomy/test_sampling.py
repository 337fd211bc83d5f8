"""What a few stops tell: intervals, stops still needed, variance by level."""

from math import sqrt

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats

from fieldbook.agronomy.sampling import more_needed, nested_variance, sample, stops_wanted

yields = st.floats(20, 320)


@given(values=st.lists(yields, min_size=3, max_size=30))
def test_interval_agrees_with_scipy(values: list[float]) -> None:
    """Mean and 95 % interval are those of scipy's t distribution."""
    assume(np.ptp(values) > 1e-3)
    found = sample(values)
    assert found is not None
    low, high = stats.t.interval(
        0.95, len(values) - 1, loc=np.mean(values), scale=stats.sem(values)
    )
    assert found.low == pytest.approx(low)
    assert found.high == pytest.approx(high)
    assert found.mean == pytest.approx(np.mean(values))


def test_interval_needs_three_values() -> None:
    """Two values have a spread but no interval, one value has neither, none is no sample."""
    assert sample([]) is None
    one, two, three = sample([150]), sample([150, 170]), sample([150, 170, 160])
    assert one is not None
    assert two is not None
    assert three is not None
    assert (one.sd, one.se, one.half_width_95, one.low, one.high) == (None,) * 5
    assert two.sd == pytest.approx(sqrt(200))
    assert (two.half_width_95, two.low, two.high) == (None, None, None)
    assert three.half_width_95 == pytest.approx(4.302653 * 10 / sqrt(3), rel=1e-6)


def test_equal_values_have_a_certain_mean() -> None:
    """Stops that all agree give an interval of no width."""
    found = sample([160.0] * 4)
    assert found is not None
    assert found.half_width_95 == 0


@pytest.mark.parametrize(
    ("cv_pct", "totals"),
    [
        (5, (7, 4, 3, 3)),
        (10, (18, 7, 5, 4)),
        (15, (38, 12, 7, 5)),
        (20, (64, 18, 10, 7)),
        (25, (99, 27, 14, 9)),
        (30, (141, 38, 18, 12)),
    ],
)
def test_total_needed(cv_pct: float, totals: tuple[int, ...]) -> None:
    """The total by iterated t for half widths of 5, 10, 15 and 20 % of the mean.

    University of Missouri, School of Natural Resources, NR3110, "Sample Size Determination",
    http://oak.snr.missouri.edu/nr3110/topics/samplesize.php, has the formula; the table is
    arithmetic on it.
    """
    assert tuple(more_needed(cv_pct, 0, width) for width in (5, 10, 15, 20)) == totals


@given(sd=st.floats(0.1, 60), n=st.integers(0, 60), half_width=st.floats(2, 50))
def test_more_needed_is_enough_and_not_too_many(sd: float, n: int, half_width: float) -> None:
    """With that many more the interval is narrow enough; with one fewer it is not."""
    more = more_needed(sd, n, half_width)
    assert more is not None

    def width(total: int) -> float:
        return float(stats.t.ppf(0.975, total - 1)) * sd / sqrt(total)

    total = n + more
    assert total >= 3
    assert width(total) <= half_width * (1 + 1e-9)
    assert more == 0 or total == 3 or width(total - 1) > half_width


def test_unknown_spread_has_no_answer() -> None:
    """Without a standard deviation nobody knows how many more stops it takes."""
    assert more_needed(None, 1, 10) is None


def test_half_width_must_be_wanted() -> None:
    """A half width of nothing would take stops without end."""
    with pytest.raises(ValueError, match="above zero"):
        more_needed(10, 3, 0)


@pytest.mark.parametrize(
    ("acres", "stops"), [(3, 5), (49, 5), (50, 5), (51, 6), (120, 12), (121, 13)]
)
def test_stops_for_a_field(acres: float, stops: int) -> None:
    """One stop for every ten acres begun, and never under five."""
    assert stops_wanted(acres) == stops


@given(
    groups=st.lists(st.lists(yields, min_size=1, max_size=6), min_size=2, max_size=8),
)
def test_nested_mean_squares_agree_with_scipy(groups: list[list[float]]) -> None:
    """Mean squares are those of a one-way analysis of variance, for groups of any size."""
    assume(any(len(group) > 1 for group in groups))
    found = nested_variance(groups)
    assert found is not None
    assert found.ms_within is not None
    assert found.ms_between is not None
    assume(found.ms_within > 1e-3)
    ratio = stats.f_oneway(*groups).statistic
    assert found.ms_between / found.ms_within == pytest.approx(ratio, rel=1e-6, abs=1e-9)


def test_nested_variance_of_equal_groups() -> None:
    """For equal groups the variance between is (MS between - MS within) / size, worked by hand."""
    found = nested_variance([[1, 3], [5, 7], [9, 11]])
    assert found is not None
    assert (found.ms_between, found.ms_within) == (32, 2)
    assert (found.variance_between, found.variance_within) == (15, 2)
    assert (found.groups, found.values, found.values_per_group) == (3, 6, 2)


def test_nested_variance_of_unequal_groups() -> None:
    """Unequal groups use the weighted mean size, (N - sum n^2 / N) / (groups - 1)."""
    found = nested_variance([[1, 3, 2], [8]])
    assert found is not None
    assert found.values_per_group == pytest.approx((4 - 10 / 4) / 1)
    assert found.ms_between == pytest.approx(27)
    assert found.variance_between == pytest.approx((27 - 1) / 1.5)


def test_nested_variance_recovers_a_known_truth() -> None:
    """Over many simulated fields the two variances come out as put in."""
    rng = np.random.default_rng(7)
    stops = rng.normal(0, 12, (2000, 1))
    found = nested_variance(list(150 + stops + rng.normal(0, 5, (2000, 5))))
    assert found is not None
    assert found.variance_between == pytest.approx(144, rel=0.1)
    assert found.variance_within == pytest.approx(25, rel=0.05)


def test_variance_between_is_never_negative() -> None:
    """Groups more alike than chance would make them count as equal."""
    found = nested_variance([[1, 9], [2, 8], [5, 5]])
    assert found is not None
    assert found.variance_between == 0


def test_nested_variance_with_little_to_go_on() -> None:
    """One group says nothing about between, single values nothing about within."""
    assert nested_variance([]) is None
    assert nested_variance([[], []]) is None
    one = nested_variance([[1, 2, 3], []])
    assert one is not None
    assert (one.groups, one.ms_between, one.variance_between) == (1, None, None)
    singles = nested_variance([[1], [2], [4]])
    assert singles is not None
    assert (singles.variance_within, singles.variance_between) == (None, None)
