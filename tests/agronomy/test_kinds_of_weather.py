"""Weather of a window as moulds and leaf blights like it; every line is assumed and a setting."""

from datetime import date, timedelta

import pytest

from fieldbook.agronomy.windows import (
    WeatherDay,
    WindowWeather,
    is_hot_and_dry,
    is_warm_and_wet,
    weather_between,
)
from fieldbook.figures import shipped_figures

FIRST = date(2026, 7, 10)


def window(
    high: float, low: float, rain: float, *, days: int = 14, known: int = 14
) -> WindowWeather:
    """Make days that are all alike, the first ones known."""
    some = [
        WeatherDay(day=FIRST + timedelta(days=n), tmax_f=high, tmin_f=low, rain_in=rain)
        for n in range(known)
    ]
    return weather_between(some, FIRST, FIRST + timedelta(days=days - 1))


@pytest.mark.parametrize(
    ("high", "low", "rain", "expected"),
    [(94, 70, 0.0, True), (94, 70, 0.2, False), (80, 58, 0.0, False), (84, 70, 0.07, True)],
)
def test_hot_and_dry_needs_both(high: float, low: float, rain: float, expected: bool) -> None:
    """A warm mean of 77 degF or more, and less than half an inch of rain a week."""
    assert is_hot_and_dry(window(high, low, rain)) is expected


@pytest.mark.parametrize(
    ("high", "low", "rain", "expected"),
    [(84, 64, 0.2, True), (84, 64, 0.05, False), (74, 54, 0.2, False)],
)
def test_warm_and_wet_needs_both(high: float, low: float, rain: float, expected: bool) -> None:
    """A mean of 70 degF or more, and a third of the days wet."""
    assert is_warm_and_wet(window(high, low, rain)) is expected


def test_too_many_missing_days_cannot_tell() -> None:
    """With half of the days missing neither question has an answer."""
    thin = window(94, 70, 0.0, known=5)
    assert is_hot_and_dry(thin) is None
    assert is_warm_and_wet(thin) is None


def test_the_lines_are_the_season_s_own() -> None:
    """A season may set every line."""
    strict = shipped_figures().changed({"aspergillus.mean_f": 90})
    assert is_hot_and_dry(window(94, 70, 0.0), figures=strict) is False
