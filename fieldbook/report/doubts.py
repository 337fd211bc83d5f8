"""How sure: everything that a careful reader should hold against the numbers."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from functools import cache

from fieldbook.ledger.names import ledger_sheets
from fieldbook.problems import Problem, catalogue, sentence, told
from fieldbook.report.amounts import Amounts
from fieldbook.report.earwords import place_worth
from fieldbook.report.words import REASONS, joined
from fieldbook.report.yieldwords import fill_words
from fieldbook.results.result import FieldResult, HeatResult
from fieldbook.results.yield_result import StopResult
from fieldbook.words import say, say_count

MOST_QUESTIONS = 5
_FEW_YEARS = 5


def doubts(result: FieldResult, amounts: Amounts) -> tuple[str, ...]:
    """Say what the figure leaves out, what is still asked, and how thin the ground is."""
    language = amounts.language
    return tuple(
        line
        for lines in (
            _scope(result, language),
            _kernel_weight(result, amounts),
            _confirmed(result.confirmed, language),
            _notes(result, language),
            _weather(result, amounts),
        )
        for line in lines
    )


def _scope(result: FieldResult, language: str) -> Iterator[str]:
    left = left_out_words(result.stops, language)
    if left:
        yield say("Left out of the field figure: {stops}.", language, stops=left)
    if result.yield_:
        yield say(
            "Only the inside of the field is in the figure; end rows and edges count as if they "
            "yielded alike.",
            language,
        )


def left_out_words(stops: Sequence[StopResult], language: str) -> str:
    """List the left-out stops by reason, as in ``stops 4 and 9 (end rows), stop 5 (edge)``."""
    groups: dict[str, list[str]] = {}
    for stop in stops:
        if stop.left_out:
            groups.setdefault(stop.left_out, []).append(str(stop.stop))
    parts = []
    for reason, numbers in groups.items():
        text = "stop {numbers} ({reason})" if len(numbers) == 1 else "stops {numbers} ({reason})"
        why = say(REASONS.get(reason, reason), language)
        parts.append(say(text, language, numbers=joined(numbers, language), reason=why))
    return ", ".join(parts)


def _kernel_weight(result: FieldResult, amounts: Amounts) -> Iterator[str]:
    if result.yield_:
        yield fill_words(result.yield_, amounts)
        if result.gaps is None:
            yield from place_worth(result.yield_, amounts)


def _confirmed(confirmed: Sequence[Problem], language: str) -> Iterator[str]:
    if confirmed:
        named = _by_title(confirmed, language)
        yield say("Rare, but confirmed by the scout: {list}.", language, list=named)


def _by_title(some: Iterable[Problem], language: str) -> str:
    """Name problems for a grower, each title once with all that was typed."""
    groups: dict[str, dict[str, None]] = {}
    for found in some:
        groups.setdefault(_title(found, language), {})[_typed(found, language)] = None
    return "; ".join(_with_typed(title, typed) for title, typed in groups.items())


def _told(found: Problem, language: str) -> str:
    """Name a question for a grower: what it is about and what was typed, no advice to the scout."""
    return _with_typed(_title(found, language), (_typed(found, language),))


def _title(found: Problem, language: str) -> str:
    return say(catalogue()[found.code].title, language)


def _typed(found: Problem, language: str) -> str:
    params = dict(found.params)
    shown = (params.get(name) for name in ("column", "typed"))
    return " ".join(str(told(value, language)) for value in shown if value)


def _with_typed(title: str, typed: Iterable[str]) -> str:
    said = ", ".join(one for one in typed if one)
    return f"{title} ({said})" if said else title


def _notes(result: FieldResult, language: str) -> Iterator[str]:
    """Say each note once; filled days are told with the weather.

    Notes of books tell the scout what to do, so a grower gets their names alone.
    """
    told = [found for found in result.notes if found.code != "weather-gap-filled"]
    of_books = [found for found in told if found.place.cell or found.place.sheet]
    if of_books:
        text = "Noted in the scouts' books: {list}."
        yield say(text, language, list=_by_title(of_books, language))
    yield from dict.fromkeys(sentence(found, language) for found in told if found not in of_books)


def _weather(result: FieldResult, amounts: Amounts) -> Iterator[str]:
    heat = result.heat
    if heat is None and result.is_harvested:
        return
    if heat is None:
        yield say("No weather is on file, so heat plays no part in the dates.", amounts.language)
        return
    yield from _gaps(heat, amounts)
    if heat.past_years < _FEW_YEARS and not result.is_harvested:
        text = "Few past years of weather ({years}): take the dates ahead as rough."
        if heat.past_years == 0:
            text = "No past years of weather are on file: take the dates ahead as rough."
        yield say(text, amounts.language, years=heat.past_years)


def _gaps(heat: HeatResult, amounts: Amounts) -> Iterable[str]:
    language = amounts.language
    if heat.weather_through:
        text = "Weather of station {station} runs through {day}; days filled in: {filled}."
        day = amounts.day(heat.weather_through)
        yield say(text, language, station=heat.station, day=day, filled=heat.days_filled)
    if heat.days_missing:
        one = "One day of weather is missing and could not be filled in."
        many = "{count} days of weather are missing and could not be filled in."
        yield say_count(heat.days_missing, one, many, language)


def questions(result: FieldResult, language: str) -> tuple[str, ...]:
    """Say that questions are open, and of what: the first few by name, the rest as a number."""
    if not result.questions:
        return ()
    one = "One question is open; a number that is asked about does not count yet."
    many = "{count} questions are open; a number that is asked about does not count yet."
    named = Counter(_asked(found, language) for found in result.questions).most_common()
    shown = named[:MOST_QUESTIONS]
    lines = [say_count(len(result.questions), one, many, language)]
    lines += [_times(words, count, language) for words, count in shown]
    rest = len(result.questions) - sum(count for _, count in shown)
    if rest:
        text = "And {count} more that is still asked." if rest == 1 else ""
        lines.append(say(text or "And {count} more that are still asked.", language, count=rest))
    return tuple(lines)


def _times(words: str, count: int, language: str) -> str:
    return (
        words if count == 1 else say("{words}, {count} times", language, words=words, count=count)
    )


def _asked(found: Problem, language: str) -> str:
    """Name one question with its sheet; file and cell are of no use to a grower."""
    told, sheet = _told(found, language), _sheets().get(found.place.table or "")
    return f"{say(sheet, language)}: {told}" if sheet else told


@cache
def _sheets() -> dict[str, str]:
    """Return the titles of sheets; that of the book may be in another language."""
    return {sheet.name: sheet.label for sheet in ledger_sheets()}


def cautions(language: str) -> tuple[str, ...]:
    """Say what must stand under every report."""
    return (
        say(
            "This is an estimate, not a promise. Before any spray, follow the label and local "
            "rules; a licensed applicator or adviser decides.",
            language,
        ),
        say("Walk in only when the re-entry time on the label is over.", language),
        say(
            "Mould seen on ears does not prove a toxin, and clean ears do not rule one out: check "
            "with your buyer and feed adviser. Wear an N95 mask around the dust of mouldy grain.",
            language,
        ),
    )
