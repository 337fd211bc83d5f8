"""Readings of several files laid out day by day, and short gaps filled."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import isnan

import numpy as np
from numpy.typing import NDArray

from fieldbook.weather.sane import Numbers, Readings
from fieldbook.weather.spans import Span

LONGEST_FILLED_DAYS = 3  # our own choice, no source
_SAME = 0.051  # a temperature or a rain that differs by less is the same one, rounded

Mask = NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True, eq=False)
class Grid:
    """Every day from the first to the last one read: one row an element, nan is missing."""

    first: int
    values: NDArray[np.float64]


def joined(files: Sequence[Readings]) -> tuple[Grid | None, list[list[date]]]:
    """Lay readings out by day; also return, by file, the days that contradict an earlier reading.

    The first reading of a day counts; a later one only fills what the first left out.
    """
    known: dict[int, list[float]] = {}
    doubled: list[list[date]] = []
    for readings in files:
        columns = (readings.tmax_f, readings.tmin_f, readings.rain_in)
        rows = np.stack(columns, axis=1).tolist()
        doubled.append([])
        for day, row in zip(readings.days.tolist(), rows, strict=True):
            before = known.setdefault(day, row)
            if before is not row and _differ(before, row):
                doubled[-1].append(date.fromordinal(day))
            elif before is not row:
                known[day] = _merged(before, row)
    return _grid(known), doubled


def _merged(before: list[float], after: list[float]) -> list[float]:
    """Fill what is missing; the two temperatures of a day always come from one reading."""
    pair = before if _has_both(before) or not _has_both(after) else after
    rain = after[2] if isnan(before[2]) else before[2]
    return [pair[0], pair[1], rain]


def _has_both(row: Sequence[float]) -> bool:
    return not (isnan(row[0]) or isnan(row[1]))


def _differ(before: Sequence[float], after: Sequence[float]) -> bool:
    """Whether two readings of a day contradict each other: a missing value does not."""
    return any(abs(old - new) > _SAME for old, new in zip(before, after, strict=True))


def _grid(known: dict[int, list[float]]) -> Grid | None:
    """Make the grid run from the first to the last day that has both temperatures."""
    whole = [day for day, row in known.items() if _has_both(row)]
    if not whole:
        return None
    first, last = min(whole), max(whole)
    values = np.full((3, last - first + 1), np.nan)
    inside = [day for day in known if first <= day <= last]
    values[:, np.array(inside) - first] = np.array([known[day] for day in inside]).T
    return Grid(first=first, values=values)


def fill_short_gaps(values: Numbers) -> tuple[Numbers, Mask]:
    """Fill short runs of nan in a straight line; return the values and where they were filled."""
    short = np.zeros(len(values), dtype=np.bool_)
    for start, stop in _runs(np.isnan(values)):
        short[start:stop] = stop - start <= LONGEST_FILLED_DAYS
    known = np.flatnonzero(~np.isnan(values))
    filled = values.copy()
    filled[short] = np.interp(np.flatnonzero(short), known, values[known])
    return filled, short


def keep_order(tmax_f: Numbers, tmin_f: Numbers, tmax_filled: Mask) -> None:
    """Let no filled minimum exceed a measured maximum of its day, nor the other way round."""
    turned = tmin_f > tmax_f
    raise_max = turned & tmax_filled
    tmax_f[raise_max] = tmin_f[raise_max]
    lower_min = turned & ~tmax_filled
    tmin_f[lower_min] = tmax_f[lower_min]


def _runs(mask: Mask) -> list[tuple[int, int]]:
    """Return where runs of True start and end (end not included)."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], mask, [False])).astype(np.int8)))
    return [(int(start), int(stop)) for start, stop in edges.reshape(-1, 2)]


def mask_spans(mask: Mask, first: int) -> tuple[Span, ...]:
    """Return the runs of True as spans of days; ``first`` is the ordinal of the first one."""
    return tuple(
        (date.fromordinal(first + start), date.fromordinal(first + stop - 1))
        for start, stop in _runs(mask)
    )
