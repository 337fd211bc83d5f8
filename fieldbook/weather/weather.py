"""A station's daily weather, by stretches of days and years. `read` makes it of files.

Temperatures are in degF and rain in inches, whatever the files are in. A day without both
temperatures is missing, and nothing is computed over such a day that was not filled.
"""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from fieldbook.problems import Problem
from fieldbook.weather.join import Mask
from fieldbook.weather.sane import Numbers
from fieldbook.weather.spans import Span

EPOCH = date(1970, 1, 1)
"""The day from which the numbers of days count."""

Days = NDArray[np.datetime64]


@dataclass(frozen=True, kw_only=True, eq=False)
class Daily:
    """Days in a row, with one number a day in each array.

    ``tmax_f`` and ``tmin_f`` [degF] and ``rain_in`` [in] are nan where unknown; ``filled`` is
    True where a temperature was interpolated.
    """

    days: Days
    tmax_f: Numbers
    tmin_f: Numbers
    rain_in: Numbers
    filled: Mask

    def __len__(self) -> int:
        return len(self.days)

    @property
    def complete(self) -> bool:
        """Whether both temperatures are known, or filled, on every day."""
        return not bool(np.isnan(self.tmax_f).any() or np.isnan(self.tmin_f).any())


@dataclass(frozen=True, kw_only=True, eq=False)
class StationWeather:
    """All days of one station from the first to the last on which both temperatures are known.

    ``gaps`` are the first and last days of every run of missing days that was too long to fill.
    ``problems`` are those of reading the files, as `read.read_station` returns them.
    """

    station: str
    days: Days
    tmax_f: Numbers
    tmin_f: Numbers
    rain_in: Numbers
    filled: Mask
    gaps: tuple[Span, ...]
    problems: tuple[Problem, ...] = ()

    @property
    def first_day(self) -> date:
        """The first day with both temperatures."""
        return _date(self.days[0])

    @property
    def last_day(self) -> date:
        """The last day with both temperatures."""
        return _date(self.days[-1])

    def between(self, first: date, last: date) -> Daily:
        """Return the days at hand from ``first`` to ``last``, both included; maybe none."""
        start = max((first - self.first_day).days, 0)
        stop = max((last - self.first_day).days + 1, start)
        part = slice(start, stop)
        return Daily(
            days=self.days[part],
            tmax_f=self.tmax_f[part],
            tmin_f=self.tmin_f[part],
            rain_in=self.rain_in[part],
            filled=self.filled[part],
        )

    def year(self, year: int) -> Daily:
        """Return the days at hand of a calendar year; long gaps are nan."""
        return self.between(date(year, 1, 1), date(year, 12, 31))

    def season_through(self, planted: date, as_of: date) -> Daily | None:
        """Return the days from planting through ``as_of``, or through the last day at hand.

        None where the weather starts after planting or ends before it, or where a long gap lies
        between: no sum over these days would be honest.
        """
        last = min(as_of, self.last_day)
        if planted < self.first_day or planted > last:
            return None
        daily = self.between(planted, last)
        return daily if daily.complete else None

    def past_years(self, before_year: int, needed_from: date, needed_to: date) -> dict[int, Daily]:
        """Return the same stretch of days of every earlier year that has all of them.

        Parameters
        ----------
        before_year
            Only years before this one are taken.
        needed_from, needed_to
            First and last day of the stretch; their years count only by how far apart they are,
            so that a stretch may run past New Year.
        """
        found = {}
        for year in range(self.first_day.year, min(before_year, self.last_day.year + 1)):
            first = _in_year(needed_from, year)
            last = _in_year(needed_to, year + needed_to.year - needed_from.year)
            daily = self.between(first, last)
            if len(daily) == (last - first).days + 1 and daily.complete:
                found[year] = daily
        return found


def _date(day: np.datetime64) -> date:
    return EPOCH + timedelta(days=int(day.astype(np.int64)))


def _in_year(day: date, year: int) -> date:
    """Move a day to another year; 29 February becomes the 28th where there is none."""
    try:
        return day.replace(year=year)
    except ValueError:
        return day.replace(year=year, day=28)
