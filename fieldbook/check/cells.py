"""One typed cell: its stored value, or the fault that keeps it from being one."""

import difflib
import math
import re
from collections.abc import Callable, Mapping
from datetime import date, datetime, timedelta
from functools import cache, lru_cache, partial
from typing import Any, NamedTuple

from fieldbook.entries import BLANKS, CellValue, is_blank
from fieldbook.problems import Param
from fieldbook.schema import Column, Kind
from fieldbook.units import System
from fieldbook.words import (
    ENGLISH,
    SHIPPED_LANGUAGES,
    listed,
    number_words,
    one_line,
    phrase,
    plain_text,
    say,
)

_SPREADSHEET_DAY_ZERO = date(1899, 12, 30)
_SERIAL_DAYS = range(36526, 73051)  # the years 2000 to 2099
_OF = "de"  # as Spanish writes days: 20 de agosto de 2026
_NOT = {"not", "no", "cannot", "can't", "without", "sin"}
_LEAP_YEAR = 2000  # has every day that any year has
_SHOWN, _LONGEST_TEXT = 40, 1000
_VALUES_KEPT = 500  # of a column; counts come again and again


class Parsed(NamedTuple):
    """A stored value or None, and the code and parameters of a fault or a note."""

    value: Any = None
    code: str | None = None
    params: tuple[tuple[str, Param], ...] = ()


def _fault(code: str, /, **params: Param) -> Parsed:
    return Parsed(code=code, params=tuple(params.items()))


@lru_cache(maxsize=_VALUES_KEPT, typed=True)
def typed_text(value: CellValue) -> str:
    """Write a cell's value as a person would read it in the app, cut to a sane length."""
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, int | float):
        return number_words(value)
    if isinstance(value, datetime | date):
        return value.strftime("%Y-%m-%d")
    text = "" if value is None else " ".join(one_line(value).split())
    return text if len(text) <= _SHOWN else text[: _SHOWN - 3] + "..."


FORMULA = _fault("formula-in-entry")
"""What a cell gives in which something is worked out, or an error shows."""

Parser = Callable[[CellValue], Parsed]


@lru_cache(maxsize=256)
def parser(column: Column, units: System, language: str) -> Parser:
    """Return what parses a column's values; it remembers them."""
    parse = partial(parse_value, column, units=units, language=language)
    return lru_cache(maxsize=_VALUES_KEPT, typed=True)(parse)


def parse_value(column: Column, value: CellValue, *, units: System, language: str) -> Parsed:
    """Return the stored value of what was typed; a blank gives an empty `Parsed`."""
    if is_blank(value):
        return Parsed()
    if column.is_number:
        return _number(column, value, units)
    if column.choices:
        return _choice(column, value, language)
    if column.kind is Kind.DAY:
        return _day(value)
    return _text(value)


def _text(value: CellValue) -> Parsed:
    """Take a text as it is, but for what can't be seen; the kept original has all of it."""
    if not isinstance(value, str):
        return Parsed(value=typed_text(value))
    text = plain_text(value).strip(BLANKS)
    if len(text) <= _LONGEST_TEXT:
        return Parsed(value=text or None)
    told = (("count", len(text)), ("most", _LONGEST_TEXT))
    return Parsed(value=f"{text[: _LONGEST_TEXT - 3].rstrip()}...", code="text-cut", params=told)


def _number(column: Column, value: CellValue, units: System) -> Parsed:
    if isinstance(value, bool):
        return _no_number(value)
    if isinstance(value, int | float):
        stored = _stored(column, float(value), units)
        return Parsed(value=stored) if math.isfinite(stored) else _no_number(value)
    if isinstance(value, datetime | date):
        return _fault("date-for-number", typed=typed_text(value))
    text = str(value).strip(BLANKS)
    if not re.fullmatch(r"[+-]?\d+(\.\d+)?", text):
        return _no_number(value, _suggestion(column, text, units))
    read = _stored(column, float(text), units)
    if math.isfinite(read):
        note = (("typed", text[:_SHOWN]), ("read", number_words(float(text))))
        return Parsed(value=read, code="number-as-text", params=note)
    return _no_number(value)  # hundreds of digits


def _no_number(value: CellValue, suggestion: Param = "") -> Parsed:
    return _fault("not-a-number", typed=typed_text(value), suggestion=suggestion)


def _stored(column: Column, value: float, units: System) -> float | int:
    stored = column.unit.stored(value, units)
    return int(stored) if column.kind is Kind.WHOLE and stored.is_integer() else stored


def _suggestion(column: Column, text: str, units: System) -> Param:
    """Guess the number that was meant, for the message only: never used as a reading.

    Nothing is guessed where another unit may stand behind it, nor of 51,240, which is thousands to
    one reader and a fraction to another.
    """
    swapped = re.sub(r"(?<=\d)[oO]|[oO](?=\d)", "0", text)
    swapped = re.sub(r"(?<=\d)[lI]|[lI](?=\d)", "1", swapped)
    numbers = re.findall(r"[+-]?\d+(?:[.,]\d+)?", swapped)
    if len(numbers) != 1 or (column.kind is Kind.WHOLE and not numbers[0].isdigit()):
        return ""
    if re.search(r",\d{3}$", numbers[0]) or not _names_column(
        swapped.partition(numbers[0])[2], column, units
    ):
        return ""
    return phrase("Meant {number}? ", number=numbers[0].replace(",", "."))


def _names_column(behind: str, column: Column, units: System) -> bool:
    """Say whether all words behind a number are the column's own: its unit, or of its label."""
    known = {column.unit.label(units).casefold()}
    for language in SHIPPED_LANGUAGES:
        known |= set(say(column.label, language).casefold().split())
        known |= set(column.unit.label(units, language).casefold().split())
    words = behind.casefold().strip(".,;:?!~) ")
    return words in known or all(word in known for word in words.split())


def _choice(column: Column, value: CellValue, language: str) -> Parsed:
    text = typed_text(value)
    if column.kind is Kind.TICK and value in (True, 1):
        return Parsed(value=column.choices[0].key)
    key = _chosen(column, text.casefold(), language)
    if key is not None:
        return Parsed(value=key)
    said = {say(choice.label, language).casefold(): choice for choice in column.choices}
    near = difflib.get_close_matches(text.casefold().replace("grey", "gray"), said, n=1)
    is_opposite = near and _denies(near[0]) != _denies(text.casefold())
    hint: Param = ""
    if near and not is_opposite:
        hint = phrase("Meant '{label}'? ", label=phrase(said[near[0]].label))
    labels = listed([phrase(choice.label) for choice in column.choices])
    return _fault("not-on-list", typed=text, suggestion=hint, choices=labels)


def _denies(text: str) -> bool:
    """Say whether a text has a "not" in a shipped language: with one more or less it is another."""
    return not _NOT.isdisjoint(text.split())


def _chosen(column: Column, typed: str, language: str) -> str | None:
    """Return the choice that a text names: by its key or its label in any shipped language."""
    keys = {choice.key.casefold(): choice.key for choice in column.choices}
    if typed in keys:
        return keys[typed]
    for one in dict.fromkeys((language, *SHIPPED_LANGUAGES)):
        for choice in column.choices:
            if say(choice.label, one).casefold() == typed:
                return choice.key
    return None


def _day(value: CellValue) -> Parsed:
    if isinstance(value, datetime):
        return Parsed(value=value.date())
    if isinstance(value, date):
        return Parsed(value=value)
    if isinstance(value, str) and re.fullmatch(r"\d{4}-\d{2}-\d{2}", value.strip(BLANKS)):
        return Parsed(value=written_day(value)) if written_day(value) else _not_a_date(value)
    read = _serial_day(value) if isinstance(value, int | float) else written_day(str(value))
    if read is None:
        return _not_a_date(value)
    note = (("typed", typed_text(value)), ("read", read.isoformat()))
    return Parsed(value=read, code="date-as-text", params=note)


def _not_a_date(value: CellValue) -> Parsed:
    text = typed_text(value)
    lacks_year = written_day(f"{text} {_LEAP_YEAR}") is not None
    return _fault("date-without-year" if lacks_year else "not-a-date", typed=text)


def _serial_day(value: int | float) -> date | None:
    if isinstance(value, bool) or int(value) not in _SERIAL_DAYS:
        return None
    return _SPREADSHEET_DAY_ZERO + timedelta(days=int(value))


def written_day(text: str) -> date | None:
    """Read only what has one reading: year first, or a month in letters of a shipped language."""
    words = re.split(r"[\s,.]+", text.strip(BLANKS).casefold())
    plain = " ".join(_months().get(word, word) for word in words if word not in ("", _OF))
    for form in ("%Y-%m-%d", "%Y/%m/%d", "%d %B %Y", "%B %d %Y"):
        try:
            return datetime.strptime(plain, form).date()
        except ValueError:
            continue
    return None


@cache
def _months() -> Mapping[str, str]:
    """Return the English name of every month by its names, long and short, in all languages."""
    from babel.dates import get_month_names

    english = get_month_names("wide", locale=ENGLISH)
    return {
        name.casefold().strip("."): english[number]
        for language in SHIPPED_LANGUAGES
        for width in ("abbreviated", "wide")
        for number, name in get_month_names(width, locale=language).items()
    }
