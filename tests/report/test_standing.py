"""The map of stops: one scale both ways, north up, numbers that never cover one another."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldbook.report import field_page
from fieldbook.report.drawings.shapes import NARROW, WIDE, Drawing, Line
from fieldbook.report.drawings.standing import Spot, draw_standing, flat_places
from fieldbook.units import System
from report.factory import context, full


def drawn(spots: list[Spot], width: float = WIDE, units: System = System.US) -> Drawing | None:
    """Draw a map."""
    return draw_standing(spots, units=units, width=width, title="Map", about="Stops")


@st.composite
def fields(draw: st.DrawFn) -> list[Spot]:
    """Draw up to thirty stops within a mile or so of a place, some of them on one spot."""
    latitude, longitude = draw(st.floats(-60, 60)), draw(st.floats(-179, 179))
    offsets = draw(st.lists(st.tuples(*[st.floats(-0.01, 0.01)] * 2), min_size=3, max_size=30))
    return [
        Spot(stop=n, latitude=latitude + a, longitude=longitude + b, left_out=n % 4 == 0)
        for n, (a, b) in enumerate(offsets, start=1)
    ]


@given(fields(), st.sampled_from([NARROW, WIDE]), st.sampled_from(list(System)))
def test_everything_lies_inside_and_no_number_covers_another(
    spots: list[Spot], width: float, units: System
) -> None:
    """Thirty stops on one spot can still be told apart."""
    drawing = drawn(spots, width, units)
    assert drawing is not None
    for dot in drawing.dots:
        assert dot.radius <= dot.x <= width - dot.radius
        assert dot.radius <= dot.y <= drawing.height - dot.radius
    boxes = [label.box for label in drawing.labels]
    for left, top, right, bottom in boxes:
        assert left >= -0.01
        assert right <= width + 0.01
        assert top >= -0.5
        assert bottom <= drawing.height
    numbers = [label.box for label in drawing.labels if label.text.isdigit()]
    for at, a in enumerate(numbers):
        for b in numbers[at + 1 :]:
            assert (
                min(a[2], b[2]) - max(a[0], b[0]) < 0.5 or min(a[3], b[3]) - max(a[1], b[1]) < 3.0
            )


@given(fields())
def test_distances_keep_their_proportion_and_north_is_up(spots: list[Spot]) -> None:
    """The scale is one: a dot twice as far is drawn twice as far, and farther north is higher."""
    drawing = drawn(spots)
    assert drawing is not None
    flat = flat_places(spots)
    bar = next(line for line in drawing.shapes if isinstance(line, Line) and line.role == "mean")
    feet = int(next(la.text for la in drawing.labels if " ft" in la.text)[:-3].replace(",", ""))
    px_per_ft = (bar.x2 - bar.x1) / feet
    for (a, b), (c, d) in zip(
        [(flat[0], flat[n]) for n in range(len(flat))],
        [(drawing.dots[0], drawing.dots[n]) for n in range(len(flat))],
        strict=True,
    ):
        assert math.dist((c.x, c.y), (d.x, d.y)) == pytest.approx(
            math.dist(a, b) * px_per_ft, abs=0.01
        )
        if b[1] > a[1] + 1:
            assert d.y < c.y


def test_two_places_give_no_map() -> None:
    """Two dots show no field."""
    assert drawn([Spot(stop=n, latitude=41, longitude=-93 + n) for n in (1, 2)]) is None


def test_left_out_stops_are_hollow() -> None:
    """Colour is not the only sign: they are drawn as rings, and the caption says why."""
    spots = [Spot(stop=n, latitude=41 + n / 1e3, longitude=-93, left_out=n == 2) for n in (1, 2, 3)]
    drawing = drawn(spots)
    assert drawing is not None
    assert [dot.role for dot in drawing.dots] == ["used", "left-out", "used"]


def test_the_report_shows_the_map_where_places_are_known() -> None:
    """Without three of them the part vanishes."""
    stops = tuple(
        replace(stop, latitude=41 + stop.stop / 1000, longitude=-93.0, place_typed=stop.stop == 2)
        for stop in full().stops
    )
    html = field_page(replace(full(), stops=stops), context())
    assert "Where we stood" in html
    assert "at 2 the scout typed the place" in html
    assert "Where we stood" not in field_page(full(), context())
