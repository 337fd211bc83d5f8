"""The axes that drawings share: ticks where they belong, words where there is room."""

from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldbook.report.drawings.axes import Ends, day_axis, held, tick_words, value_axis
from fieldbook.report.drawings.shapes import Label, Line, Scale, round_ticks

WIDTH = 320.0
INSIDE = Ends(low=2, high=WIDTH - 2)


@given(low=st.floats(-50, 300), more=st.floats(0, 200))
def test_a_value_axis_has_a_mark_and_its_number_at_every_tick(low: float, more: float):
    """Marks lie on the scale in order, and every number stays inside."""
    ticks = round_ticks(low, low + more, 6)
    scale = Scale(low=ticks[0], high=ticks[-1], start=40, end=WIDTH - 40)
    line, *rest = value_axis(scale, ticks, 100, INSIDE)
    assert isinstance(line, Line)
    assert (line.x1, line.x2) == (40, WIDTH - 40)
    marks = [one.x1 for one in rest if isinstance(one, Line)]
    assert marks == pytest.approx([scale.at(tick) for tick in ticks])
    labels = [one for one in rest if isinstance(one, Label)]
    assert [one.text for one in labels] == tick_words(ticks)
    assert all(one.box[0] >= 2 - 1e-6 and one.box[2] <= WIDTH - 2 + 1e-6 for one in labels)


def test_numbers_of_one_axis_have_as_many_digits():
    """One tenth makes all of them tenths."""
    assert tick_words([0, 10, 20]) == ["0", "10", "20"]
    assert tick_words([0, 0.5, 1]) == ["0.0", "0.5", "1.0"]


@given(x=st.floats(0, WIDTH), words=st.text("abcdefgh ", min_size=1, max_size=20))
def test_held_words_stay_inside_and_over_their_place_where_they_can(x: float, words: str):
    """Words are moved only where an end is in their way."""
    label = held(x, 10, words, INSIDE, bold=True)
    left, _, right, _ = label.box
    assert left >= 2 - 1e-6
    assert right <= WIDTH - 2 + 1e-6
    if left > 2 and right < WIDTH - 2:
        assert (left + right) / 2 == pytest.approx(x)


@given(start=st.integers(0, 400), days=st.integers(1, 300))
def test_a_day_axis_marks_mondays_that_do_not_crowd(start: int, days: int):
    """Every mark is a Monday in the range, and no two words touch."""
    first = date(2026, 1, 1) + timedelta(start)
    last = first + timedelta(days)
    scale = Scale(low=0, high=days, start=60, end=WIDTH - 4)

    def at(day: date) -> float:
        return scale.at((day - first).days)

    _, *rest = day_axis(scale, (first, last), at, 50, Ends(low=60, high=WIDTH - 1), "en")
    marks = [one.x1 for one in rest if isinstance(one, Line)]
    mondays = [at(day) for off in range(days + 1) if (day := first + timedelta(off)).weekday() == 0]
    assert all(any(abs(mark - monday) < 1e-6 for monday in mondays) for mark in marks)
    assert marks[:1] == mondays[:1]
    labels = [one for one in rest if isinstance(one, Label)]
    assert len(labels) <= len(marks)
    for one, two in pairwise(labels):
        assert one.box[2] <= two.box[0]
