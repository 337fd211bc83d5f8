"""The figures that a report rests on, how well each is known, and where it comes from."""

from collections.abc import Iterable
from dataclasses import dataclass

from fieldbook.figures import PUBLISHED, SET, Figure, Figures, Reference
from fieldbook.report.amounts import value_words
from fieldbook.words import say

_MARKS = {
    "common practice": "Common practice, no source",
    "memory": "From memory, no readable source found",
    "derived": "Worked out by us",
    "assumed": "Assumed",
    SET: "Set for this season",
}
_OF_THREE = "Low, typical, high. "
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
    """One figure: its value with unit, what it is (without a stop), and its sources by number."""

    value: str
    note: str
    sources: tuple[int, ...]


@dataclass(frozen=True, kw_only=True)
class Source:
    """Who published it, where, and when; ``where`` is empty where the name says it."""

    who: str
    where: str
    year: str


@dataclass(frozen=True, kw_only=True)
class Sources:
    """What no source carries alone, by how well it is known, and who published all the rest.

    Published figures stand in the results; here only those who published them are named. Paper
    leaves out where: it would fill a third page.
    """

    groups: tuple[tuple[str, tuple[FigureLine, ...]], ...]
    references: tuple[Source, ...]


def sources_of(keys: Iterable[str], figures: Figures, language: str) -> Sources:
    """Collect the figures of a report and number their sources: first those that a line points to.

    Raises
    ------
    KeyError
        For a key that `figures` does not have.
    """
    entries = [figures.entry(key) for key in dict.fromkeys(keys)]
    weak = [entry for entry in entries if entry.kind != PUBLISHED]
    cited = [source for entry in (*weak, *entries) for source in entry.sources]
    names = {source: _reference(figures.reference(source)) for source in cited}
    numbers = {name: number for number, name in enumerate(dict.fromkeys(names.values()), start=1)}
    groups: dict[str, list[FigureLine]] = {}
    for entry in weak:
        at = tuple(dict.fromkeys(numbers[names[source]] for source in entry.sources))
        groups.setdefault(entry.kind, []).append(_line(entry, at, language))
    return Sources(
        groups=tuple(
            (say(_MARKS.get(kind, kind), language), tuple(lines)) for kind, lines in groups.items()
        ),
        references=tuple(numbers),
    )


def _line(entry: Figure, sources: tuple[int, ...], language: str) -> FigureLine:
    return FigureLine(
        value=f"{value_words(entry.value)} {_unit(entry.unit, language)}".strip(),
        note=say(first_sentence(entry.note), language).rstrip("."),
        sources=sources,
    )


def first_sentence(note: str) -> str:
    """Say what the figure is; how it was come by would fill a third page."""
    said = " ".join(note.split()).removeprefix(_OF_THREE)
    for stop in (". ", "; ", ": "):
        said = said.split(stop)[0]
    return said.rstrip(".") + "."


def _unit(unit: str, language: str) -> str:
    return say(_UNITS.get(unit, unit), language)


def _reference(reference: Reference) -> Source:
    """Name who published it, where and when; titles would fill a third page."""
    at_home = reference.institution in reference.author
    return Source(
        who=reference.author,
        where="" if at_home else f", {reference.institution}",
        year=f", {reference.year}" if reference.year else "",
    )
