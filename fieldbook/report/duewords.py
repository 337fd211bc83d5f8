"""What is due next in a field and which windows close there, in words for the board."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from fieldbook.agronomy.fungicide import BEFORE, LAST, OPEN
from fieldbook.report.amounts import Amounts
from fieldbook.report.cutwords import cut_on
from fieldbook.report.words import round_words
from fieldbook.results.due import FieldRounds, LikelyDay, RoundWindow
from fieldbook.results.result import FieldResult
from fieldbook.words import say

OVER, NOW, SOON, LATER, UNDATED, DONE = "over", "open", "soon", "later", "undated", "done"
SOON_DAYS = 7
_LATER_THAN_ANY = 1000  # days; sorts windows ahead behind those that are open


@dataclass(frozen=True, kw_only=True)
class BoardField:
    """One field as the board takes it.

    ``report`` is the address of its report, empty where none is written. ``planned`` holds the
    days that the last plan gives to its rounds. ``scout`` is None where the roster names none.
    """

    result: FieldResult
    report: str
    scout: str | None
    rounds: FieldRounds
    planned: Mapping[str, date]
    sprayed_on: date | None
    reentry_ends: date | None


@dataclass(frozen=True, kw_only=True)
class Cell:
    """Lines of one cell, and the number that it is sorted by; None sorts last."""

    lines: tuple[str, ...]
    key: float | None


def due_cell(one: BoardField, amounts: Amounts) -> tuple[Cell, str]:
    """Say which round is due next and when; what is over comes first, then what closes first."""
    language, today = amounts.language, one.result.as_of
    if not one.rounds.windows:
        return _nothing_due(one, amounts)
    window = one.rounds.windows[0]
    opens, closes = (end.day - today for end in (window.opens, window.closes))
    name = round_words(window.round, language)
    if window.mould:
        name = say("{round}: open ears for mould", language, round=name)
    lines = [name, *_planned(one, window, amounts)]
    if closes.days < 0:
        lines += _moment("window likely closed {when}", closes.days, window.closes, amounts)
        return Cell(lines=tuple(lines), key=closes.days), OVER
    if opens.days <= 0:
        lines += _moment("open, likely closes {when}", closes.days, window.closes, amounts)
        return Cell(lines=tuple(lines), key=closes.days), NOW
    lines += _moment("likely opens {when}", opens.days, window.opens, amounts)
    key = _LATER_THAN_ANY + opens.days
    return Cell(lines=tuple(lines), key=key), SOON if opens.days <= SOON_DAYS else LATER


def _nothing_due(one: BoardField, amounts: Amounts) -> tuple[Cell, str]:
    language = amounts.language
    if one.rounds.undated:
        why = say(one.rounds.undated, language)
        return Cell(lines=(say("no date: {why}", language, why=why),), key=None), UNDATED
    if one.result.is_harvested:
        return Cell(lines=(cut_on(one.result, amounts),), key=None), DONE
    return Cell(lines=(say("nothing left to walk", language),), key=None), DONE


def _planned(one: BoardField, window: RoundWindow, amounts: Amounts) -> Iterator[str]:
    day = one.planned.get(window.round)
    if day:
        text = "planned {day}" if day >= one.result.as_of else "was planned {day}, not taken in"
        yield say(text, amounts.language, day=amounts.short_day(day))


def _moment(text: str, days: int, end: LikelyDay, amounts: Amounts) -> tuple[str, str]:
    """Say when a window opens or closes: in days from today, and the days it may fall on."""
    spread = amounts.short_day(end.day)
    if end.earliest and end.latest and end.earliest != end.latest:
        spread = amounts.days(end.earliest, end.latest, month="MMM")
    return say(text, amounts.language, when=in_days(days, amounts.language)), spread


def in_days(days: int, language: str) -> str:
    """Say how far off a day is: ``today``, ``in 3 days``, ``yesterday``."""
    near = {0: "today", 1: "tomorrow", -1: "yesterday"}.get(days)
    text = near or ("in {days} days" if days > 0 else "{days} days ago")
    return say(text, language, days=abs(days))


# ---- windows that close --------------------------------------------------------------------


def windows_cell(one: BoardField, amounts: Amounts) -> Cell:
    """Say which windows close, and until when the field is closed, soonest first."""
    found = sorted(_closing(one, amounts), key=lambda pair: pair[0])
    lines = tuple(line for _, line in found)
    if lines:
        return Cell(lines=lines, key=found[0][0])
    return Cell(lines=(say("none now", amounts.language),), key=None)


def _closing(one: BoardField, amounts: Amounts) -> Iterator[tuple[int, str]]:
    language, today = amounts.language, one.result.as_of
    if not one.result.is_harvested:
        yield from _spray(one.result, language)
    if one.reentry_ends and one.reentry_ends > today:
        days = (one.reentry_ends - today).days
        text = "re-entry: not before {day}, {when}"
        day, when = amounts.short_day(one.reentry_ends), in_days(days, language)
        yield days, say(text, language, day=day, when=when)
    elif one.sprayed_on and not one.reentry_ends:
        day = amounts.short_day(one.sprayed_on)
        yield 0, say("sprayed {day}: call before you walk in", language, day=day)
    waits = one.result.fungicide.pre_harvest
    if waits and waits.first_day > today and not one.result.is_harvested:
        days = (waits.first_day - today).days
        text = "harvest: not before {day}, {when}"
        day, when = amounts.short_day(waits.first_day), in_days(days, language)
        yield days, say(text, language, day=day, when=when)


def _to_milk(fewest: int, most: int) -> str:
    if fewest == most:
        one, many = "fungicide: one day to milk (R3)", "fungicide: {most} days to milk (R3)"
        return one if most == 1 else many
    if fewest == 0:
        one = "fungicide: at most one day to milk (R3)"
        return one if most == 1 else "fungicide: at most {most} days to milk (R3)"
    return "fungicide: {fewest} to {most} days to milk (R3)"


def _spray(field: FieldResult, language: str) -> Iterator[tuple[int, str]]:
    """Say what is left of the fungicide window where it is open, or may be by its dates."""
    window = field.fungicide.window
    if window is None or window.state not in (BEFORE, OPEN, LAST):
        return
    if window.state == LAST:
        yield 0, say("fungicide: at its end, the field is at milk (R3)", language)
    elif window.days_to_r3 and (window.state == OPEN or window.at_most != BEFORE):
        fewest, most = window.days_to_r3
        yield fewest, say(_to_milk(fewest, most), language, fewest=fewest, most=most)
    elif window.state == OPEN:
        yield _LATER_THAN_ANY, say("fungicide: open, no date for its end", language)
