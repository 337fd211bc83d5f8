"""Are the numbers of a weather file possible? What is not counts as missing, and is told."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from statistics import median

import numpy as np
from numpy.typing import NDArray

from fieldbook.problems import Problem, problem
from fieldbook.units import RAIN, TEMPERATURE, System, Unit
from fieldbook.weather.files import Column, Fault, Layout, Line
from fieldbook.weather.spans import spans_of, spans_words
from fieldbook.words import number_words, say, say_count

Numbers = NDArray[np.float64]

LOWEST_F, HIGHEST_F = -80.0, 135.0  # the world's records lie just outside: from memory, no source
MOST_RAIN_IN = 50.0  # about twice the wettest day of most places: our own limit, no source
WIDEST_RANGE_F = 90.0  # no plausible day spans more: our own limit, no source
HOTTEST_MEDIAN_C, COLDEST_MEDIAN_F, HOTTEST_MEDIAN_F = 45.0, 45.0, 130.0  # our own, no source
_JULY = 7
_WARM_MONTHS = (5, 6, 7, 8, 9)
_ROW_PROBLEMS = 5


@dataclass(frozen=True, kw_only=True, eq=False)
class Readings:
    """Lines in stored units, one number a line: ``days`` are ordinals of dates; nan is missing."""

    days: NDArray[np.int64]
    tmax_f: Numbers
    tmin_f: Numbers
    rain_in: Numbers


def sane_readings(
    station: str, layout: Layout, lines: Sequence[Line], faults: Sequence[Fault], language: str
) -> tuple[Readings | None, list[Problem]]:
    """Turn lines into stored units and drop what cannot be.

    Returns None for the readings where the whole file is in another unit than it is said to be.
    """
    wrong = _wrong_units(station, layout.columns["tmax"], lines)
    if wrong:
        return None, [wrong]
    tmax, tmin = _column(lines, layout, "tmax"), _column(lines, layout, "tmin")
    rain = _column(lines, layout, "rain")
    numbers = [line.number for line in lines]
    found = list(faults)
    hot, cold = (_outside(part, LOWEST_F, HIGHEST_F) for part in (tmax, tmin))
    wet = _outside(rain, 0.0, MOST_RAIN_IN)
    for part, bad in ((tmax, hot), (tmin, cold), (rain, wet)):
        found += _range_faults(part, bad, numbers, language)
    _drop(hot | cold, tmax, tmin)
    _drop(wet, rain)
    turned = tmin.stored > tmax.stored
    _drop(turned, tmax, tmin)
    wide = tmax.stored - tmin.stored > WIDEST_RANGE_F
    found += [Fault(numbers[at], _wide_words(tmax, tmin, at, language)) for at in _true(wide)]
    _drop(wide, tmax, tmin)
    readings = Readings(
        days=np.array([line.day.toordinal() for line in lines], dtype=np.int64),
        tmax_f=tmax.stored,
        tmin_f=tmin.stored,
        rain_in=rain.stored,
    )
    turned_days = [lines[at].day for at in _true(turned)]
    return readings, [*_row_problems(found, language), *_reversed(turned_days, language)]


@dataclass(frozen=True, kw_only=True, eq=False)
class _Part:
    label: str
    unit: Unit
    system: System
    typed: Numbers
    stored: Numbers


def _column(lines: Sequence[Line], layout: Layout, name: str) -> _Part:
    unit = RAIN if name == "rain" else TEMPERATURE
    column = layout.columns.get(name)
    typed = np.array([getattr(line, name) for line in lines], dtype=np.float64)
    system = column.system if column else System.US
    stored = typed.copy()
    if system is System.METRIC:
        # Rounded so that 35 C is 95 F and not a hair below a limit of 95 F.
        stored = np.round((typed - unit.offset) / unit.factor, 6)
    label = column.label if column else ""
    return _Part(label=label, unit=unit, system=system, typed=typed, stored=stored)


def _drop(bad: NDArray[np.bool_], *parts: _Part) -> None:
    for part in parts:
        part.stored[bad] = np.nan


def _outside(part: _Part, least: float, most: float) -> NDArray[np.bool_]:
    return (part.stored < least) | (part.stored > most)


def _true(mask: NDArray[np.bool_]) -> list[int]:
    return [int(at) for at in np.flatnonzero(mask)]


def _range_faults(
    part: _Part, bad: NDArray[np.bool_], numbers: Sequence[int], language: str
) -> Iterable[Fault]:
    for at in _true(bad):
        said = say(
            "{typed} {unit} under {column} can't be",
            language,
            typed=number_words(part.typed[at]),
            unit=part.unit.label(part.system, language),
            column=part.label,
        )
        yield Fault(numbers[at], said)


def _wide_words(tmax: _Part, tmin: _Part, at: int, language: str) -> str:
    return say(
        "from {low} to {high} {unit} in one day can't be",
        language,
        low=number_words(tmin.typed[at]),
        high=number_words(tmax.typed[at]),
        unit=tmax.unit.label(tmax.system, language),
    )


def _row_problems(faults: Iterable[Fault], language: str) -> list[Problem]:
    """Tell the first few lines one by one, and of the rest how many they are."""
    ordered = sorted(faults)
    told, rest = ordered[:_ROW_PROBLEMS], ordered[_ROW_PROBLEMS:]
    if len(rest) > 1:
        more = say_count(
            len(rest) - 1,
            "this and the line below can't be read either",
            "this and {count} lines below can't be read either",
            language,
        )
        rest = [Fault(rest[0].number, more)]
    return [
        problem("weather-row", line=fault.number, detail=fault.detail) for fault in (*told, *rest)
    ]


def _reversed(days: Sequence[date], language: str) -> list[Problem]:
    if not days:
        return []
    return [problem("weather-reversed", day=spans_words(spans_of(days), language))]


def _wrong_units(station: str, column: Column, lines: Sequence[Line]) -> Problem | None:
    """Hold the middle maximum of July, or of the warmest month at hand, against the unit."""
    typed = _summer_median(lines)
    if typed is None:
        return None
    metric = column.system is System.METRIC
    hottest = HOTTEST_MEDIAN_C if metric else HOTTEST_MEDIAN_F
    if typed <= hottest and (metric or typed >= COLDEST_MEDIAN_F):
        return None
    if typed > HOTTEST_MEDIAN_F:
        return problem("weather-tenths", station=station, typed=round(typed, 1))
    unit = TEMPERATURE.name(column.system)
    return problem("weather-units", station=station, typed=round(typed, 1), unit=unit)


def _summer_median(lines: Sequence[Line]) -> float | None:
    months: dict[int, list[float]] = {}
    for line in lines:
        if line.day.month in _WARM_MONTHS and line.tmax == line.tmax:
            months.setdefault(line.day.month, []).append(line.tmax)
    if _JULY in months:
        return median(months[_JULY])
    return max((median(values) for values in months.values()), default=None)
