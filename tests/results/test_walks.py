"""The rule of a day's walks: closing first, then the nearest, within a limit, none lost for it."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import maximum_bipartite_matching

from fieldbook.results.walks import Layout, Spot, Walk, lay_out

MONDAY = date(2026, 7, 13)


def walk(
    field_id: str, closes: int, *, opens: int = 0, east: float | None = None, round_: str = "x"
) -> Walk:
    """Make a walk by days from Monday; `east` puts it so many hundredths of a degree east."""
    spot: Spot | None = None if east is None else (41.5, -93.5 + east / 100)
    first, last = (MONDAY + timedelta(days=days) for days in (opens, closes))
    return Walk(field_id=field_id, round=round_, opens=first, closes=last, spot=spot)


def days(layout: Layout) -> list[tuple[int, str]]:
    """Return what is walked, by days from Monday, in walking order."""
    return [((one.day - MONDAY).days, one.walk.field_id) for one in layout.placed]


def test_the_window_that_closes_first_comes_first() -> None:
    """With a field a day, fields are walked in the order in which their windows close."""
    laid = lay_out([walk("C", 9), walk("A", 3), walk("B", 5)], first=MONDAY, fields_a_day=1)
    assert days(laid) == [(0, "A"), (1, "B"), (2, "C")]


def test_then_the_nearest_field_comes() -> None:
    """From the field that closes first the day goes on to the nearest, not to the next closing."""
    far, near = walk("far", 6, east=50), walk("near", 9, east=1)
    laid = lay_out([far, near, walk("first", 3, east=0)], first=MONDAY, fields_a_day=2)
    assert days(laid) == [(0, "first"), (0, "near"), (1, "far")]


def test_the_way_goes_from_field_to_field() -> None:
    """The nearest is measured from the field just walked, and its miles are told."""
    fields = [
        walk("D", 9, east=9),
        walk("A", 1, east=0),
        walk("C", 9, east=6),
        walk("B", 9, east=4),
    ]
    laid = lay_out(fields, first=MONDAY, fields_a_day=4)
    assert [name for _, name in days(laid)] == ["A", "B", "C", "D"]
    miles = [one.miles for one in laid.placed]
    assert miles[0] is None
    # A hundredth of a degree of longitude at 41.5 north: 3958.8 mi * pi/180 * cos(41.5) / 100.
    assert miles[1:] == pytest.approx([4 * 0.51749, 2 * 0.51749, 3 * 0.51749], rel=1e-4)


def test_a_short_way_never_costs_a_window() -> None:
    """A field on its last day is walked before a nearer one that can wait."""
    fields = [walk("first", 0, east=0), walk("last chance", 0, east=50), walk("near", 5, east=1)]
    laid = lay_out(fields, first=MONDAY, fields_a_day=2)
    assert days(laid) == [(0, "first"), (0, "last chance"), (1, "near")]
    assert laid.unreached == ()


def test_a_field_without_coordinates_comes_after_those_with() -> None:
    """Nobody knows how far it is, so it is the last of the day, and its way is not told."""
    fields = [walk("A", 1, east=0), walk("unknown", 4), walk("B", 9, east=30)]
    laid = lay_out(fields, first=MONDAY, fields_a_day=3)
    assert [name for _, name in days(laid)] == ["A", "B", "unknown"]
    assert laid.placed[-1].miles is None


def test_no_field_is_walked_before_its_window_opens() -> None:
    """A scout waits for a window, even with nothing else to do."""
    assert days(lay_out([walk("A", 9, opens=4)], first=MONDAY, fields_a_day=8)) == [(4, "A")]


def test_what_no_day_is_left_for_is_told() -> None:
    """Three last days and one place: one field is walked, the two others are handed back."""
    fields = [walk("A", 0), walk("B", 0), walk("C", 0), walk("over", -1)]
    laid = lay_out(fields, first=MONDAY, fields_a_day=1)
    assert days(laid) == [(0, "A")]
    assert [one.field_id for one in laid.unreached] == ["B", "C", "over"]


def test_a_scout_walks_at_least_one_field() -> None:
    """A limit of nothing is refused."""
    with pytest.raises(ValueError, match="at least one"):
        lay_out([walk("A", 1)], first=MONDAY, fields_a_day=0)


@st.composite
def some_walks(draw: st.DrawFn) -> list[Walk]:
    count = draw(st.integers(0, 14))
    made = []
    for at in range(count):
        opens = draw(st.integers(-3, 8))
        closes = opens + draw(st.integers(-1, 5))
        east = draw(st.none() | st.integers(0, 60))
        made.append(walk(f"F{at}", closes, opens=opens, east=east))
    return made


def most_reachable(walks: list[Walk], limit: int) -> int:
    """Count by a maximum matching of walks and places, from another library."""
    places = [MONDAY + timedelta(days=at // limit) for at in range(20 * limit)]
    fits = np.array([[one.opens <= day <= one.closes for day in places] for one in walks])
    if not walks:
        return 0
    return int((maximum_bipartite_matching(csr_matrix(fits.astype(int))) >= 0).sum())


@given(some_walks(), st.integers(1, 4))
def test_every_layout_keeps_the_rule(walks: list[Walk], limit: int) -> None:
    """None twice, none outside its window, no day over its limit, and no more could be reached."""
    laid = lay_out(walks, first=MONDAY, fields_a_day=limit)
    placed = [one.walk for one in laid.placed]
    assert sorted((*placed, *laid.unreached), key=lambda one: one.field_id) == sorted(
        walks, key=lambda one: one.field_id
    )
    for one in laid.placed:
        assert max(MONDAY, one.walk.opens) <= one.day <= one.walk.closes
        assert 1 <= one.number <= limit
    assert len({(one.day, one.number) for one in laid.placed}) == len(placed)
    assert len(placed) == most_reachable(walks, limit)
    for one in laid.placed:
        if one.number == 1:
            later = [two.walk for two in laid.placed if two.day >= one.day]
            open_now = [two.closes for two in later if two.opens <= one.day]
            assert one.walk.closes == min(open_now)
