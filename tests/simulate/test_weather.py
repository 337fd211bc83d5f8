"""The invented weather: the same for the same seed, with spells, runs and a memory.

How often runs come is held within what was measured to be plausible; it is not published.
"""

from datetime import date, timedelta
from itertools import groupby

import numpy as np
import pytest

from fieldbook.simulate.weather import Day, Spell, daily_weather, weather_csv

FIRST, LAST = date(2026, 1, 1), date(2026, 12, 31)
YEARS = 60
SUMMER = (6, 7, 8)
GROWING = range(4, 10)


def days_of(first: date, last: date, *spells: Spell, seed: str = "one") -> list[Day]:
    return list(daily_weather(first, last, seed=seed, spells=spells))


@pytest.fixture(scope="module")
def sixty() -> list[Day]:
    """Make sixty years."""
    return days_of(date(1941, 1, 1), date(2000, 12, 31), seed="sixty")


def in_summer(days: list[Day], *, wet: bool) -> list[Day]:
    return [one for one in days if one.day.month in SUMMER and (one.rain_in > 0) == wet]


def test_same_seed_same_weather() -> None:
    """A seed names one weather; another seed gives another."""
    assert days_of(FIRST, LAST) == days_of(FIRST, LAST)
    assert days_of(FIRST, LAST) != days_of(FIRST, LAST, seed="two")


def test_years_differ() -> None:
    """Two years of one seed are not the same year again."""
    year = [(one.tmax_f, one.rain_in) for one in days_of(FIRST, LAST)]
    next_year = days_of(date(2027, 1, 1), date(2027, 12, 31))
    assert year != [(one.tmax_f, one.rain_in) for one in next_year]


def test_a_day_does_not_depend_on_the_range() -> None:
    """Days are the same whether asked for in a long range or in a short one."""
    long = days_of(date(2014, 3, 9), date(2027, 5, 2))
    short = days_of(date(2026, 7, 4), date(2026, 8, 1))
    assert short == [one for one in long if short[0].day <= one.day <= short[-1].day]


def test_every_day_once() -> None:
    """Both ends are included, leap days too, and nothing is left out."""
    first, last = date(2023, 11, 30), date(2025, 1, 2)
    wanted = [first + timedelta(days=past) for past in range((last - first).days + 1)]
    assert [one.day for one in days_of(first, last)] == wanted
    assert date(2024, 2, 29) in wanted
    assert [one.day for one in days_of(first, first)] == [first]
    assert days_of(last, first) == []


def test_numbers_are_those_of_a_station(sixty: list[Day]) -> None:
    """No low is above its high; rain is never negative and comes in hundredths."""
    for one in sixty:
        assert one.tmin_f <= one.tmax_f
        assert one.rain_in >= 0
        assert round(one.rain_in, 2) == one.rain_in
        assert isinstance(one.tmax_f, int)
        assert isinstance(one.tmin_f, int)


def test_wet_days_are_cooler_by_day_and_warmer_by_night(sixty: list[Day]) -> None:
    """In summer, highs of wet days are lower than those of dry days, and lows are higher."""
    wet, dry = in_summer(sixty, wet=True), in_summer(sixty, wet=False)
    assert mean_high(wet) < mean_high(dry) - 3
    assert np.mean([one.tmin_f for one in wet]) > np.mean([one.tmin_f for one in dry]) + 0.5


def mean_high(days: list[Day]) -> float:
    return float(np.mean([one.tmax_f for one in days]))


def test_temperature_has_a_memory(sixty: list[Day]) -> None:
    """A summer day resembles the one before it, and a little the one two weeks before."""
    highs = np.array([one.tmax_f for one in sixty], dtype=np.float64)
    months = np.array([one.day.month for one in sixty])
    usual = np.array([highs[months == month].mean() for month in range(1, 13)])
    departures = highs - usual[months - 1]
    summer = np.flatnonzero(np.isin(months, SUMMER))
    yesterday = np.corrcoef(departures[summer], departures[summer - 1])[0, 1]
    long_ago = np.corrcoef(departures[summer], departures[summer - 14])[0, 1]
    assert 0.4 < yesterday < 0.8
    assert 0.03 < long_ago < yesterday


def test_rain_follows_rain(sixty: list[Day]) -> None:
    """Rain is likelier after a wet day than after a dry one."""
    wet = np.array([one.rain_in > 0 for one in sixty])
    summer = np.array([one.day.month in SUMMER for one in sixty])[1:]
    after_wet = wet[1:][summer & wet[:-1]].mean()
    after_dry = wet[1:][summer & ~wet[:-1]].mean()
    assert after_wet > after_dry + 0.1


def test_rain_is_skewed(sixty: list[Day]) -> None:
    """Most rains are small: the mean is far above the middle one."""
    rains = [one.rain_in for one in in_summer(sixty, wet=True)]
    assert np.mean(rains) > 1.5 * np.median(rains)


def test_hot_julys_are_dry(sixty: list[Day]) -> None:
    """A July with warmer highs tends to have less rain."""
    julys = [
        [one for one in sixty if (one.day.year, one.day.month) == (year, 7)]
        for year in range(1941, 1941 + YEARS)
    ]
    rains = [sum(one.rain_in for one in july) for july in julys]
    assert np.corrcoef([mean_high(july) for july in julys], rains)[0, 1] < -0.2


def runs_a_year(days: list[Day], holds: list[bool], least: int) -> float:
    """Count runs of at least `least` days in the growing season, in a mean year."""
    growing = [
        (one.day.year, hold)
        for one, hold in zip(days, holds, strict=True)
        if one.day.month in GROWING
    ]
    lengths = [len(list(run)) for (_, hold), run in groupby(growing) if hold]
    return sum(length >= least for length in lengths) / YEARS


def test_heat_runs(sixty: list[Day]) -> None:
    """Three days and more above 90 degF come about twice a year, a week of them now and then."""
    hot = [one.tmax_f > 90 for one in sixty]
    assert 1 < runs_a_year(sixty, hot, 3) < 3
    assert 0.1 < runs_a_year(sixty, hot, 7) < 0.6


def test_dry_runs(sixty: list[Day]) -> None:
    """Ten dry days in a row come two or three times in a growing season, three weeks rarely."""
    dry = [one.rain_in == 0 for one in sixty]
    assert 1 < runs_a_year(sixty, dry, 10) < 3.5
    assert 0.02 < runs_a_year(sixty, dry, 21) < 0.4


HOT_AND_DRY = Spell(first=date(2026, 7, 12), last=date(2026, 7, 24), warmer_f=9.0, rain_factor=0.0)


def test_a_spell_is_laid_over_its_days_only() -> None:
    """Within a spell it is warmer by as much as stated and dry; all other days stay."""
    plain, laid = days_of(FIRST, LAST), days_of(FIRST, LAST, HOT_AND_DRY)
    changed = [
        (before, after)
        for before, after in zip(plain, laid, strict=True)
        if HOT_AND_DRY.first <= before.day <= HOT_AND_DRY.last
    ]
    assert any(before.rain_in > 0 for before, _ in changed)
    for before, after in changed:
        assert after.tmax_f == before.tmax_f + 9
        assert after.tmin_f == before.tmin_f + 9
        assert after.rain_in == 0
    start = plain.index(changed[0][0])
    assert laid[:start] == plain[:start]
    assert laid[start + 13 :] == plain[start + 13 :]


def test_a_wet_spell_multiplies_rain() -> None:
    """A factor multiplies what falls and makes no dry day wet."""
    wet = Spell(first=date(2026, 5, 1), last=date(2026, 5, 31), rain_factor=2.5)
    plain, laid = days_of(wet.first, wet.last), days_of(wet.first, wet.last, wet)
    assert [one.rain_in for one in laid] == [round(2.5 * one.rain_in, 2) for one in plain]
    assert [one.tmax_f for one in laid] == [one.tmax_f for one in plain]


def test_spells_that_overlap_both_count() -> None:
    """Where two spells meet, degrees add and factors multiply."""
    day = date(2026, 6, 5)
    one, two = (
        Spell(first=day, last=day + timedelta(days=more), warmer_f=degrees, rain_factor=0.5)
        for more, degrees in ((0, 2.0), (30, 3.0))
    )
    (plain,), (laid,) = days_of(day, day), days_of(day, day, one, two)
    assert plain.rain_in > 0
    assert laid.tmax_f == plain.tmax_f + 5
    assert laid.rain_in == pytest.approx(plain.rain_in / 4, abs=0.006)


@pytest.mark.parametrize(
    "wrong",
    [
        {"first": date(2026, 7, 2), "last": date(2026, 7, 1)},
        {"first": date(2026, 7, 1), "last": date(2026, 7, 2), "rain_factor": -0.1},
    ],
)
def test_a_spell_that_cannot_be(wrong: dict[str, object]) -> None:
    """A spell that ends before it begins, or takes more rain than falls, is refused."""
    with pytest.raises(ValueError, match="spell"):
        Spell(**wrong)  # type: ignore[arg-type]


def test_weather_file() -> None:
    """Days are written one a line under the header that a season folder reads."""
    day = Day(day=date(2026, 7, 4), tmax_f=88, tmin_f=67, rain_in=0.3)
    assert weather_csv([day]) == "date,tmax_f,tmin_f,rain_in\n2026-07-04,88,67,0.30\n"
