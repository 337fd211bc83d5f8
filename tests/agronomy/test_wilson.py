"""Shares of plants: their interval, a line, how many more, and change between visits."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats
from scipy.optimize import brentq

from fieldbook.agronomy.wilson import (
    ABOVE,
    BELOW,
    CANNOT_TELL,
    Change,
    Count,
    Share,
    change,
    more_to_tell,
    share,
    told,
    wilson,
)

counts = st.integers(1, 40).flatmap(
    lambda looked: st.builds(Count, hits=st.integers(0, looked), looked=st.just(looked))
)
places = st.lists(counts, min_size=1, max_size=12)
lines = st.sampled_from([5.0, 10.0, 20.0, 50.0])


def found_share(*pairs: tuple[int, int]) -> Share:
    """Make a share from hits and looked at each place."""
    found = share([Count(hits=hits, looked=looked) for hits, looked in pairs])
    assert found is not None
    return found


@given(counts)
def test_plain_interval_is_scipys(count: Count) -> None:
    """The interval of one place is Wilson's as scipy works it out."""
    found = share([count])
    assert found is not None
    theirs = stats.binomtest(count.hits, count.looked).proportion_ci(method="wilson")
    assert found.plain.low_pct == pytest.approx(100 * theirs.low, abs=1e-9)
    assert found.plain.high_pct == pytest.approx(100 * theirs.high, abs=1e-9)
    assert found.wide is None


@given(p=st.floats(0.02, 0.98), n=st.floats(3, 500), q=st.floats(1, 4))
def test_interval_ends_where_the_score_test_does(p: float, n: float, q: float) -> None:
    """Each end solves (p - L)^2 = q^2 L (1 - L) / n, found by a root finder."""
    found = wilson(p, n, q)
    ends = [
        brentq(lambda line: (p - line) ** 2 - q**2 * line * (1 - line) / n, *bracket)
        for bracket in ((0.0, p), (p, 1.0))
    ]
    assert (found.low_pct, found.high_pct) == pytest.approx([100 * one for one in ends])


@pytest.mark.parametrize(
    ("hits", "looked", "low", "high"),
    [(10, 100, 5.5, 17.4), (12, 100, 7.0, 19.8), (50, 100, 40.4, 59.6), (2, 20, 2.8, 30.1)],
)
def test_intervals_in_use(hits: int, looked: int, low: float, high: float) -> None:
    """The intervals that the stalk and ear walks rest on, to a tenth."""
    found = found_share((hits, looked)).plain
    assert (round(found.low_pct, 1), round(found.high_pct, 1)) == (low, high)


def test_twelve_in_a_hundred_is_not_told_from_ten() -> None:
    """Failures of 3, 1, 4, 2 and 2 of 20 cannot be told from 10 %, but lie below 20 %."""
    found = found_share(*((hits, 20) for hits in (3, 1, 4, 2, 2)))
    assert (found.hits, found.looked, found.places, found.pct) == (12, 100, 5, 12)
    assert found.times_wider == pytest.approx(1.25 * 5.2 / 100**2 / (0.12 * 0.88 / 100))
    assert found.wide is None
    assert told(found, 10) == CANNOT_TELL
    assert told(found, 20) == BELOW


def test_uneven_places_widen_the_interval() -> None:
    """The same 12 of 100, all at one place of five, are known far less well.

    Squares 9.6^2 + 4 x 2.4^2 = 115.2, so the variance is 1.25 x 115.2 / 100^2 and the plants count
    for one in 13.64; 2.776445 is t for 4 df, from a table.
    """
    found = found_share((12, 20), *((0, 20),) * 4)
    assert found.times_wider == pytest.approx(1.25 * 115.2 / 100**2 / (0.12 * 0.88 / 100))
    assert found.wide is not None
    by_hand = wilson(0.12, 100 / found.times_wider, 2.776445)
    assert found.wide.low_pct == pytest.approx(by_hand.low_pct, rel=1e-5)
    assert found.wide.high_pct == pytest.approx(by_hand.high_pct, rel=1e-5)
    assert found.sure == found.wide
    assert found.wide.low_pct < found.plain.low_pct < found.plain.high_pct < found.wide.high_pct


@given(places)
def test_share_lies_in_its_intervals(seen: list[Count]) -> None:
    """The share lies in both intervals, and the wide one holds the plain one."""
    found = share(seen)
    assert found is not None
    tiny = 1e-9
    assert 0 <= found.sure.low_pct <= found.plain.low_pct <= found.pct + tiny
    assert found.pct - tiny <= found.plain.high_pct <= found.sure.high_pct <= 100


@given(places)
def test_order_of_places_does_not_matter(seen: list[Count]) -> None:
    """The places may come in any order, and those where nothing was looked at do not count."""
    assert share([Count(hits=0, looked=0), *reversed(seen)]) == share(seen)


def test_nothing_looked_at_is_no_share() -> None:
    """Without a plant there is no share, and impossible counts are refused."""
    assert share([]) is None
    assert share([Count(hits=0, looked=0)]) is None
    with pytest.raises(ValueError, match="hits"):
        Count(hits=3, looked=2)
    for proportion, n in ((1.1, 10), (0.5, 0)):
        with pytest.raises(ValueError, match="proportion"):
            wilson(proportion, n, 2)


def test_none_and_all_end_at_the_end() -> None:
    """No plant of 20 gives an interval from exactly 0, all of 20 one to exactly 100 %."""
    none, everyone = found_share((0, 20)), found_share((20, 20))
    assert none.plain.low_pct == 0
    assert everyone.plain.high_pct == 100
    assert none.plain.high_pct == pytest.approx(100 - everyone.plain.low_pct)
    assert none.times_wider is None


def test_wide_interval_holds_the_truth() -> None:
    """Where places differ, the wide interval holds the truth about as often as it says.

    Plants alike at a place with a correlation of 0.1: the plain one is right in well under nine
    of ten cases.
    """
    rng = np.random.default_rng(11)
    spread, truth, runs = 0.1, 0.3, 1500
    size = (1 - spread) / spread
    chances = rng.beta(truth * size, (1 - truth) * size, (runs, 5))
    hits = rng.binomial(20, chances)
    found = [found_share(*((int(one), 20) for one in row)) for row in hits]

    def right(ends: list[tuple[float, float]]) -> float:
        return float(np.mean([low <= 100 * truth <= high for low, high in ends]))

    assert right([(one.plain.low_pct, one.plain.high_pct) for one in found]) < 0.8
    assert 0.92 < right([(one.sure.low_pct, one.sure.high_pct) for one in found]) < 0.97


@given(seen=places, line=lines)
def test_more_plants_decide(seen: list[Count], line: float) -> None:
    """That many more plants at the same share decide, and one fewer plant or place does not."""
    found = share(seen)
    assert found is not None
    more = more_to_tell(found, line)
    if more is None:
        assert found.pct == line
        return
    if told(found, line) != CANNOT_TELL:
        assert more.plants == 0
        return

    def decides(plants: float, quantile: float) -> bool:
        spread = (found.times_wider or 1) if found.wide else 1
        ends = wilson(found.pct / 100, plants / spread, quantile)
        return not ends.low_pct <= line <= ends.high_pct

    if more.places is None:
        assume(abs(found.pct - line) > 1e-6)
        total = found.looked + more.plants
        assert decides(total * (1 + 1e-9), 1.959964)
        assert not decides((total - 1) * (1 - 1e-9), 1.959964)
    else:
        each, total = found.looked / found.places, found.places + more.places
        assert decides(total * each * (1 + 1e-9), stats.t.ppf(0.975, total - 1))
        fewer = total - 1
        assert fewer == found.places or not decides(fewer * each, stats.t.ppf(0.975, fewer - 1))


def test_on_the_line_nothing_decides() -> None:
    """A share that lies on the line, or a line at nothing, is never told by more plants."""
    assert more_to_tell(found_share((10, 100)), 10) is None
    assert more_to_tell(found_share((0, 100)), 0) is None
    assert more_to_tell(found_share((3, 100)), 0) is not None


@given(before=places, after=places)
def test_change_turns_around(before: list[Count], after: list[Count]) -> None:
    """The change from one visit to another is the other way round with its sign turned."""
    first, second = share(before), share(after)
    assert first is not None
    assert second is not None
    there, back = change(first, second), change(second, first)
    assert there.points == pytest.approx(-back.points)
    assert there.low == pytest.approx(-back.high)
    assert there.low <= there.points <= there.high


def test_change_is_told() -> None:
    """From 10 to 40 of 100 rose, back fell, and 10 to 14 cannot be told."""
    low, middle, high = (found_share((hits, 100)) for hits in (10, 14, 40))
    assert change(low, high).told == ABOVE
    assert change(high, low).told == BELOW
    assert change(low, middle).told == CANNOT_TELL


def test_a_small_change_is_told_if_it_is_sure() -> None:
    """What counts is whether the interval of the change holds zero, and no other number."""
    assert Change(points=0.6, low=0.4, high=0.8).told == ABOVE
    assert Change(points=-0.6, low=-0.8, high=-0.4).told == BELOW
    assert Change(points=0.6, low=-0.1, high=1.3).told == CANNOT_TELL
