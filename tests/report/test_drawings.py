"""Geometry: what the drawings promise for any field."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from itertools import combinations, groupby

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from fieldbook.agronomy.ranges import DayRange
from fieldbook.figures import shipped_figures
from fieldbook.report.amounts import Amounts
from fieldbook.report.daylinepicture import day_line
from fieldbook.report.drawings import NARROW, WIDE, Drawing, StageRow
from fieldbook.report.drawings import draw_dayline as dayline
from fieldbook.report.drawings import draw_ear as ear
from fieldbook.report.drawings import draw_stops as stops
from fieldbook.report.drawings import draw_strip as strip
from fieldbook.report.drawings.dayline import DayLine, GapBar
from fieldbook.report.drawings.shapes import Area, Dot, Line, Rect, rows_apart, spread
from fieldbook.report.fit import first_page_holds
from fieldbook.report.words import REASONS
from fieldbook.results.result import FieldResult, StageResult
from fieldbook.results.yield_result import EarsResult
from fieldbook.units import System
from report import factory

SILKED = date(2026, 7, 14)
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
        elif isinstance(shape, Area):
            yield from shape.points
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
    heights = [sum(rect.height for rect in at) for at in slices_of(drawing)]
    assert len(heights) == 40
    assert max(heights) == pytest.approx(min(heights))


def slices_of(drawing: Drawing) -> list[list[Rect]]:
    """Return the rectangles over the middle of each kernel place of the ear, butt to tip."""
    left = min(rect.x for rect in drawing.rects)
    right = max(rect.x + rect.width for rect in drawing.rects)
    wide = (right - left) / len(factory.EARS.share_set)
    middles = [left + (place + 0.5) * wide for place in range(len(factory.EARS.share_set))]
    return [[rect for rect in drawing.rects if rect.x <= x < rect.x + rect.width] for x in middles]


@widths
def test_the_height_of_a_slice_is_the_share_of_set_kernels(width: float):
    """Twice the share is twice the height."""
    drawing = draw_ear_of(factory.EARS, width)
    assert drawing is not None
    slices = slices_of(drawing)
    kept = [sum(rect.height for rect in at if rect.role == "set") for at in slices]
    full = sum(rect.height for rect in slices[0])
    assert [height / full for height in kept] == pytest.approx(factory.EARS.share_set)


@widths
def test_neighbours_that_are_alike_are_one_rectangle(width: float):
    """Places in a row that hold the same share of kernels are drawn at once."""
    drawing = draw_ear_of(factory.EARS, width)
    assert drawing is not None
    stretches = [share for share, _ in groupby(factory.EARS.share_set)]
    kept = [rect for rect in drawing.rects if rect.role == "set"]
    assert len(kept) == len(stretches) < len(factory.EARS.share_set)


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


# ---- the day line --------------------------------------------------------------------------


def line_of(result: FieldResult) -> DayLine:
    line = day_line(result, Amounts(units=System.US), shipped_figures())
    assert line is not None
    return line


@widths
@pytest.mark.parametrize(
    "make", [factory.full, factory.base_gap, factory.failed, factory.only_pollinated]
)
def test_every_day_line_is_sound(make, width: float):
    """Everything lies inside, and no word on another."""
    assert_sound(dayline(line_of(make()), width=width, **ALT))


days_off = st.none() | st.integers(-60, 60)


@given(
    ranges=st.lists(st.tuples(days_off, days_off), min_size=2, max_size=7),
    hot=st.sets(st.integers(0, 46)),
    today=st.integers(-20, 90),
)
def test_any_day_line_is_sound(
    ranges: list[tuple[int | None, int | None]], hot: set[int], today: int
):
    """Open, long and far ranges are cut at the frame; any weather and any day fits."""
    made = []
    for pair in ranges:
        ends = sorted(off for off in pair if off is not None) if None not in pair else pair
        first, last = (None if off is None else SILKED + timedelta(off) for off in ends)
        made.append(DayRange(earliest=first, latest=last))
    began, ended = made[0].earliest, made[1].latest
    assume(began is None or ended is None or began <= ended)
    plain = line_of(factory.base_gap())
    line = replace(
        plain,
        today=SILKED + timedelta(today),
        days=[replace(one, hot=at in hot, warm=at in hot) for at, one in enumerate(plain.days)],
        shed=(made[0], made[1]),
        gaps=[GapBar(name="early silks lost", within=one, role="gap-unset") for one in made[2:]],
    )
    for width in (NARROW, WIDE):
        assert_sound(dayline(line, width=width, **ALT))


def test_silks_come_out_later_toward_the_tip():
    """The band leans to later days, and the typical ear lies in it."""
    silks = line_of(factory.base_gap()).silks
    upper = [one for one in silks if one.position >= 0.4]
    assert [one.likely for one in upper] == sorted(one.likely for one in upper)
    assert all(one.earliest <= one.likely <= one.latest for one in silks)
    tip, first = silks[-1], min(silks, key=lambda one: one.likely)
    assert tip.likely - first.likely == pytest.approx(6.0)


def test_a_bar_covers_its_days_to_the_end_of_the_last():
    """Seven days are seven times as wide as one; an open end runs to the edge."""
    line = line_of(factory.base_gap())
    one, seven = (
        replace(line, gaps=[GapBar(name="x", within=DayRange(earliest=SILKED, latest=last),
                                   role="gap-unset")])
        for last in (SILKED, SILKED + timedelta(6))
    )  # fmt: skip
    open_end = replace(
        line, gaps=[GapBar(name="x", within=DayRange(earliest=SILKED), role="gap-unset")]
    )
    single, week, endless = (
        next(rect for rect in dayline(made, width=WIDE, **ALT).rects if rect.role == "gap-unset")
        for made in (one, seven, open_end)
    )
    assert week.width == pytest.approx(7 * single.width)
    assert endless.x + endless.width == pytest.approx(WIDE - 3)


def test_weather_marks_stand_on_their_days():
    """As many marks as days that have them, and a row only where there is one."""
    drawing = dayline(line_of(factory.base_gap()), width=WIDE, **ALT)
    line = line_of(factory.base_gap())
    shown = [one for one in line.days if line.first <= one.day <= line.last]
    roles = [rect.role for rect in drawing.rects]
    assert roles.count("hot") == sum(one.hot for one in shown) == 3
    assert roles.count("rain") == sum(one.rain_in > 0 for one in shown)
    dull = replace(line, days=[replace(one, hot=False) for one in line.days])
    texts = [label.text for label in dayline(dull, width=WIDE, **ALT).labels]
    assert "day over 95 °F" not in texts
    assert "night over 70 °F" in texts


def test_pollen_is_sure_only_between_its_ranges():
    """The dark band runs from the latest first pollen to the earliest last pollen."""
    line = line_of(factory.full())
    roles = [rect.role for rect in dayline(line, width=WIDE, **ALT).rects]
    assert roles.count("pollen") == roles.count("pollen-maybe") == 1
    early, late = DayRange(latest=SILKED), DayRange(latest=SILKED + timedelta(9))
    unsure = dayline(replace(line, shed=(early, late)), width=WIDE, **ALT)
    assert "pollen" not in [rect.role for rect in unsure.rects]
    nobody = dayline(replace(line, shed=None), width=WIDE, **ALT)
    assert "pollen" not in [label.text for label in nobody.labels]


def test_a_field_without_a_silking_date_has_no_day_line():
    """There is no day to draw around."""
    lost = factory.full(pollination=None, stages=())
    assert day_line(lost, Amounts(units=System.US), shipped_figures()) is None


def test_textures_tell_kinds_apart():
    """Shrunken tips are dotted, what never set is hatched."""
    aborted = factory.full(gaps=factory.missing(factory.SILKED, tip_aborted=12, kernels_set=26))
    assert {gap.role for gap in line_of(aborted).gaps} == {"gap-aborted"}
    assert {gap.role for gap in line_of(factory.base_gap()).gaps} == {"gap-unset"}


# ---- the first page ------------------------------------------------------------------------


def test_a_full_first_page_sends_its_last_picture_behind():
    """The guess grows with words and drawings, and A4 is longer than Letter."""
    drawing = dayline(line_of(factory.full()), width=WIDE, **ALT)
    parts = [(("word " * 80,), drawing)]
    assert first_page_holds(("lead",), (), parts, "letter")
    assert not first_page_holds(("lead",), (), parts * 5, "letter")
    tall = [(("word " * 80,), None)] * 7
    assert first_page_holds(("lead",), (), tall, "a4")
    assert not first_page_holds(("lead",), (), [*tall, *tall[:2]], "a4")


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


def test_shapes_of_one_ink_are_drawn_in_one_go():
    """An ear of many slices is few paths; all shapes stay in their order, but labels come last."""
    drawn = assert_sound(draw_ear_of(factory.EARS, WIDE))
    others = tuple(shape for shape in drawn.shapes if shape.kind != "label")
    assert tuple(shape for run in drawn.runs for shape in run) == (*others, *drawn.labels)
    ticks = [run for run in drawn.runs if run[0].role == "axis"]
    assert len(ticks) < sum(map(len, ticks)) / 2
    assert all(len({(one.kind, one.role) for one in run}) == 1 for run in drawn.runs)
    slices = [run for run in drawn.runs if run[0].kind == "rect"]
    assert len(slices) == len({run[0].role for run in slices}) < len(drawn.rects)
