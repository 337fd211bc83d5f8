"""Ranges of days: meeting, covering, moving, open ends."""

from datetime import date, timedelta
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldbook.agronomy.ranges import DayRange, day_range, hull, meet

FIRST = date(2026, 7, 1)
ends = st.one_of(st.none(), st.integers(0, 30).map(lambda n: FIRST + timedelta(days=n)))


def _ordered(pair: tuple[date | None, date | None]) -> DayRange:
    first, last = pair
    if first and last and last < first:
        first, last = last, first
    return DayRange(earliest=first, latest=last)


ranges = st.tuples(ends, ends).map(_ordered)


@given(
    some=st.lists(ranges, min_size=1, max_size=4),
    day=st.integers(-2, 33).map(lambda n: FIRST + timedelta(days=n)),
)
def test_meet_and_hull_by_days(some: list[DayRange], day: date) -> None:
    """A day is in the meeting if it is in all ranges, and in the hull if it is in any."""
    shared = meet(some)
    assert (shared is not None and shared.holds(day)) == all(one.holds(day) for one in some)
    if any(one.holds(day) for one in some):
        assert hull(some).holds(day)


def test_hull_is_the_narrowest() -> None:
    """The hull ends where the outermost ranges end, and is open where one of them is."""
    a, b = DayRange(earliest=FIRST, latest=FIRST), DayRange(earliest=FIRST + timedelta(days=3))
    assert hull([a, b]) == DayRange(earliest=FIRST)


def test_moving_rounds_outward() -> None:
    """Parts of days widen a range and never narrow it; an open end stays open."""
    moved = DayRange(earliest=FIRST, latest=FIRST).moved(-1.5, 2.2)
    assert moved == DayRange(earliest=FIRST - timedelta(days=2), latest=FIRST + timedelta(days=3))
    assert DayRange().moved(1, 2) == DayRange()
    assert day_range(FIRST, -inf, 0.5) == DayRange(latest=FIRST + timedelta(days=1))


def test_backward_range_is_refused() -> None:
    """A range cannot end before it begins."""
    with pytest.raises(ValueError, match="cannot end before"):
        DayRange(earliest=FIRST, latest=FIRST - timedelta(days=1))


def test_days_at_the_ends() -> None:
    """Both ends belong to a range, and ranges that touch share that one day."""
    third, fifth = FIRST + timedelta(days=2), FIRST + timedelta(days=4)
    early = DayRange(earliest=FIRST, latest=third)
    late = DayRange(earliest=third, latest=fifth)
    assert [early.holds(day) for day in (FIRST, third, fifth)] == [True, True, False]
    assert not late.holds(FIRST)
    assert meet([early, late]) == DayRange(earliest=third, latest=third)
    assert meet([early, DayRange(earliest=fifth)]) is None
