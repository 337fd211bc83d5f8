"""Days gathered into spans, and spans said in few words."""

from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from fieldbook.words import day_words, say

Span = tuple[date, date]

_NAMED = 6


def spans_of(days: Iterable[date]) -> tuple[Span, ...]:
    """Gather days into spans of days that follow each other, first and last day included."""
    spans: list[Span] = []
    for day in sorted(set(days)):
        if spans and day - spans[-1][1] == timedelta(days=1):
            spans[-1] = (spans[-1][0], day)
        else:
            spans.append((day, day))
    return tuple(spans)


def day_count(spans: Iterable[Span]) -> int:
    """Count the days of spans that do not overlap."""
    return sum((last - first).days + 1 for first, last in spans)


def spans_words(spans: Sequence[Span], language: str = "en") -> str:
    """Say spans in order of time, as in ``3-4 July 2025``; of many only the newest.

    A reader mends the newest days first, so those are named and the older ones counted.
    """
    ordered = sorted(spans)
    older, named = ordered[:-_NAMED], ordered[-_NAMED:]
    said = ", ".join(_span_words(*span, language) for span in named)
    if not older:
        return said
    return say("{days} and {count} earlier days", language, days=said, count=day_count(older))


def _span_words(first: date, last: date, language: str) -> str:
    end = day_words(last, language, "d MMMM y")
    if first == last:
        return end
    if (first.year, first.month) == (last.year, last.month):
        return f"{first.day}-{end}"
    start = "d MMMM" if first.year == last.year else "d MMMM y"
    return f"{day_words(first, language, start)} - {end}"
