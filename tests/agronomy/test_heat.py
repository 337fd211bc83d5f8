"""Heat units: range, Celsius, running sums, leaves; and a real year of weather."""

import csv
import datetime
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldbook.agronomy.freeze import early_freezes, first_night, freeze_loss_pct, night_kind
from fieldbook.agronomy.heat import (
    DailyTemps,
    gdd_c,
    gdd_f,
    gdd_since_planting_f,
    leaf_collars,
)
from fieldbook.figures import shipped_figures

LINCOLN = Path(__file__).parent.parent / "data" / "lincoln-2016.csv"
temperatures = st.floats(-60, 130)


def day(month: int, number: int, year: int = 2016) -> datetime.date:
    """Return a day of 2016."""
    return datetime.date(year, month, number)


def flat(first: datetime.date, days: int, tmax_f: float = 80, tmin_f: float = 60) -> DailyTemps:
    """Return the same weather every day: 20 units by default."""
    return DailyTemps(first=first, tmax_f=np.full(days, tmax_f), tmin_f=np.full(days, tmin_f))


@pytest.fixture(scope="module")
def lincoln() -> tuple[DailyTemps, np.ndarray]:
    """Return Lincoln 2016, its missing day filled with 50 degrees (no heat), and which it is."""
    with LINCOLN.open(encoding="utf-8", newline="") as lines:
        rows = list(csv.DictReader(lines))
    dates = [datetime.date.fromisoformat(row["DATE"]) for row in rows]
    highs, lows = (
        np.array([float(row[name] or "nan") for row in rows]) for name in ("TMAX", "TMIN")
    )
    missing = np.isnan(highs)
    temps = DailyTemps.from_dates(dates, np.nan_to_num(highs, nan=50), np.nan_to_num(lows, nan=50))
    return temps, missing


@given(high=temperatures, low=temperatures)
def test_heat_of_a_day_is_bounded(high: float, low: float) -> None:
    """A day never counts under 0 or over 36."""
    assert 0 <= gdd_f(high, low) <= 36


@given(high=temperatures, low=temperatures, warmer=st.floats(0, 40))
def test_warmer_days_never_count_less(high: float, low: float, warmer: float) -> None:
    """Raising the high or the low never lowers the heat."""
    assert gdd_f(high + warmer, low) >= gdd_f(high, low)
    assert gdd_f(high, low + warmer) >= gdd_f(high, low)


@given(high=temperatures, low=temperatures)
def test_celsius_and_fahrenheit_agree(high: float, low: float) -> None:
    """Celsius units times 1.8 are Fahrenheit units."""
    celsius = gdd_c((high - 32) / 1.8, (low - 32) / 1.8)
    assert celsius * 1.8 == pytest.approx(gdd_f(high, low), abs=1e-9)


def test_heat_ends_of_the_scale() -> None:
    """A freezing day counts 0 and a day that never cools to 86 counts 36."""
    assert gdd_f(40, 20) == 0
    assert gdd_f(100, 90) == 36


@given(highs=st.lists(temperatures, min_size=1, max_size=10))
def test_arrays_are_days_side_by_side(highs: list[float]) -> None:
    """An array of days gives the heat of each."""
    found = gdd_f(np.array(highs), np.array(highs) - 15)
    assert found.tolist() == pytest.approx([gdd_f(high, high - 15) for high in highs])


def test_season_sets_the_base() -> None:
    """A season with another base counts from it."""
    figures = shipped_figures().changed({"heat.base_f": 48})
    assert gdd_f(80, 40, figures=figures) == 16


def test_counting_starts_the_day_after_planting() -> None:
    """The planting day and those before it add nothing."""
    sums = gdd_since_planting_f(day(4, 28), flat(day(4, 26), 6))
    assert sums.tolist() == [0, 0, 0, 20, 40, 60]


def test_weather_must_reach_back_to_planting() -> None:
    """A sum cannot start after planting; weather from the next day on is enough."""
    assert gdd_since_planting_f(day(4, 28), flat(day(4, 29), 2)).tolist() == [20, 40]
    with pytest.raises(ValueError, match="after planting"):
        gdd_since_planting_f(day(4, 28), flat(day(4, 30), 2))


def test_planting_after_the_weather() -> None:
    """A field that is planted later has no heat yet."""
    assert gdd_since_planting_f(day(6, 1), flat(day(4, 28), 3)).tolist() == [0, 0, 0]


def test_gaps_are_refused() -> None:
    """Weather with a day or a reading missing is not summed in silence."""
    dates = [day(5, 1), day(5, 3)]
    with pytest.raises(ValueError, match="gaps"):
        DailyTemps.from_dates(dates, [80, 80], [60, 60])
    with pytest.raises(ValueError, match="gaps"):
        DailyTemps(first=day(5, 1), tmax_f=np.array([80, np.nan]), tmin_f=np.array([60, 60]))
    with pytest.raises(ValueError, match="same length"):
        DailyTemps(first=day(5, 1), tmax_f=np.array([80, 81]), tmin_f=np.array([60]))
    with pytest.raises(ValueError, match="as many"):
        DailyTemps.from_dates([day(5, 1)], [80, 81], [60, 61])
    with pytest.raises(ValueError, match="no days"):
        DailyTemps.from_dates([], [], [])


@pytest.mark.parametrize(
    ("since_emergence", "collars"), [(0, 0), (82, 1), (820, 10), (870, 11), (1120, 16), (3000, 21)]
)
def test_leaves_by_two_rates(since_emergence: float, collars: float) -> None:
    """One collar per 82 units to the tenth, then per 50, and no more than a hybrid has."""
    assert leaf_collars(115 + since_emergence) == pytest.approx(collars)


def test_no_leaves_before_emergence() -> None:
    """Before emergence there is nothing to count."""
    assert leaf_collars(60) == 0


@given(heat=st.lists(st.floats(0, 3500), min_size=2, max_size=6))
def test_leaves_never_go_back(heat: list[float]) -> None:
    """More heat never means fewer leaves."""
    collars = [leaf_collars(sum_f) for sum_f in sorted(heat)]
    assert all(a <= b for a, b in pairwise(collars))


@pytest.mark.parametrize(
    ("first", "last", "days", "heat"),
    [
        (day(5, 1), day(9, 30), 153, 3142.5),
        (day(5, 1), day(7, 31), 92, 1850.5),
        (day(4, 25), day(10, 10), 169, 3285.0),
    ],
)
def test_lincoln_sums(
    lincoln: tuple[DailyTemps, np.ndarray],
    first: datetime.date,
    last: datetime.date,
    days: int,
    heat: float,
) -> None:
    """Sums of a real year, worked out apart from this code; the one missing day is left out.

    For May to September xclim's growing degree days, on temperatures clipped to 10 and 30 degrees
    Celsius, give 1745.8333, which is the same.
    """
    temps, missing = lincoln
    sums = gdd_since_planting_f(first - datetime.timedelta(days=1), temps)
    start, end = (first - temps.first).days, (last - temps.first).days
    assert end - start + 1 == days
    assert missing[start : end + 1].sum() == 1
    assert sums[end] == heat


def test_lincoln_heat_in_celsius(lincoln: tuple[DailyTemps, np.ndarray]) -> None:
    """May to September in Celsius units is what xclim gives for the same days."""
    temps, _ = lincoln
    days = slice((day(5, 1) - temps.first).days, (day(9, 30) - temps.first).days + 1)
    celsius = gdd_c((temps.tmax_f[days] - 32) / 1.8, (temps.tmin_f[days] - 32) / 1.8)
    assert celsius.sum() == pytest.approx(1745.8333, abs=0.00005)


def test_lincoln_hot_days(lincoln: tuple[DailyTemps, np.ndarray]) -> None:
    """June to August 2016 had four days of 95 degrees and over, the hottest 99."""
    temps, _ = lincoln
    summer = temps.tmax_f[(day(6, 1) - temps.first).days : (day(9, 1) - temps.first).days]
    assert (summer >= 95).sum() == 4
    assert summer.max() == 99


def test_lincoln_frosts(lincoln: tuple[DailyTemps, np.ndarray]) -> None:
    """The first autumn nights of 32 and of 28 came on 12 October and 12 November 2016."""
    temps, _ = lincoln
    assert first_night(temps, 32) == day(10, 12)
    assert first_night(temps, 28) == day(11, 12)
    assert temps.last == day(12, 31)


def test_year_without_frost() -> None:
    """A year that stays warm has no first night."""
    assert first_night(flat(day(1, 1), 366), 32) is None


def test_first_night_is_at_the_line_and_in_autumn() -> None:
    """A low right at the line counts, and cold before July is last winter's."""
    assert first_night(flat(day(1, 1), 366, tmin_f=32), 32) == day(7, 1)


def test_early_freezes_count_years(lincoln: tuple[DailyTemps, np.ndarray]) -> None:
    """Years count when their night came before the day, and the day itself is not before."""
    years = {2016: lincoln[0], 2017: flat(datetime.date(2017, 1, 1), 365)}
    found = early_freezes(years, datetime.date(2026, 10, 20))
    assert (found.years, found.possible, found.killing) == (2, 1, 0)
    assert early_freezes(years, datetime.date(2026, 10, 12)).possible == 0
    assert early_freezes(years, datetime.date(2026, 11, 13)).killing == 1


@pytest.mark.parametrize(
    ("tmin_f", "kind"),
    [
        (20, "killing"),
        (28, "killing"),
        (28.1, "possible"),
        (32, "possible"),
        (32.1, "low-ground"),
        (36, "low-ground"),
        (36.1, None),
    ],
)
def test_kinds_of_night(tmin_f: float, kind: str | None) -> None:
    """A low of 28 kills, 32 may, and 36 may in low ground."""
    assert night_kind(tmin_f) == kind


@pytest.mark.parametrize("stage", ["R3", "R4.5", "VT"])
def test_loss_is_not_made_up_between_stages(stage: str) -> None:
    """A stage that the table does not print has no loss."""
    assert freeze_loss_pct(stage) is None
