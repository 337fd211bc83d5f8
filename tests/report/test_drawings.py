"""Geometry: what the drawings promise for any field."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldbook.report.drawings import NARROW, WIDE, Drawing, StageRow
from fieldbook.report.drawings import draw_ear as ear
from fieldbook.report.drawings import draw_stops as stops
from fieldbook.report.drawings import draw_strip as strip
from fieldbook.report.drawings.shapes import Dot, Line, Rect, rows_apart, spread
from fieldbook.report.words import REASONS
from fieldbook.season.result import EarsResult, FieldResult, StageResult
from fieldbook.units import System
from report import factory

ALT = {"title": "t", "about": "a"}
widths = pytest.mark.parametrize("width", [NARROW, WIDE])


def ends(drawing: Drawing) -> Iterator[tuple[float, float]]:
    """Yield the corners of every shape."""
    for shape in drawing.shapes:
        if isinstance(shape, Rect):
            yield from ((shape.x, shape.y), (shape.x + shape.width, shape.y + shape.height))
        elif isinstance(shape, Line):
            yield from ((shape.x1, shape.y1), (shape.x2, shape.y2))
        elif isinstance(shape, Dot):
            yield (shape.x - shape.radius, shape.y - shape.radius)
            yield (shape.x + shape.radius, shape.y + shape.radius)
        else:
            left, top, right, bottom = shape.box
            yield from ((left, top), (right, bottom))


def assert_sound(drawing: Drawing | None) -> Drawing:
    """Everything lies inside of the view, and no text lies on another."""
    assert drawing is not None
    for x, y in ends(drawing):
        assert -0.01 <= x <= drawing.width + 0.01
        assert -0.01 <= y <= drawing.height + 0.01
    for one, two in combinations(drawing.labels, 2):
        a, b = one.box, two.box
        apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
        assert apart, f"{one.text!r} lies on {two.text!r}"
    return drawing


def draw_ear_of(ears: EarsResult, width: float) -> Drawing | None:
    return ear(ears, width=width, **ALT)


def draw_stops_of(result: FieldResult, width: float, units: System = System.US) -> Drawing | None:
    return stops(
        result.stops,
        result.yield_,
        result.own_average_bu_ac,
        REASONS,
        units=units,
        width=width,
        **ALT,
    )


# ---- the ear -------------------------------------------------------------------------------


@widths
def test_slices_fill_the_ear_at_every_place(width: float):
    """Where shares sum to one, the slices of a place stack up to the full height."""
    drawing = assert_sound(draw_ear_of(factory.EARS, width))
    by_place: dict[float, list[Rect]] = {}
    for rect in drawing.rects:
        by_place.setdefault(round(rect.x, 6), []).append(rect)
    assert len(by_place) == 40
    heights = [sum(rect.height for rect in rects) for rects in by_place.values()]
    assert max(heights) == pytest.approx(min(heights))


@widths
def test_the_height_of_a_slice_is_the_share_of_set_kernels(width: float):
    """Twice the share is twice the height."""
    drawing = draw_ear_of(factory.EARS, width)
    assert drawing is not None
    kept = [rect.height for rect in drawing.rects if rect.role == "set"]
    full = sum(rect.height for rect in drawing.rects if rect.x == drawing.rects[0].x)
    assert [height / full for height in kept] == pytest.approx(factory.EARS.share_set)


parts = st.tuples(*[st.floats(0, 1) for _ in range(4)]).filter(lambda some: sum(some) > 0.01)


@given(shares=st.lists(parts, min_size=1, max_size=80), ears=st.integers(1, 999))
def test_any_ear_is_sound(shares: list[tuple[float, ...]], ears: int):
    """Any mix of set, missing and aborted kernels gives a picture without overlaps."""
    kinds = zip(*[[part / sum(some) for part in some] for some in shares], strict=True)
    names = ("share_set", "share_unset", "share_aborted", "share_scattered")
    made = {name: tuple(kind) for name, kind in zip(names, kinds, strict=True)}
    result = replace(factory.EARS, complete_ears=ears, rings=float(len(shares)), **made)
    for width in (NARROW, WIDE):
        assert_sound(draw_ear_of(result, width))


def test_words_stand_only_where_something_is_missing():
    """A full ear points at nothing; a bare tip is named."""
    full = replace(
        factory.EARS,
        share_set=(1.0,) * 40,
        share_unset=(0.0,) * 40,
        share_aborted=(0.0,) * 40,
        share_scattered=(0.0,) * 40,
    )
    drawing = draw_ear_of(full, WIDE)
    assert drawing is not None
    assert not [label for label in drawing.labels if "never" in label.text]
    bare = draw_ear_of(factory.EARS, WIDE)
    assert bare is not None
    assert [label.text for label in bare.labels if "never" in label.text] == ["never set, or lost"]


def test_no_complete_ear_gives_no_picture():
    """Ears that were looked at in part have no picture."""
    assert draw_ear_of(replace(factory.EARS, complete_ears=0, share_set=()), WIDE) is None


# ---- yield by stop -------------------------------------------------------------------------


@widths
@pytest.mark.parametrize("units", list(System))
@pytest.mark.parametrize(
    "make",
    [factory.full, factory.one_stop, factory.thirty_stops, factory.only_edge],
)
def test_every_field_of_stops_is_sound(make, width: float, units: System):
    """Few, many or only left-out stops: no number lies on another."""
    result = make()
    drawing = assert_sound(draw_stops_of(result, width, units))
    with_yield = [one for one in result.stops if one.yield_bu_ac is not None]
    assert len(drawing.dots) == len(with_yield)


@given(
    values=st.lists(st.floats(0, 350), min_size=1, max_size=40),
    out=st.lists(st.sampled_from(sorted(REASONS)[:4]), max_size=12),
)
def test_any_stops_are_sound(values: list[float], out: list[str]):
    """Any spread of yields and reasons fits both widths."""
    why = [*out, *[None] * len(values)]
    made = tuple(
        factory.stop(number, value, left_out=why[number - 1])
        for number, value in enumerate(values, start=1)
    )
    result = factory.full(stops=made)
    for width in (NARROW, WIDE):
        assert_sound(draw_stops_of(result, width))


def test_dots_lie_on_the_axis_by_their_yield():
    """A higher yield lies further right, in proportion."""
    drawing = draw_stops_of(factory.full(), WIDE)
    assert drawing is not None
    used = [dot.x for dot in drawing.dots if dot.role == "used"]
    yields = sorted(one.yield_bu_ac for one in factory.STOPS if one.left_out is None)
    assert used == sorted(used)
    px = (used[-1] - used[0]) / (yields[-1] - yields[0])
    assert [x - used[0] for x in used] == pytest.approx([px * (y - yields[0]) for y in yields])


def test_left_out_stops_are_hollow_and_say_why():
    """The reason stands in the picture, not in a legend."""
    drawing = draw_stops_of(factory.full(), WIDE)
    assert drawing is not None
    assert [dot.role for dot in drawing.dots].count("left-out") == 1
    assert "edge" in [label.text for label in drawing.labels]


def test_counting_has_no_bar_under_three_stops():
    """Without a spread there is only the bar of kernel weight."""
    drawing = draw_stops_of(factory.one_stop(), WIDE)
    assert drawing is not None
    assert [rect.role for rect in drawing.rects] == ["weight"]


def test_no_yield_gives_no_picture():
    """Stops without a yield have no place on the axis."""
    assert draw_stops_of(factory.full(stops=(), yield_=None), WIDE) is None


# ---- the season strip ----------------------------------------------------------------------


def rows_of(stages: tuple[StageResult, ...]) -> list[StageRow]:
    return [StageRow(name=one.stage, stage=one, when="18 to 23 August") for one in stages]


@widths
def test_the_strip_is_sound_and_today_lies_between(width: float):
    """What has passed lies left of today, what is ahead right of it."""
    rows = rows_of(factory.STAGES)
    drawing = assert_sound(strip(rows, [factory.SEEN], factory.TODAY, width=width, **ALT))
    today = next(
        shape.x1 for shape in drawing.shapes if isinstance(shape, Line) and shape.role == "today"
    )
    assert all(dot.x <= today for dot in drawing.dots if dot.role == "day-passed")
    assert all(rect.x > today for rect in drawing.rects if rect.role == "ahead")


@given(
    offsets=st.lists(st.tuples(st.integers(-90, 90), st.integers(0, 40)), min_size=1, max_size=8),
    visits=st.lists(st.integers(-60, 0), max_size=5),
)
def test_any_strip_is_sound(offsets: list[tuple[int, int]], visits: list[int]):
    """Any dates fit both widths without overlaps."""
    today = factory.TODAY
    stages = tuple(
        factory.stage(
            f"R{number}",
            today + timedelta(start + length // 2),
            (today + timedelta(start), today + timedelta(start + length)),
        )
        for number, (start, length) in enumerate(offsets)
    )
    seen = [today + timedelta(back) for back in visits]
    for width in (NARROW, WIDE):
        assert_sound(strip(rows_of(stages), seen, today, width=width, **ALT))


def test_a_strip_without_dates_is_not_drawn():
    """A stage without any date has no place on the scale."""
    nowhere = factory.stage("R5", None, None)
    assert strip(rows_of((nowhere,)), [], date(2026, 8, 1), width=WIDE, **ALT) is None


# ---- layout --------------------------------------------------------------------------------


@given(boxes=st.lists(st.tuples(st.floats(-50, 400), st.floats(1, 60)), min_size=1, max_size=4))
def test_spread_keeps_order_and_gap(boxes: list[tuple[float, float]]):
    """Boxes that fit end up inside, in order and apart."""
    boxes.sort()
    wide = [width for _, width in boxes]
    lefts = spread([left for left, _ in boxes], wide, 0, 320, 10)
    rights = [left + width for left, width in zip(lefts, wide, strict=True)]
    assert lefts[0] >= -1e-6
    assert rights[-1] <= 320 + 1e-6
    assert all(
        after - before >= 10 - 1e-6 for before, after in zip(rights, lefts[1:], strict=False)
    )


@given(spans=st.lists(st.tuples(st.floats(0, 300), st.floats(1, 60)), min_size=1, max_size=30))
def test_rows_apart_never_overlap(spans: list[tuple[float, float]]):
    """Two spans in one row keep their distance."""
    made = sorted((start, start + length) for start, length in spans)
    rows = rows_apart(made, 2)
    for (one, row), (two, other) in combinations(zip(made, rows, strict=True), 2):
        assert row != other or one[1] + 2 <= two[0]
