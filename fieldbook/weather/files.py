"""One file of daily weather: its columns found by header, its lines read one by one.

A column may name its unit (``tmax_c``, ``rain_mm``); else it is in the station's units. Daily
summaries as downloaded have the same shape with more columns, which are passed over. Nothing
here judges a number: see `fieldbook.weather.sane`.
"""

import csv
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from math import nan
from pathlib import Path
from typing import NamedTuple

from fieldbook.units import System
from fieldbook.words import say

_LARGEST_BYTES = 30_000_000
_SHOWN = 60
_YEARS = range(1850, 2101)
_UTF_16_STARTS = (b"\xff\xfe", b"\xfe\xff")
_DATE = re.compile("([0-9]{4})([-/])([0-9]{1,2})\\2([0-9]{1,2})")
_NUMBER = re.compile(r"[+-]?(?:[0-9]{1,12}(?:\.[0-9]*)?|\.[0-9]+)")

# Ways to write "not measured" and "too little rain to measure". Blank is of the daily summaries,
# -9999 of the raw records they come from; NA, M and T are common practice, no source.
_MISSING = frozenset({"", "-9999", "-9999.0", "na", "nan", "m"})
_TRACE = "t"

_US, _METRIC = System.US, System.METRIC
_NAMES: dict[str, tuple[tuple[str, System | None], ...]] = {
    "date": (("date", None),),
    "tmax": (("tmax_f", _US), ("tmax_c", _METRIC), ("tmax", None)),
    "tmin": (("tmin_f", _US), ("tmin_c", _METRIC), ("tmin", None)),
    "rain": (("rain_in", _US), ("rain_mm", _METRIC), ("rain", None), ("prcp", None)),
    "station": (("station", None),),
}
_NEEDED = ("date", "tmax", "tmin")


class UnreadableError(Exception):
    """Why a file cannot be read as text; the caller turns it into a problem."""


class _LineError(ValueError):
    """What is wrong with one line, in words; never leaves this module."""


class Line(NamedTuple):
    """One line as typed, before units and sense are looked at; nan is missing."""

    number: int
    day: date
    tmax: float
    tmin: float
    rain: float
    station: str


@dataclass(frozen=True, kw_only=True)
class Column:
    """A column that is used: its header, its position, and the units that it is in."""

    label: str
    at: int
    system: System


@dataclass(frozen=True, kw_only=True)
class Layout:
    """How the lines of a file are cut, and which columns they have."""

    delimiter: str
    columns: dict[str, Column]
    width: int

    @property
    def needed_width(self) -> int:
        """How many values a line must have at least; rain at its end may be left out."""
        return max(self.columns[name].at for name in _NEEDED) + 1


class Fault(NamedTuple):
    """What is wrong with one line, in words."""

    number: int
    detail: str


def read_text(path: Path) -> str:
    """Read a text file as spreadsheets and downloads write it; raises `UnreadableError`."""
    if path.exists() and not path.is_file():
        raise UnreadableError("it is a folder" if path.is_dir() else "it is not a plain file")
    with path.open("rb") as file:
        data = file.read(_LARGEST_BYTES + 1)
    if len(data) > _LARGEST_BYTES:
        raise UnreadableError("it is larger than 30 MB")
    text = _decoded(data)
    if "\0" in text:
        raise UnreadableError("it is not a text file")
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _decoded(data: bytes) -> str:
    if data.startswith(_UTF_16_STARTS):
        return data.decode("utf-16", "replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")  # only a station's name can hold such letters


def find_layout(header: str, system: System) -> Layout | None:
    """Find the columns by the header line; None where a needed one is not there."""
    delimiter = max(",;\t", key=header.count)
    labels = _cut(header, delimiter)
    names = [label.casefold() for label in labels]
    columns = {}
    for wanted, spellings in _NAMES.items():
        spelled = next((pair for pair in spellings if pair[0] in names), None)
        if spelled:
            at = names.index(spelled[0])
            columns[wanted] = Column(label=labels[at], at=at, system=spelled[1] or system)
    if any(name not in columns for name in _NEEDED):
        return None
    return Layout(delimiter=delimiter, columns=columns, width=len(labels))


def header_words(header: str) -> str:
    """Show a header line, cut to a sane length."""
    return _clean(header) or "missing"


def read_lines(
    layout: Layout, lines: Sequence[tuple[int, str]], language: str
) -> tuple[list[Line], list[Fault]]:
    """Read numbered lines of text; a line with a fault is left out and told."""
    read: list[Line] = []
    faults: list[Fault] = []
    for number, text in lines:
        try:
            values = _values(layout, text, language)
            if values:
                read.append(_line(layout, number, values, language))
        except _LineError as fault:
            faults.append(Fault(number, str(fault)))
    return read, faults


def numbered(text: str) -> Iterator[tuple[int, str]]:
    """Yield the lines that are not blank, counted from 1 as an editor counts them."""
    for number, line in enumerate(text.split("\n"), start=1):
        if line and not line.isspace():
            yield number, line


def _values(layout: Layout, text: str, language: str) -> list[str]:
    values = _cut(text, layout.delimiter)
    if len(values) == layout.width or not any(values):
        return values if any(values) else []
    if len(values) < layout.needed_width or any(values[layout.width :]):
        raise _LineError(
            say(
                "cut at each '{sign}' it gives {count} of {columns} values",
                language,
                count=len(values),
                columns=layout.width,
                sign=layout.delimiter,
            )
        )
    return values + [""] * (layout.width - len(values))


def _line(layout: Layout, number: int, values: list[str], language: str) -> Line:
    columns = layout.columns
    tmax, tmin, rain = (
        _number(layout, columns[name], values[columns[name].at], language)
        if name in columns
        else nan
        for name in ("tmax", "tmin", "rain")
    )
    station = values[columns["station"].at] if "station" in columns else ""
    day = _day(values[columns["date"].at], language)
    return Line(number, day, tmax, tmin, rain, station)


def _cut(line: str, delimiter: str) -> list[str]:
    """Cut one line; never several, so that one stray quotation mark spoils one line only."""
    if '"' not in line:
        return [value.strip() for value in line.split(delimiter)]
    try:
        cut = next(csv.reader([line], delimiter=delimiter), [])
    except csv.Error:  # a value longer than any number
        cut = [line]
    return [value.strip() for value in cut]


def _number(layout: Layout, column: Column, typed: str, language: str) -> float:
    text = typed if layout.delimiter == "," else typed.replace(",", ".")
    if text.casefold() in _MISSING:
        return nan
    if _NUMBER.fullmatch(text):
        return float(text)
    if text.casefold() == _TRACE and column is layout.columns.get("rain"):
        return 0.0
    raise _LineError(
        say(
            "'{typed}' under {column} is not a number like 81.5",
            language,
            typed=_clean(typed),
            column=_clean(column.label),
        )
    )


def _day(typed: str, language: str) -> date:
    found = _DATE.fullmatch(typed)
    if found:
        try:
            day = date(int(found[1]), int(found[3]), int(found[4]))
        except ValueError:
            day = None
        if day and day.year in _YEARS:
            return day
    said = say("'{typed}' is not a date like 2025-07-31", language, typed=_clean(typed))
    raise _LineError(said)


def _clean(text: str) -> str:
    shown = "".join(sign if sign.isprintable() else " " for sign in text.strip())
    return shown if len(shown) <= _SHOWN else shown[: _SHOWN - 3] + "..."
