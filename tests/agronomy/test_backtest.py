"""The forecast's bands on real weather: they hold the true date about as often as they say.

Thirty-six other years and one place: enough to see a band that is far too narrow or too wide,
not to tell 75 from 85 percent.
"""

from collections.abc import Iterator

import pytest
from backtest import BAND, Cell, backtest, table, weather_missing
from parts import need
from scipy.stats import binom

from fieldbook.figures import shipped_figures

# One cell in a thousand would lie outside by chance alone; there are about twenty.
_CHANCE = 0.001
_ROUNDED_DAYS = 5  # narrower bands hold more than they say: both their ends are whole days


@pytest.fixture(scope="module", autouse=True)
def _weather() -> None:
    need(weather_missing())


@pytest.fixture(scope="module")
def cells() -> tuple[Cell, ...]:
    return backtest()


def fewest_and_most(years: int) -> tuple[float, float]:
    return binom.ppf(_CHANCE / 2, years, BAND), binom.ppf(1 - _CHANCE / 2, years, BAND)


def test_each_band_holds_its_share_of_years(cells: tuple[Cell, ...]) -> None:
    """Of the 37 years, each band holds as many true dates as chance allows for four in five."""
    for cell in cells:
        fewest, most = fewest_and_most(cell.years)
        assert cell.inside >= fewest, cell
        assert cell.inside <= most or cell.width_days < _ROUNDED_DAYS, cell


def test_a_narrow_band_would_be_found_out() -> None:
    """With quartiles as its ends the band holds too few years, and the same bounds say so."""
    halved = backtest(shipped_figures().changed({"forecast.percentiles": (25.0, 75.0)}))
    short = [cell for cell in halved if cell.inside < fewest_and_most(cell.years)[0]]
    assert len(short) > len(halved) / 3


def errors(cells: tuple[Cell, ...], stage: str) -> Iterator[float]:
    return (cell.error_days for cell in cells if cell.stage == stage)


@pytest.mark.parametrize("stage", ["R1", "R5", "R6"])
def test_dates_come_nearer_as_the_season_goes_on(cells: tuple[Cell, ...], stage: str) -> None:
    """Each month of the season's own weather takes days off the mean error."""
    found = list(errors(cells, stage))
    assert len(found) >= 3
    assert found == sorted(found, reverse=True)


def test_the_table_tells_every_cell(cells: tuple[Cell, ...]) -> None:
    """The printed table has a line a cell and the share over all."""
    lines = list(table(cells))
    assert len(lines) == len(cells) + 2
    assert lines[-1].startswith(f"all: {sum(cell.inside for cell in cells)} of ")
