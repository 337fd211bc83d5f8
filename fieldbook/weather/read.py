"""A station's files read and joined, short gaps filled and marked, long gaps kept.

Up to three missing days in a row are filled in a straight line and marked; a longer gap stays.
Rain is never filled.
"""

from collections.abc import Iterable, Sequence
from datetime import date
from pathlib import Path

import numpy as np

from fieldbook.problems import Place, Problem, problem
from fieldbook.settings.settings import Station
from fieldbook.weather.files import (
    Line,
    UnreadableError,
    find_layout,
    header_words,
    numbered,
    read_lines,
    read_text,
)
from fieldbook.weather.join import (
    Grid,
    fill_short_gaps,
    joined,
    keep_order,
    mask_spans,
)
from fieldbook.weather.sane import Readings, sane_readings
from fieldbook.weather.spans import Span, spans_of, spans_words
from fieldbook.weather.weather import EPOCH, StationWeather
from fieldbook.words import say

_FIRST_MONTH, _LAST_MONTH = 4, 11  # a note is for months in which corn may stand


def read_station(
    station: Station, folder: Path, *, through: date | None = None, language: str = "en"
) -> tuple[StationWeather | None, tuple[Problem, ...]]:
    """Read and join a station's files.

    Parameters
    ----------
    station
        The station, with its files in the order in which they count: where two give different
        values for a day, the first is used.
    folder
        The weather folder.
    through
        The last day that counts; later ones, which nobody can have measured, are left out.
    language
        The language of the words in problems.

    Returns
    -------
    tuple
        The weather, or None where there is no usable day or a file is in another unit than it
        is said to be; and the problems. Nothing raises for a fault in a file.
    """
    files = [_read_file(station, name, folder / name, through, language) for name in station.files]
    problems = [found for _, more in files for found in more]
    if any(found.code in ("weather-units", "weather-tenths") for found in problems):
        return None, tuple(problems)
    read = {
        name: readings
        for name, (readings, _) in zip(station.files, files, strict=True)
        if readings is not None
    }
    grid, doubled = joined(list(read.values()))
    problems += _doubled_problems(read, doubled, language)
    if grid is None:
        if not problems:
            files_named = ", ".join(station.files)
            problems.append(problem("weather-missing", station=station.name, file=files_named))
        return None, tuple(problems)
    return _station_weather(station.name, grid, problems, language)


def _doubled_problems(
    names: Iterable[str], doubled: Sequence[Sequence[date]], language: str
) -> Iterable[Problem]:
    for name, days in zip(names, doubled, strict=True):
        if days:
            said = spans_words(spans_of(days), language)
            yield problem("weather-doubled", _place(name), day=said)


def _place(name: str) -> Place:
    return Place(file=f"weather/{name}")


def _read_file(
    station: Station, name: str, path: Path, through: date | None, language: str
) -> tuple[Readings | None, list[Problem]]:
    try:
        text = read_text(path)
    except FileNotFoundError:
        return None, [problem("weather-missing", station=station.name, file=name)]
    except (OSError, UnreadableError, ValueError) as fault:
        detail = getattr(fault, "strerror", None) or str(fault)
        return None, [problem("file-unreadable", _place(name), detail=detail)]
    readings, problems = _read_text(station, name, text, through, language)
    return readings, [found.in_file(f"weather/{name}") for found in problems]


def _read_text(
    station: Station, name: str, text: str, through: date | None, language: str
) -> tuple[Readings | None, list[Problem]]:
    lines = list(numbered(text))
    header = lines[0][1] if lines else ""
    layout = find_layout(header, station.units)
    if layout is None:
        return None, [problem("weather-layout", typed=header_words(header))]
    read, faults = read_lines(layout, lines[1:], language)
    if not read and len(faults) > 1:
        first = faults[0]
        count, line, detail = len(faults), first.number, first.detail
        return None, [problem("weather-no-line", count=count, line=line, detail=detail)]
    read, others = _one_station(station, name, read, language)
    read = [line for line in read if through is None or line.day <= through]
    readings, problems = sane_readings(station.name, layout, read, faults, language)
    return readings, [*others, *problems]


def _one_station(
    station: Station, name: str, lines: list[Line], language: str
) -> tuple[list[Line], list[Problem]]:
    """Keep the lines of one station: the one that the settings name, else the first, and say so."""
    ids = list(dict.fromkeys(line.station for line in lines))
    if len(ids) <= 1:
        return lines, []
    named = f"{station.name}\n{name}".casefold()
    used = next((found for found in ids if found and found.casefold() in named), None)
    problems = []
    if used is None:
        used = ids[0]
        other = next(line for line in lines if line.station != used)
        detail = say(
            "the file holds {count} stations, and only {used} is read",
            language,
            count=len(ids),
            used=used or "-",
        )
        problems.append(problem("weather-row", line=other.number, detail=detail))
    return [line for line in lines if line.station == used], problems


def _station_weather(
    name: str, grid: Grid, problems: Iterable[Problem], language: str
) -> tuple[StationWeather, tuple[Problem, ...]]:
    tmax_f, tmax_filled = fill_short_gaps(grid.values[0])
    tmin_f, tmin_filled = fill_short_gaps(grid.values[1])
    keep_order(tmax_f, tmin_f, tmax_filled)
    gap = np.isnan(tmax_f) | np.isnan(tmin_f)
    filled = (tmax_filled | tmin_filled) & ~gap
    gaps, short = mask_spans(gap, grid.first), mask_spans(filled, grid.first)
    found = (*problems, *_notes(name, gaps, short, language))
    first = grid.first - EPOCH.toordinal()
    days = np.arange(first, first + len(gap)).astype("datetime64[D]")
    rain_in = grid.values[2].copy()
    for array in (days, tmax_f, tmin_f, rain_in, filled):
        array.setflags(write=False)
    weather = StationWeather(
        station=name,
        days=days,
        tmax_f=tmax_f,
        tmin_f=tmin_f,
        rain_in=rain_in,
        filled=filled,
        gaps=gaps,
        problems=found,
    )
    return weather, found


def _notes(
    name: str, gaps: Sequence[Span], short: Sequence[Span], language: str
) -> Iterable[Problem]:
    for code, spans in (("weather-gap-filled", short), ("weather-gap", gaps)):
        told = [span for span in spans if _touches_season(*span)]
        if told:
            yield problem(code, station=name, days=spans_words(told, language))


def _touches_season(first: date, last: date) -> bool:
    """Whether any day from first to last lies in April to November."""
    starts = (date(year, _FIRST_MONTH, 1) for year in range(first.year, last.year + 1))
    return any(start <= last and first < date(start.year, _LAST_MONTH + 1, 1) for start in starts)
