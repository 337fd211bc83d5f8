"""The invented weather against printed normals of the corn belt, all read 2026-11-25.

The monthly means went into the generator; the days of 90 degF and the days of 0.10 and 1.00 in set
its spreads. What was not used to make it: the normals of 1991-2020 and the dry runs.
"""

from collections.abc import Callable, Iterator
from datetime import date
from itertools import groupby

import numpy as np
import pytest
from numpy.typing import NDArray

from fieldbook.simulate.weather import Day, daily_weather

# Normals of 1981-2010 for Springfield, Illinois (USW00093822), Illinois State Water Survey,
# https://www.isws.illinois.edu/statecli/newnormals/normals.USW00093822.txt
PRINTED = {
    "High": "34.8 39.9 52.1 64.6 74.8 83.1 86.2 84.9 78.9 66.4 52.3 38.3",
    "Low": "18.7 22.6 32.2 42.4 52.6 61.9 65.4 63.6 54.6 43.8 33.9 22.5",
    "Prcp": "1.82 1.81 2.63 3.51 4.24 4.46 3.94 3.24 2.90 3.15 3.21 2.52",
    "P001": "9.1 8.1 10.7 11.3 11.7 10.2 8.6 8.3 7.4 8.5 9.6 9.9",
    "P010": "4.3 4.0 5.9 7.0 7.3 6.7 5.5 5.2 4.7 5.5 6.0 5.4",
    "P100": "0.3 0.2 0.5 0.7 1.1 1.2 1.1 0.7 0.8 0.8 0.7 0.6",
    "T090": "0.0 0.0 0.0 0.0 0.9 4.7 7.8 6.6 2.5 0.1 0.0 0.0",
    "T100": "0.0 0.0 0.0 0.0 0.0 0.0 0.3 0.1 0.0 0.0 0.0 0.0",
    "T032": "26.6 22.5 15.7 3.5 0.1 0.0 0.0 0.0 0.0 3.8 13.4 24.6",
}
APRIL, OCTOBER = 4, 10
SEASON = range(APRIL, OCTOBER + 1)
SUMMER = (6, 7, 8)
YEARS = 192  # sixteen stretches of twelve

Numbers = NDArray[np.float64]


class Weather:
    """Days as columns, to be averaged by month."""

    def __init__(self, days: list[Day]) -> None:
        self.year = np.array([one.day.year for one in days])
        self.month = np.array([one.day.month for one in days])
        self.high = np.array([one.tmax_f for one in days], dtype=np.float64)
        self.low = np.array([one.tmin_f for one in days], dtype=np.float64)
        # In hundredths, so that a day of 0.10 in is one of 0.10 in.
        self.hundredths = np.array([round(100 * one.rain_in) for one in days])
        self.years = len(set(self.year.tolist()))

    def mean(self, values: Numbers, *months: int) -> float:
        """Give the mean of a day of these months."""
        return float(values[np.isin(self.month, months)].mean())

    def total(self, values: Numbers, *months: int) -> float:
        """Give the sum over these months in a mean year: inches, or days where something holds."""
        return float(values[np.isin(self.month, months)].sum()) / self.years


@pytest.fixture(scope="module")
def weather() -> Weather:
    """Make many years, so that the chance in a mean is far below what is allowed."""
    return Weather(list(daily_weather(date(1801, 1, 1), date(1992, 12, 31), seed="normals")))


def normal(row: str, month: int) -> float:
    return float(PRINTED[row].split()[month - 1])


@pytest.mark.parametrize("month", range(1, 13))
def test_mean_high_and_low_of_a_month(weather: Weather, month: int) -> None:
    """Mean highs and lows lie within 1 degF of the normals in the season, else within 2."""
    within = 1.0 if month in SEASON else 2.0
    assert weather.mean(weather.high, month) == pytest.approx(normal("High", month), abs=within)
    assert weather.mean(weather.low, month) == pytest.approx(normal("Low", month), abs=within)


@pytest.mark.parametrize("month", range(1, 13))
def test_rain_of_a_month(weather: Weather, month: int) -> None:
    """Each month's rain lies within 15 % and its wet days within a day of the normals."""
    rain = weather.total(weather.hundredths / 100, month)
    assert rain == pytest.approx(normal("Prcp", month), rel=0.15)
    assert weather.total(weather.hundredths >= 1, month) == pytest.approx(
        normal("P001", month), abs=1.0
    )


@pytest.mark.parametrize("month", SEASON)
def test_small_and_large_rains(weather: Weather, month: int) -> None:
    """Days of 0.10 in and more, and of 1.00 in and more, are as many as printed."""
    some = weather.total(weather.hundredths >= 10, month)
    much = weather.total(weather.hundredths >= 100, month)
    assert some == pytest.approx(normal("P010", month), abs=1.0)
    assert much == pytest.approx(normal("P100", month), abs=0.4)


@pytest.mark.parametrize("month", SEASON)
def test_hot_and_frosty_days(weather: Weather, month: int) -> None:
    """Days of 90 and of 100 degF and more, and of 32 degF and less, are as many as printed."""
    hot, torrid = (weather.total(weather.high >= limit, month) for limit in (90, 100))
    frosty = weather.total(weather.low <= 32, month)
    assert hot == pytest.approx(normal("T090", month), abs=1.5)
    assert torrid == pytest.approx(normal("T100", month), abs=0.3)
    assert frosty == pytest.approx(normal("T032", month), abs=1.5)


def twelve_years() -> Iterator[Weather]:
    for first in range(1801, 1801 + YEARS, 12):
        yield Weather(
            list(daily_weather(date(first, 1, 1), date(first + 11, 12, 31), seed="normals"))
        )


def test_any_twelve_years() -> None:
    """In every stretch of twelve years each month lies within 5 degF, the season's rain in 25 %."""
    season_rain = sum(normal("Prcp", month) for month in SEASON)
    for stretch in twelve_years():
        for month in SEASON:
            assert stretch.mean(stretch.high, month) == pytest.approx(normal("High", month), abs=5)
            assert stretch.mean(stretch.low, month) == pytest.approx(normal("Low", month), abs=5)
        rain = stretch.total(stretch.hundredths / 100, *SEASON)
        assert rain == pytest.approx(season_rain, rel=0.25)


# Normals of 1991-2020 for June to August at Springfield, Illinois: National Weather Service,
# seasonal climate report CLSSPI of 1 September 2021,
# https://forecast.weather.gov/product.php?site=GRB&issuedby=SPI&product=CLS&format=CI&version=12
SUMMERS = [
    (lambda w: w.mean(w.high, *SUMMER), 85.4, 2.0),
    (lambda w: w.mean(w.low, *SUMMER), 64.6, 2.0),
    (lambda w: w.total(w.hundredths / 100, *SUMMER), 11.83, 0.15 * 11.83),
    (lambda w: w.total(w.hundredths >= 1, *SUMMER), 27.3, 3.0),
    (lambda w: w.total(w.hundredths >= 10, *SUMMER), 17.2, 3.0),
    (lambda w: w.total(w.hundredths >= 50, *SUMMER), 7.9, 1.5),
    (lambda w: w.total(w.hundredths >= 100, *SUMMER), 3.2, 1.0),
    (lambda w: w.total(w.high >= 90, *SUMMER), 23.0, 5.0),
]


@pytest.mark.parametrize(
    ("measure", "printed", "within"),
    SUMMERS,
    ids=["high", "low", "rain", "wet", "0.10 in", "0.50 in", "1.00 in", "90 degF"],
)
def test_a_summer_of_the_newer_normals(
    weather: Weather, measure: Callable[[Weather], float], printed: float, within: float
) -> None:
    """The generator was not made from these normals, and its summers are near them."""
    assert measure(weather) == pytest.approx(printed, abs=within)


def test_longest_dry_run_of_a_year(weather: Weather) -> None:
    """Nearly every year has ten dry days in a row, and its longest run is around three weeks.

    Des Moines, Iowa, 1893-2010: "Each year has seen at least one 10 day period of dry weather with
    the mean being around 3 weeks long." Iowa Environmental Mesonet, daily feature of 13 October
    2010, https://mesonet.agron.iastate.edu/onsite/features/cat.php?day=2010-10-13, read in
    a mirror's copy.
    """
    longest = [
        longest_run(weather.hundredths[weather.year == year] == 0)
        for year in sorted(set(weather.year.tolist()))
    ]
    assert np.mean([run >= 10 for run in longest]) > 0.97
    assert np.mean(longest) == pytest.approx(21, abs=3.5)


def longest_run(holds: NDArray[np.bool_]) -> int:
    return max((len(list(run)) for true, run in groupby(holds.tolist()) if true), default=0)
