"""The curve of heat: this year over past ones, stages on it, and when it vanishes."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldbook.agronomy.heat import DailyTemps, gdd_since_planting_f
from fieldbook.figures import shipped_figures
from fieldbook.report import field_page
from fieldbook.report.drawings.heat import Mark, draw_heat
from fieldbook.report.drawings.shapes import NARROW, WIDE, Area
from fieldbook.report.fewer import fewer_pictures
from fieldbook.results.heat_curve import heat_curve
from fieldbook.results.result import HeatCurve
from report.factory import context, full

PLANTED = date(2026, 5, 1)
STAGES = full().stages


def temps(year: int, days: int = 365, warm: float = 0.0) -> DailyTemps:
    """Give a year of even days, so much warmer."""
    high, low = np.full(days, 80.0 + warm), np.full(days, 60.0 + warm)
    return DailyTemps(first=date(year, 1, 1), tmax_f=high, tmin_f=low)


def curve(years: int = 12, days: int = 230) -> HeatCurve:
    """Work out a curve."""
    past = {2026 - n: temps(2026 - n, warm=n / 10) for n in range(1, years + 1)}
    found = heat_curve(PLANTED, temps(2026, days, 1.0), past, STAGES, shipped_figures())
    assert found is not None
    return found


def test_the_curve_is_the_sum_that_the_report_tells() -> None:
    """It starts with nothing on the day of planting and ends at the heat so far."""
    found = curve()
    own = temps(2026, 230, 1.0)
    assert found.own_f[0] == 0
    assert found.own_f[-1] == pytest.approx(gdd_since_planting_f(PLANTED, own)[-1])
    assert len(found.middle_f) > len(found.own_f)


def test_past_years_make_a_band_around_their_middle() -> None:
    """Ends are eight tenths of many years, all of a few; the sums never fall."""
    for years, held in ((12, 80), (2, 100)):
        found = curve(years)
        assert (found.years, found.held_pct) == (years, held)
        ends = zip(found.low_f, found.middle_f, found.high_f, strict=True)
        assert all(low <= middle <= high for low, middle, high in ends)
        assert list(found.middle_f) == sorted(found.middle_f)
    last = len(curve(2).low_f) - 1
    warm, cool = (
        gdd_since_planting_f(date(year, 5, 1), temps(year, warm=more))
        for year, more in ((2024, 0.2), (2025, 0.1))
    )
    skip = (date(2025, 5, 1) - date(2025, 1, 1)).days
    assert curve(2).low_f[last] == pytest.approx(cool[skip + last])
    assert curve(2).high_f[last] == pytest.approx(warm[skip + 1 + last], rel=0.02)


def test_without_weather_or_past_years_there_is_no_curve() -> None:
    """A line against nothing says nothing."""
    figures = shipped_figures()
    assert heat_curve(PLANTED, None, {2025: temps(2025)}, STAGES, figures) is None
    assert heat_curve(PLANTED, temps(2026), {}, STAGES, figures) is None
    late = DailyTemps(first=date(2026, 6, 1), tmax_f=np.array([80.0]), tmin_f=np.array([60.0]))
    assert heat_curve(PLANTED, late, {2025: temps(2025)}, STAGES, figures) is None


@given(
    st.lists(st.integers(0, 200), max_size=9, unique=True),
    st.integers(125, 300),
    st.sampled_from([NARROW, WIDE]),
    st.sampled_from([1.0, 5 / 9]),
)
def test_everything_lies_inside_and_no_name_covers_another(
    marked: list[int], days: int, width: float, factor: float
) -> None:
    """Whatever stages there are, their names stand apart and their dots on the lines."""
    found = curve(days=days)
    marks = [Mark(name=f"R{at}", day=PLANTED + timedelta(at)) for at in sorted(marked)]
    months = [(date(2026, month, 1), "May") for month in range(1, 13)]
    drawing = draw_heat(
        found, marks, months, factor=factor, width=width, title="Heat", about="Heat"
    )
    band = next(shape for shape in drawing.shapes if isinstance(shape, Area))
    for x, y in (*band.points, *((dot.x, dot.y) for dot in drawing.dots)):
        assert 0 <= x <= width
        assert 0 <= y <= drawing.height
    names = [label for label in drawing.labels if label.text.startswith("R")]
    for at, a in enumerate(names):
        for b in names[at + 1 :]:
            assert a.y != b.y or a.box[2] <= b.box[0] or b.box[2] <= a.box[0]
    reached = [mark for mark in marks if (mark.day - PLANTED).days < len(found.own_f)]
    roles = [dot.role for dot in drawing.dots]
    assert roles.count("day-passed") == len(reached)


def test_the_report_shows_the_curve_and_says_what_is_what() -> None:
    """Words stand for the picture where it can't be seen; without it the part vanishes."""
    html = field_page(replace(full(), heat_curve=curve()), context())
    assert "Heavy line: this year" in html
    assert "Heat since planting:" not in field_page(full(), context())


def test_a_report_gives_up_the_curve_first_and_then_the_map() -> None:
    """Pictures that only explain go, one by one; no stop is lost."""
    stops = tuple(replace(stop, latitude=41.0, longitude=-93.0) for stop in full().stops)
    result = replace(full(), heat_curve=curve(), stops=stops)
    first, second, third = fewer_pictures(result)
    assert first == result
    assert (second.heat_curve, second.stops) == (None, stops)
    assert third.stops == full().stops
