"""Back-test the forecast of stages on real weather: how often the bands held the true date.

Run it with ``python tests/backtest.py`` to print the table.

The weather is the daily high and low of Champion, 1982 to 2018, as the package ``aquacrop`` 3.1.0
ships it (``aquacrop/data/champion_climate.txt``; the package's licence file is Apache 2.0, its
classifier says MIT). Its crop table calls the place's maize "MaizeChampionGDD"; public notebooks
say that Champion lies in Nebraska. Readings are whole degrees Fahrenheit in the first years and
finer later, so the instruments changed on the way.

Each year is the season once, and all the others are its past years. The true date of a stage is the
one that the same hybrid needs give on that year's whole weather: so the test is of the spread that
weather makes, not of how well a hybrid's rating fits a field.
"""

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from pathlib import Path

import numpy as np

from fieldbook.agronomy.forecast import StageDate, forecast
from fieldbook.agronomy.heat import DailyTemps
from fieldbook.agronomy.stages import R_STAGES, Needs
from fieldbook.figures import Figures, shipped_figures

NEEDS = Needs(silk_f=1330, black_layer_f=2590)
PLANTED = (4, 28)
LOOKS = ((5, 15), (6, 15), (7, 15), (8, 15))
BAND = 0.8
Pair = tuple[StageDate, datetime.date]
_F_PER_C, _FREEZING_F = 1.8, 32.0


@dataclass(frozen=True, kw_only=True)
class Cell:
    """One day of looking ahead and one stage, over all years in which it still lay ahead.

    ``inside`` are the years whose true date lay in the band, ends included; ``years`` all of them.
    ``error_days`` and ``width_days`` are the mean distance of the median from the true date and the
    mean width of the band.
    """

    look: tuple[int, int]
    stage: str
    inside: int
    years: int
    error_days: float
    width_days: float


def weather_missing() -> str | None:
    """Say what the back-test lacks, or None."""
    return None if find_spec("aquacrop") else "Real weather is not here: install aquacrop."


@cache
def champion() -> Mapping[int, DailyTemps]:
    """Read every year's temperatures [degF]; the package itself is not imported."""
    spec = find_spec("aquacrop")
    if spec is None or not spec.submodule_search_locations:
        raise FileNotFoundError(weather_missing())
    path = Path(spec.submodule_search_locations[0]) / "data" / "champion_climate.txt"
    table = np.loadtxt(path, skiprows=1)
    temps = table[:, 3:5] * _F_PER_C + _FREEZING_F
    years = table[:, 2].astype(int)
    return {
        int(year): DailyTemps(
            first=datetime.date(int(year), 1, 1),
            tmax_f=temps[years == year, 1],
            tmin_f=temps[years == year, 0],
        )
        for year in np.unique(years)
    }


def backtest(figures: Figures | None = None) -> tuple[Cell, ...]:
    """Look ahead from each day of `LOOKS` in each year; one cell a day and stage."""
    known = figures or shipped_figures()
    return tuple(cell for look in LOOKS for cell in _cells(look, known))


def _cells(look: tuple[int, int], figures: Figures) -> Iterator[Cell]:
    pairs = [_pairs(year, look, figures) for year in champion()]
    for stage in R_STAGES:
        rows = [found[stage] for found in pairs if stage in found]
        if not rows:
            continue
        yield Cell(
            look=look,
            stage=stage,
            inside=sum(_inside(ahead, true) for ahead, true in rows),
            years=len(rows),
            error_days=float(np.mean([abs((ahead.date - true).days) for ahead, true in rows])),
            width_days=float(np.mean([(one.latest - one.earliest).days for one, _ in rows])),
        )


def _pairs(year: int, look: tuple[int, int], figures: Figures) -> dict[str, Pair]:
    """Return what was foreseen and what came, by stage still ahead on that day."""
    as_of = datetime.date(year, *look)
    true = {one.stage: one.date for one in _look(year, datetime.date(year, 12, 31), figures)}
    return {
        one.stage: (one, true[one.stage])
        for one in _look(year, as_of, figures)
        if true[one.stage] > as_of
    }


def _look(year: int, as_of: datetime.date, figures: Figures) -> tuple[StageDate, ...]:
    others = {other: temps for other, temps in champion().items() if other != year}
    planted = datetime.date(year, *PLANTED)
    return forecast(
        planted=planted,
        needs=NEEDS,
        as_of=as_of,
        own=champion()[year],
        years=others,
        figures=figures,
    )


def _inside(ahead: StageDate, true: datetime.date) -> bool:
    return ahead.earliest <= true <= ahead.latest


def table(cells: tuple[Cell, ...]) -> Iterator[str]:
    """Write the cells as lines of text, and the share over all of them."""
    yield "look    stage  inside  years  share  error, days  band, days"
    for one in cells:
        look = datetime.date(2001, *one.look).strftime("%d %b")
        yield (
            f"{look}  {one.stage:5}  {one.inside:6}  {one.years:5}  {one.inside / one.years:5.0%}"
            f"  {one.error_days:11.1f}  {one.width_days:10.1f}"
        )
    inside, years = (sum(getattr(one, part) for one in cells) for part in ("inside", "years"))
    yield f"all: {inside} of {years} ({inside / years:.0%}); the band is meant to hold {BAND:.0%}"


if __name__ == "__main__":
    print("\n".join(table(backtest())))
