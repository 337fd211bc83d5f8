"""The figures that a report rests on, how well each is known, and where it comes from."""

from collections.abc import Iterable
from dataclasses import dataclass

from fieldbook.figures import PUBLISHED, WEAK_KINDS, Figure, Figures, Reference
from fieldbook.report.amounts import value_words
from fieldbook.words import say

_MARKS = {
    "common practice": "common practice, no source",
    "memory": "from memory, no readable source found",
    "derived": "worked out by us",
    "assumed": "assumed",
}
_UNITS = {
    "rings": "kernel places",
    "rings/in": "kernel places to the inch",
    "1000 kernels/bu": "thousand kernels a bushel",
    "degF": "°F",
    "GDD F": "heat units",
    "GDD F/day": "heat units a day",
    "GDD F/RM day": "heat units a day of maturity",
    "GDD F/leaf": "heat units a leaf",
    "GDD F/point": "heat units a point of moisture",
}


@dataclass(frozen=True, kw_only=True)
class FigureLine:
    """One figure: its value with unit, what it is, its mark, and the numbers of its sources."""

    value: str
    note: str
    mark: str
    is_weak: bool
    sources: tuple[int, ...]


@dataclass(frozen=True, kw_only=True)
class Sources:
    """The figures in the order of their keys, and the sources they point to."""

    figures: tuple[FigureLine, ...]
    references: tuple[str, ...]


def sources_of(keys: Iterable[str], figures: Figures, language: str) -> Sources:
    """Collect the figures of a report and number their sources in order of first use.

    Raises
    ------
    KeyError
        For a key that `figures` does not have.
    """
    entries = [figures.entry(key) for key in dict.fromkeys(keys)]
    cited = list(dict.fromkeys(source for entry in entries for source in entry.sources))
    numbers = {source: number for number, source in enumerate(cited, start=1)}
    return Sources(
        figures=tuple(_line(entry, numbers, language) for entry in entries),
        references=tuple(_reference(figures.reference(source)) for source in cited),
    )


def _line(entry: Figure, numbers: dict[str, int], language: str) -> FigureLine:
    mark = "" if entry.kind == PUBLISHED else say(_MARKS.get(entry.kind, entry.kind), language)
    return FigureLine(
        value=f"{value_words(entry.value)} {_unit(entry.unit, language)}".strip(),
        note=say(_first_sentence(entry.note), language),
        mark=mark,
        is_weak=entry.kind in WEAK_KINDS,
        sources=tuple(numbers[source] for source in entry.sources),
    )


def _first_sentence(note: str) -> str:
    """Say what the figure is; how it was come by would fill a third page."""
    return " ".join(note.split()).split(". ")[0].rstrip(".") + "."


def _unit(unit: str, language: str) -> str:
    return say(_UNITS.get(unit, unit), language)


def _reference(reference: Reference) -> str:
    who = reference.author
    if reference.institution not in who:
        who = f"{who}, {reference.institution}"
    year = f", {reference.year}" if reference.year else ""
    return f"{who}{year}: {reference.title}"
