"""Problems as data: a code, a place and parameters; the words come from one catalogue.

Nothing that a user did wrong raises. Each step returns its result and the problems it met, and
the command that shows them decides about words and exit code.
"""

import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from functools import cache
from importlib.resources import files
from typing import Any

from fieldbook.words import ENGLISH, Part, Phrase, number_words, one_line, part_words, say

Param = Part
_ROW = re.compile(r"row (\d+)")  # a place that is a whole row and has no letter
_CELLS_NAMED = 20


class Weight(StrEnum):
    """How much a problem matters.

    An error is impossible, so that reading is not used until it is mended; an ask is rare, so
    that reading is used once confirmed; a note changes nothing.
    """

    ERROR = "error"
    ASK = "ask"
    NOTE = "note"


@dataclass(frozen=True, kw_only=True)
class Place:
    """Where a problem sits: as the spreadsheet app shows it, and in declared names."""

    file: str | None = None
    sheet: str | None = None
    cell: str | None = None
    visit_id: str | None = None
    field_id: str | None = None
    table: str | None = None
    row: str | None = None
    column: str | None = None

    def words(self, language: str = ENGLISH) -> str:
        """Say the place, for example ``ana.xlsx, Ears, D14``."""
        whole = _ROW.fullmatch(self.cell or "")
        cell = say("row {number}", language, number=whole[1]) if whole else self.cell
        parts = (self.file, self.sheet, cell)
        return one_line(", ".join(part for part in parts if part))


@dataclass(frozen=True, kw_only=True)
class Problem:
    """One fault in one cell, or in a file as a whole."""

    code: str
    place: Place = Place()
    params: tuple[tuple[str, Param], ...] = ()

    @property
    def weight(self) -> Weight:
        """Return the weight that the catalogue gives this code."""
        return weight_of(self.code)

    def in_file(self, name: str) -> "Problem":
        """Return the same problem with the file's name in its place."""
        return replace(self, place=replace(self.place, file=name))


def problem(code: str, place: Place | None = None, /, **params: Param) -> Problem:
    """Make a problem; KeyError for a code that the catalogue does not have."""
    weight_of(code)
    return Problem(code=code, place=place or Place(), params=tuple(sorted(params.items())))


@dataclass(frozen=True, kw_only=True)
class Entry:
    """One code of the catalogue.

    ``family`` is the heading it is listed under; ``description`` says when it is raised and why
    it matters; ``example`` are the parameters of one message, as it would be shown. ``mailed`` is
    the message for who sent the book by mail and has no season folder; empty where it is the same.
    """

    code: str
    weight: Weight
    title: str
    message: str
    description: str
    example: Mapping[str, Param]
    look: str = ""
    mailed: str = ""
    family: str = "Others"


@cache
def catalogue() -> Mapping[str, Entry]:
    """Load the shipped catalogue of problem codes."""
    raw = tomllib.loads(files("fieldbook").joinpath("problems.toml").read_text("utf-8"))
    return {
        code: Entry(code=code, **{**entry, "weight": Weight(entry["weight"])})
        for code, entry in raw.items()
    }


def weight_of(code: str) -> Weight:
    """Return the weight of a code."""
    return catalogue()[code].weight


class _Params(dict[str, str | int]):
    """Parameters of a message; one that an older version did not keep reads as "?"."""

    def __missing__(self, name: str) -> str:
        return "?"


def sentence(problem: Problem, language: str = "en", *, mailed: bool = False) -> str:
    """Say what is wrong, why, and what to do, in a reader's language; `mailed`: in an answer."""
    params = _Params((name, told(value, language)) for name, value in problem.params)
    entry = catalogue()[problem.code]
    text = entry.mailed if mailed and entry.mailed else entry.message
    return say(text, language).format_map(params)


def told(value: Param, language: str = ENGLISH) -> str | int:
    """Write a parameter as a reader is told it."""
    text = part_words(value, language)
    if isinstance(text, float):
        return number_words(text)
    return one_line(text) if isinstance(text, str) else text


def params_out(params: Iterable[tuple[str, Param]]) -> dict[str, Any]:
    """Write parameters for JSON: a day becomes {"day": ...}, a phrase {"say": ..., "with": ...}."""
    return {name: _param_out(value) for name, value in params}


def _param_out(value: Param) -> Any:
    if isinstance(value, Phrase):
        return {"say": value.text, "with": params_out(value.params)}
    return {"day": value.isoformat()} if isinstance(value, date) else value


def params_in(raw: Mapping[str, Any]) -> tuple[tuple[str, Param], ...]:
    """Read parameters back."""
    return tuple(sorted((name, _param_in(value)) for name, value in raw.items()))


def _param_in(value: Any) -> Any:
    if not isinstance(value, dict):
        return value
    if "day" in value:
        return date.fromisoformat(value["day"])
    return Phrase(value["say"], params_in(value["with"]))


def line(problem: Problem, language: str = "en", *, mailed: bool = False) -> str:
    """Say the place and the sentence in one line."""
    where = problem.place.words(language)
    said = sentence(problem, language, mailed=mailed)
    return f"{where}: {said}" if where else said


def lines(problems: Iterable[Problem], language: str = ENGLISH) -> Iterator[tuple[Weight, str]]:
    """Say problems a line each, with its weight; those that differ in their cell alone share one.

    It stands where the first of them would.
    """
    alike: dict[Problem, list[Place]] = {}
    for found in problems:
        anywhere = replace(found, place=replace(found.place, cell=None, row=None))
        alike.setdefault(anywhere, []).append(found.place)
    for found, places in alike.items():
        place = replace(places[0], cell=_cells(places, language))
        yield found.weight, line(replace(found, place=place), language)


def _cells(places: Iterable[Place], language: str) -> str | None:
    """Name the first cells of some places, and say how many more there are."""
    said = (Place(cell=place.cell).words(language) for place in places if place.cell)
    cells = list(dict.fromkeys(said))
    named = ", ".join(cells[:_CELLS_NAMED])
    if len(cells) <= _CELLS_NAMED:
        return named or None
    return say("{cells} and {count} more", language, cells=named, count=len(cells) - _CELLS_NAMED)


def worst(problems: Iterable[Problem]) -> Weight | None:
    """Return the heaviest weight among problems, or None where there are none."""
    weights = {problem.weight for problem in problems}
    return next((weight for weight in Weight if weight in weights), None)
