"""Ranges of days and of numbers: the only form in which a guess about the past may be told."""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil, floor, isfinite

from fieldbook.figures import Figures


@dataclass(frozen=True, kw_only=True)
class DayRange:
    """The days within which something fell; None is an open end.

    Raises
    ------
    ValueError
        If the last day comes before the first.
    """

    earliest: datetime.date | None = None
    latest: datetime.date | None = None

    def __post_init__(self) -> None:
        """Refuse a range that ends before it begins."""
        if self.earliest and self.latest and self.latest < self.earliest:
            raise ValueError("a range of days cannot end before it begins")

    def moved(self, fewest: float, most: float) -> "DayRange":
        """Return the range a number of days on, given as a range itself; rounded outward."""
        return DayRange(
            earliest=self.earliest and self.earliest + datetime.timedelta(days=floor(fewest)),
            latest=self.latest and self.latest + datetime.timedelta(days=ceil(most)),
        )

    def holds(self, day: datetime.date) -> bool:
        """Tell whether a day lies inside."""
        after = self.earliest is None or self.earliest <= day
        return after and (self.latest is None or day <= self.latest)


@dataclass(frozen=True, kw_only=True)
class Triple:
    """A figure that is not well known: low, typical, high."""

    low: float
    typical: float
    high: float

    @classmethod
    def of(cls, key: str, figures: Figures) -> "Triple":
        """Read a figure that is a row of three."""
        low, typical, high = figures.numbers(key)
        return cls(low=low, typical=typical, high=high)


@dataclass(frozen=True, kw_only=True)
class Span:
    """A number known only to lie from ``low`` to ``high``."""

    low: float
    high: float


def meet(ranges: Iterable[DayRange]) -> DayRange | None:
    """Return the days that all ranges share; None where there are none."""
    known = list(ranges)
    starts = [one.earliest for one in known if one.earliest]
    ends = [one.latest for one in known if one.latest]
    first, last = max(starts, default=None), min(ends, default=None)
    if first and last and last < first:
        return None
    return DayRange(earliest=first, latest=last)


def hull(ranges: Iterable[DayRange]) -> DayRange:
    """Return the narrowest range that holds all ranges; open where one of them is."""
    known = list(ranges)
    starts = [one.earliest for one in known]
    ends = [one.latest for one in known]
    return DayRange(
        earliest=min((day for day in starts if day), default=None) if all(starts) else None,
        latest=max((day for day in ends if day), default=None) if all(ends) else None,
    )


def day_range(origin: datetime.date, fewest: float, most: float) -> DayRange:
    """Return the days between two numbers of days after an origin, rounded outward.

    A number that is not finite makes an open end.
    """
    return DayRange(
        earliest=origin + datetime.timedelta(days=floor(fewest)) if isfinite(fewest) else None,
        latest=origin + datetime.timedelta(days=ceil(most)) if isfinite(most) else None,
    )
