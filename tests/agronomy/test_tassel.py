"""When tassels shed: what a reading says, how visits narrow it, readings that cannot both be."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldbook.agronomy.ranges import DayRange
from fieldbook.agronomy.tassel import (
    BRANCHES,
    DAYS_DO_NOT_FIT,
    FINISHED,
    GOES_BACK,
    MIDDLE,
    NOT_YET,
    READINGS,
    WHOLE_SPIKE,
    ShedWindow,
    TasselReading,
    first_shed,
    shed_window,
    stop_shed,
)
from fieldbook.figures import shipped_figures

FIRST = date(2026, 7, 10)


def day(number: int) -> date:
    return FIRST + timedelta(days=number)


def read(number: int, reading: str, stop: int = 1) -> TasselReading:
    return TasselReading(stop=stop, day=day(number), reading=reading)


def days(earliest: int | None, latest: int | None) -> DayRange:
    return DayRange(
        earliest=None if earliest is None else day(earliest),
        latest=None if latest is None else day(latest),
    )


def window(*readings: TasselReading) -> ShedWindow:
    found = shed_window(readings)
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("reading", "began"),
    [
        (NOT_YET, days(1, None)),
        (MIDDLE, days(-1, 0)),
        (WHOLE_SPIKE, days(-3, 0)),
        (BRANCHES, days(-10, -2)),
        (FINISHED, days(None, -2)),
    ],
)
def test_one_reading(reading: str, began: DayRange) -> None:
    """A reading tells the day of shed, give or take a day, and never a day to come."""
    assert first_shed(read(0, reading)) == began


@given(
    start=st.integers(-8, 8),
    shed=st.integers(2, 10),
    visits=st.lists(st.integers(-10, 22), min_size=1, max_size=5, unique=True),
)
def test_true_day_stays_in_and_visits_only_narrow(start: int, shed: int, visits: list[int]) -> None:
    """Readings of a tassel of the assumed course never conflict, and keep its first day."""
    readings = []
    for visit in visits:
        number = visit - start + 1
        by_day = {1: MIDDLE, 2: WHOLE_SPIKE, 3: WHOLE_SPIKE}
        sees = NOT_YET if number < 1 else FINISHED if number > shed else by_day.get(number)
        readings.append(read(visit, sees or BRANCHES))
        found = stop_shed(readings)
        assert found.conflicts == ()
        assert found.began.holds(day(start))
        for one in readings:
            wide = first_shed(one)
            assert wide.earliest is None or wide.earliest <= (found.began.earliest or date.min)
            assert wide.latest is None or wide.latest >= (found.began.latest or date.max)


def test_contradictions_are_handed_back() -> None:
    """Readings that go back, or days that do not fit, are named, and the range covers each."""
    back = stop_shed([read(0, BRANCHES), read(2, MIDDLE)])
    assert [one.kind for one in back.conflicts] == [GOES_BACK]
    assert back.began == days(-10, 2)
    slow = stop_shed([read(0, MIDDLE), read(6, WHOLE_SPIKE)])
    assert [(one.kind, one.first.day, one.second.day) for one in slow.conflicts] == [
        (DAYS_DO_NOT_FIT, day(0), day(6))
    ]
    assert slow.began == days(-1, 6)


def test_finished_tassel_does_not_shed_again() -> None:
    """Branches seen after finished go back, even where the days would fit."""
    found = stop_shed([read(0, FINISHED), read(1, BRANCHES)])
    assert [one.kind for one in found.conflicts] == [GOES_BACK]


def test_field_window_of_even_stops() -> None:
    """Four stops on their first day: first plants up to six days ahead, fourteen days at most."""
    found = window(*(read(0, MIDDLE, stop) for stop in range(1, 5)))
    assert found.half == days(-1, 0)
    assert found.start == days(-7, 0)
    assert found.end == days(2, 13)


def test_field_window_of_uneven_stops() -> None:
    """The first stop starts the window, and a stop not yet shedding leaves its end open."""
    found = window(
        read(0, BRANCHES, 1), read(0, WHOLE_SPIKE, 2), read(0, MIDDLE, 3), read(0, NOT_YET, 4)
    )
    assert found.start == days(-16, -2)
    assert found.half == days(-3, 0)
    assert found.end == days(4, None)


def test_later_visit_narrows_the_end() -> None:
    """A stop still shedding moves the end on; every stop finished leaves the last plants."""
    first = [read(0, MIDDLE, 1), read(0, WHOLE_SPIKE, 2)]
    shedding = window(*first, read(9, BRANCHES, 1), read(9, BRANCHES, 2))
    assert shedding.end == days(9, 13)
    over = window(*first, read(6, FINISHED, 1), read(5, FINISHED, 2))
    assert over.end == days(2, 5 + 6)
    assert over.conflicts == ()


def test_late_stop_ends_the_window() -> None:
    """A stop eight days behind ends the window with its own plants' longest shed."""
    found = window(read(0, BRANCHES, 1), read(8, MIDDLE, 2))
    assert found.start == days(-16, -2)
    assert found.end == days(10, 8 + 9)


def test_finished_field_is_over_even_with_a_slip() -> None:
    """A stop whose readings go back has an open range, but its last one still closes the end."""
    found = window(read(0, MIDDLE), read(1, NOT_YET), read(9, FINISHED))
    assert [one.kind for one in found.conflicts] == [GOES_BACK]
    assert found.stops[0].began.latest is None
    assert found.end.latest == day(8 + 6)


def test_nobody_sheds_yet() -> None:
    """Without shed only the beginning is bounded."""
    found = window(read(0, NOT_YET, 1), read(0, NOT_YET, 2))
    assert (found.start, found.half) == (days(-5, None), days(1, None))
    assert found.end == days(4, None)


@given(
    readings=st.lists(
        st.builds(read, st.integers(0, 20), st.sampled_from(READINGS), stop=st.integers(1, 4)),
        min_size=1,
        max_size=12,
    )
)
def test_any_readings_give_a_window(readings: list[TasselReading]) -> None:
    """Whatever was seen, the window's ranges are in order and no stop is lost."""
    found = window(*readings)
    assert {stop.stop for stop in found.stops} == {one.stop for one in readings}
    if found.start.latest and found.half.latest:
        assert found.start.latest <= found.half.latest
    if found.start.earliest and found.end.earliest:
        assert found.start.earliest <= found.end.earliest


def test_season_may_change_the_day_numbers() -> None:
    """The day numbers are figures, so a season can set them."""
    late = shipped_figures().changed({"tassel.middle_days": (1, 3)})
    assert first_shed(read(0, MIDDLE), figures=late) == days(-3, 0)


def test_unknown_readings_are_refused() -> None:
    """A reading that does not exist, or of two stops at once, is refused; none gives none."""
    with pytest.raises(ValueError, match="no tassel reading"):
        read(0, "golden")
    with pytest.raises(ValueError, match="exactly one stop"):
        stop_shed([read(0, MIDDLE, 1), read(0, MIDDLE, 2)])
    assert shed_window([]) is None
