"""Weather inside a range of days, gaps counted, and the Gibberella watch."""

import csv
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldbook.agronomy.windows import (
    NO_SIGNAL,
    RAISED,
    SOME,
    UNKNOWN,
    WeatherDay,
    gibberella_watch,
    weather_between,
)
from fieldbook.figures import shipped_figures

LINCOLN = Path(__file__).parent.parent / "data" / "lincoln-2016.csv"
FIRST = date(2026, 7, 20)
LAST = FIRST + timedelta(days=21)


def days(
    rain: list[float | None], high: float | None = 84, low: float | None = 58
) -> list[WeatherDay]:
    return [
        WeatherDay(day=FIRST + timedelta(days=n), tmax_f=high, tmin_f=low, rain_in=inches)
        for n, inches in enumerate(rain)
    ]


def test_lincoln_summer() -> None:
    """Lincoln, Nebraska, June to August 2016: four days of 95 degF and more, one day missing."""
    with LINCOLN.open(encoding="utf-8", newline="") as lines:
        seen = [
            WeatherDay(
                day=date.fromisoformat(row["DATE"]),
                tmax_f=float(row["TMAX"]) if row["TMAX"] else None,
                tmin_f=float(row["TMIN"]) if row["TMIN"] else None,
            )
            for row in csv.DictReader(lines)
        ]
    at_least = shipped_figures().changed({"weather.hot_day_f": 94.9})
    found = weather_between(seen, date(2016, 6, 1), date(2016, 8, 31), figures=at_least)
    assert (found.days, found.temps_missing, found.rain_missing) == (92, 1, 92)
    assert found.hot_days == 4
    assert (found.wet_days, found.longest_dry_run, found.rain_in) == (None, None, None)


def test_counts_of_a_week() -> None:
    """Over 95 and over 70 are counted, not 95 and 70 themselves; 0.1 in is wet."""
    seen = [
        WeatherDay(day=FIRST + timedelta(days=n), tmax_f=high, tmin_f=low, rain_in=rain)
        for n, (high, low, rain) in enumerate(
            [(95, 70, 0.0), (96, 71, 0.09), (99, 75, 0.1), (80, 60, 0.0), (80, 60, 0.5)]
        )
    ]
    found = weather_between(seen, FIRST, FIRST + timedelta(days=4))
    assert (found.hot_days, found.warm_nights, found.wet_days) == (2, 2, 2)
    assert found.longest_dry_run == 2
    assert found.rain_in == pytest.approx(0.69)
    assert found.mean_f == pytest.approx((82.5 + 83.5 + 87 + 70 + 70) / 5)


def test_missing_days_are_counted_and_end_a_dry_run() -> None:
    """A day without rain data is not a dry day, and a day not given is missing altogether."""
    found = weather_between(days([0, 0, None, 0, 0, 0]), FIRST, FIRST + timedelta(days=7))
    assert (found.days, found.rain_missing, found.temps_missing) == (8, 3, 2)
    assert found.longest_dry_run == 3
    assert weather_between(days([0.3]), FIRST, FIRST).wet_days == 1
    with pytest.raises(ValueError, match="cannot end before"):
        weather_between([], FIRST, FIRST - timedelta(days=1))


@given(rain=st.lists(st.one_of(st.none(), st.sampled_from([0.0, 0.05, 0.1, 1.2])), max_size=30))
def test_parts_of_a_window_add_up(rain: list[float | None]) -> None:
    """Counts of two neighbouring windows add up to those of both, a dry run at most."""
    seen = days(rain)
    middle, end = FIRST + timedelta(days=9), FIRST + timedelta(days=19)
    whole = weather_between(seen, FIRST, end)
    parts = (
        weather_between(seen, FIRST, middle),
        weather_between(seen, middle + timedelta(days=1), end),
    )
    assert whole.rain_missing == sum(part.rain_missing for part in parts)
    assert (whole.wet_days or 0) == sum(part.wet_days or 0 for part in parts)
    runs = [part.longest_dry_run or 0 for part in parts]
    assert max(runs) <= (whole.longest_dry_run or 0) <= sum(runs)


@pytest.mark.parametrize(
    ("wet_days", "high", "late_silks", "level"),
    [
        (7, 84, False, RAISED),
        (6, 84, False, SOME),
        (7, 90, False, SOME),
        (6, 90, False, NO_SIGNAL),
        (6, 90, True, SOME),
    ],
)
def test_gibberella_levels(wet_days: int, high: float, late_silks: bool, level: str) -> None:
    """Wet and cool is raised; one of them, or late silks, is some."""
    seen = days([0.2] * wet_days + [0.0] * (22 - wet_days), high=high)
    found = gibberella_watch(seen, FIRST, late_silks=late_silks)
    assert found.level == level
    assert (found.weather.first, found.weather.last) == (FIRST, LAST)
    assert found.follow_up == FIRST + timedelta(days=42)


def test_days_ahead_keep_the_watch_open() -> None:
    """Halfway, a dry window may still turn wet and a mean of few days tells nothing."""
    early = gibberella_watch(days([0.2] * 3 + [0.0] * 5), FIRST)
    assert (early.level, early.wet, early.cool) == (UNKNOWN, None, None)
    later = gibberella_watch(days([0.0] * 16, high=95), FIRST)
    assert (later.level, later.wet, later.cool) == (NO_SIGNAL, False, False)
    soaked = gibberella_watch(days([0.2] * 8), FIRST)
    assert (soaked.level, soaked.wet, soaked.cool) == (SOME, True, None)


def test_days_outside_the_three_weeks_do_not_count() -> None:
    """Rain before silking and after the third week changes nothing."""
    outside = [
        WeatherDay(day=day, tmax_f=60, tmin_f=50, rain_in=2.0)
        for day in (FIRST - timedelta(days=1), LAST + timedelta(days=1))
    ]
    inside = days([0.2] * 6 + [0.0] * 16, high=90)
    assert gibberella_watch([*inside, *outside], FIRST) == gibberella_watch(inside, FIRST)
