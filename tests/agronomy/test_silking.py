"""The day half of the plants had silked: fit, range, bounds, and counts that do not fit."""

from datetime import date, timedelta
from math import inf

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize, stats

from fieldbook.agronomy.ranges import DayRange, Span
from fieldbook.agronomy.silk_curve import SilkCount, silk_slope, silked_share
from fieldbook.agronomy.silking import (
    DO_NOT_MEET,
    FALLING,
    Silking,
    gap_points_to_stress,
    pollen_silk_gap,
    silking_date,
)

FIRST = date(2026, 7, 10)


def counts(*seen: tuple[int, int], of: int = 20) -> list[SilkCount]:
    return [SilkCount(day=FIRST + timedelta(days=day), silked=n, of=of) for day, n in seen]


def dated(*seen: tuple[int, int], of: int = 20) -> Silking:
    found = silking_date(counts(*seen, of=of))
    assert found is not None
    return found


def after(days: int) -> date:
    return FIRST + timedelta(days=days)


def test_two_dates_give_the_curve_back() -> None:
    """20 % and 80 % of many plants give the middle of the two days and their slope."""
    found = dated((0, 2000), (4, 8000), of=10000)
    assert found.day == after(2)
    assert found.within == DayRange(earliest=after(1), latest=after(3))
    assert found.spread_days == pytest.approx(2 * np.log(19) / silk_slope(4), rel=1e-4)


seen_shares = st.lists(
    st.tuples(st.integers(0, 12), st.integers(1, 19)),
    min_size=2,
    max_size=5,
    unique_by=lambda pair: pair[0],
)


@given(seen=seen_shares)
def test_fit_agrees_with_a_general_optimizer(seen: list[tuple[int, int]]) -> None:
    """Where slope and counts allow it, the day is that of scipy's optimizer on the same model."""
    found = dated(*seen)
    if found.day is None:
        assert found.conflicts
        return
    days, silked = (np.array(column) for column in zip(*seen, strict=True))

    def misfit(line: np.ndarray) -> float:
        share = 1 / (1 + np.exp(-(line[0] + line[1] * (days - days.mean()))))
        return -float(stats.binom.logpmf(silked, 20, share).sum())

    bounds = [(-20, 20), (2 * np.log(19) / 18, 2 * np.log(19) / 3)]
    best = optimize.minimize(misfit, [0, 0.6], method="L-BFGS-B", bounds=bounds)
    middle = days.mean() - best.x[0] / best.x[1]
    assert abs((found.day - FIRST).days - middle) <= 0.52


@pytest.mark.parametrize(("visits", "tries"), [((-2, 1), 150), ((-3, 0, 3), 150)])
def test_range_holds_the_truth(visits: tuple[int, ...], tries: int) -> None:
    """Of fields with a known silking moment, at least 93 in 100 have it in their range."""
    rng = np.random.default_rng(7)
    held = 0
    for _ in range(tries):
        spread, moment = rng.uniform(4, 12), rng.uniform(9.5, 10.5)
        slope = 2 * np.log(19) / spread
        seen = [
            (10 + visit, int(rng.binomial(20, silked_share(10 + visit - moment, slope))))
            for visit in visits
        ]
        within = dated(*seen).within
        low = -inf if within.earliest is None else (within.earliest - FIRST).days
        high = inf if within.latest is None else (within.latest - FIRST).days
        held += low <= moment <= high
    assert held >= 0.93 * tries


def test_one_visit_gives_a_range_only() -> None:
    """One day of counts never gives a day, and half silked lies around it."""
    found = dated((0, 10))
    assert (found.day, found.spread_days, found.carrying) == (None, None, 1)
    assert found.within == DayRange(earliest=after(-3), latest=after(3))


def test_stops_of_one_day_are_one_count() -> None:
    """Four stops of one visit are added up, and more plants narrow the range."""
    assert dated((0, 5), (0, 7), (0, 3), (0, 5)) == dated((0, 20), of=80)
    one, four = dated((0, 5)).within, dated((0, 20), of=80).within
    assert one.earliest is not None
    assert one.latest is not None
    assert four.earliest is not None
    assert four.latest is not None
    assert four.latest - four.earliest < one.latest - one.earliest


def test_counts_at_the_ends_only_bound() -> None:
    """No plant silked bounds from below, all silked from above; neither carries the curve."""
    none, every = dated((0, 0)), dated((0, 20))
    assert none.within == DayRange(earliest=after(1))
    assert every.within == DayRange(latest=after(-1))
    assert (none.carrying, every.carrying) == (0, 0)
    both = dated((0, 0), (8, 20))
    assert both.within == DayRange(earliest=after(1), latest=after(7))
    assert both.day is None


def test_bound_narrows_a_fit() -> None:
    """A count at the end cuts the range of the others, and the day stays inside it."""
    alone, bounded = dated((0, 3), (2, 5)), dated((0, 3), (2, 5), (4, 20))
    assert alone.within.latest is not None
    assert bounded.within.latest is not None
    assert bounded.within.latest < alone.within.latest
    assert bounded.day is not None
    assert bounded.within.holds(bounded.day)
    assert bounded.carrying == 2


def test_falling_share_is_handed_back() -> None:
    """Fewer silks on a later day than chance explains: no day, both counts, a range over both."""
    found = dated((0, 16), (3, 4))
    assert found.day is None
    assert [(one.kind, one.first.silked, one.second.silked) for one in found.conflicts] == [
        (FALLING, 16, 4)
    ]
    for alone in (dated((0, 16)), dated((3, 4))):
        assert alone.within.earliest is not None
        assert alone.within.latest is not None
        assert found.within.holds(alone.within.earliest)
        assert found.within.holds(alone.within.latest)


def test_fall_within_chance_is_no_conflict() -> None:
    """Ten of twenty and nine of twenty three days later are the same share, as far as is known."""
    assert dated((0, 10), (3, 9)).conflicts == ()


@pytest.mark.parametrize("seen", [((0, 0), (1, 20)), ((0, 10), (19, 11))])
def test_counts_that_no_date_fits(seen: tuple[tuple[int, int], ...]) -> None:
    """A field cannot silk overnight, nor stand half silked for weeks."""
    found = dated(*seen)
    assert found.day is None
    assert {one.kind for one in found.conflicts} == {DO_NOT_MEET}


def test_counts_that_only_fail_together() -> None:
    """Two counts that stay low put half too far off for the third: the first and last are named."""
    found = dated((0, 2), (4, 1), (5, 20))
    assert found.day is None
    assert [(one.kind, one.first.day, one.second.day) for one in found.conflicts] == [
        (DO_NOT_MEET, after(0), after(5))
    ]
    assert all(not dated(*pair).conflicts for pair in [((0, 2), (4, 1)), ((4, 1), (5, 20))])


def test_one_plant_bounds_from_both_sides() -> None:
    """One of twenty, and nineteen of twenty, leave an end on either side."""
    for found in (dated((0, 1)), dated((0, 19)), dated((0, 1), of=40), dated((0, 39), of=40)):
        assert found.within.earliest is not None
        assert found.within.latest is not None


@given(
    seen=st.lists(st.tuples(st.integers(0, 20), st.integers(0, 6)), min_size=1, max_size=5),
    of=st.integers(6, 40),
)
def test_any_counts_give_an_answer(seen: list[tuple[int, int]], of: int) -> None:
    """Whatever was counted, there is a range, a day lies in it, and no day means no spread."""
    found = dated(*seen, of=of)
    if found.day is not None:
        assert found.within.holds(found.day)
        assert not found.conflicts
    assert (found.day is None) == (found.spread_days is None)


def test_impossible_counts_are_refused() -> None:
    """More silks than plants, or no plants, is no count; days must be in order."""
    with pytest.raises(ValueError, match="among the plants"):
        SilkCount(day=FIRST, silked=21, of=20)
    with pytest.raises(ValueError, match="among the plants"):
        SilkCount(day=FIRST, silked=0, of=0)
    with pytest.raises(ValueError, match="80 % must come after"):
        silk_slope(0)
    assert silking_date([]) is None


def test_gap_from_pollen_to_silk() -> None:
    """The gap takes both ranges, and only a gap wholly over five days flags stress."""
    pollen = DayRange(earliest=after(0), latest=after(2))
    gap = pollen_silk_gap(pollen, DayRange(earliest=after(1), latest=after(4)))
    assert gap == Span(low=-1, high=4)
    assert gap_points_to_stress(gap) is False
    assert gap_points_to_stress(Span(low=4, high=9)) is None
    assert gap_points_to_stress(Span(low=6, high=9)) is True
    open_end = pollen_silk_gap(pollen, DayRange(earliest=after(9)))
    assert open_end == Span(low=7, high=inf)
    assert gap_points_to_stress(open_end) is True
    assert gap_points_to_stress(pollen_silk_gap(DayRange(), DayRange())) is None
