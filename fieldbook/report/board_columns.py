"""The columns of the board, and the lists that its rows are chosen by."""

from collections.abc import Sequence
from dataclasses import dataclass

from fieldbook.forms.rounds import ROUNDS
from fieldbook.report.boardwords import Row
from fieldbook.report.duewords import DONE, LATER, NOW, OVER, SOON, SOON_DAYS, UNDATED
from fieldbook.report.words import round_words
from fieldbook.words import say

_WHEN = {
    NOW: "window open",
    OVER: "window over",
    SOON: "opens within {days} days",
    LATER: "opens later",
    UNDATED: "no date",
    DONE: "nothing left to walk",
}


@dataclass(frozen=True, kw_only=True)
class Column:
    """A column of the board: its key, its head, and what its two orders are called."""

    key: str
    head: str
    up: str
    down: str


@dataclass(frozen=True, kw_only=True)
class Choice:
    """One choice of a filter."""

    key: str
    label: str


@dataclass(frozen=True, kw_only=True)
class Filter:
    """A list to choose from; its first choice, all, is left to the template."""

    name: str
    label: str
    choices: tuple[Choice, ...]


def columns(language: str) -> tuple[Column, ...]:
    """Name the columns and how each can be sorted."""
    letters, soonest = ("A to Z", "Z to A"), ("soonest first", "latest first")
    lowest, most = ("lowest first", "highest first"), ("fewest first", "most first")
    made = (
        ("field", "Field", letters),
        ("grower", "Grower", letters),
        ("scout", "Scout", letters),
        ("stage", "Stage", ("earliest first", "furthest first")),
        ("due", "Due next", soonest),
        ("windows", "Windows closing", soonest),
        ("set", "Kernel set", lowest),
        ("yield", "Yield", lowest),
        ("mould", "Ear mould watch", ("most to watch first", "least to watch first")),
        ("asked", "Open questions", most),
    )
    return tuple(
        Column(key=key, head=say(head, language), up=say(up, language), down=say(down, language))
        for key, head, (up, down) in made
    )


def filters(rows: Sequence[Row], language: str) -> tuple[Filter, ...]:
    """Offer what the rows can be chosen by, with the choices that some row has."""
    rounds = {row.round_ for row in rows}
    when = {row.when for row in rows}
    return (
        _names("grower", say("Grower", language), [row.grower for row in rows]),
        _names("scout", say("Scout", language), [row.scout for row in rows]),
        Filter(
            name="round",
            label=say("Round due", language),
            choices=tuple(
                Choice(key=key, label=round_words(key, language)) for key in ROUNDS if key in rounds
            ),
        ),
        Filter(
            name="when",
            label=say("When due", language),
            choices=tuple(
                Choice(key=key, label=say(label, language, days=SOON_DAYS))
                for key, label in _WHEN.items()
                if key in when
            ),
        ),
    )


def _names(name: str, label: str, names: Sequence[str]) -> Filter:
    choices = (Choice(key=one, label=one) for one in sorted(set(names), key=str.casefold))
    return Filter(name=name, label=label, choices=tuple(choices))
