"""Silk clipping against the published lines, in words; never an order."""

from collections.abc import Iterator, Sequence

from fieldbook.agronomy.clipping import ClippingLine
from fieldbook.figures import Figures
from fieldbook.report.amounts import Amounts
from fieldbook.report.words import joined
from fieldbook.words import say

_LINES = {
    "purdue-japanese": "Purdue ({count} Japanese beetles an ear)",
    "iowa-state-japanese": "Iowa State ({count} Japanese beetles an ear)",
    "south-dakota-rootworm": "South Dakota State ({count} rootworm beetles a plant)",
    "wisconsin-rootworm": "Wisconsin ({count} rootworm beetles a plant)",
    "nebraska-rootworm": "Nebraska ({count} rootworm beetles an ear)",
}
_HOLDS = {
    True: (
        "silks are shorter than {length}",
        "less than {pct} % is pollinated",
        "beetles are enough",
    ),
    False: ("silks are {length} or longer", "{pct} % or more is pollinated", "beetles are fewer"),
    None: ("the length of silks", "how much is pollinated", "whether beetles are enough"),
}


def clipping_sentences(
    lines: Sequence[ClippingLine], amounts: Amounts, figures: Figures
) -> Iterator[str]:
    """Say of each published line whether it is reached, by what, and what is not known."""
    for line in lines:
        yield _line(line, amounts, figures)
    if any(line.reached is not False for line in lines):
        text = (
            "A licensed adviser decides about any spray; protect bees, which work in the tassels."
        )
        yield say(text, amounts.language)


def _line(line: ClippingLine, amounts: Amounts, figures: Figures) -> str:
    language = amounts.language
    low, high = (f"{end:.0f}" for end in figures.numbers(line.sources[2]))
    count = say("{low} or more", language, low=low) if low == high else amounts.span(low, high)
    text = {
        True: "Silk clipping: the line of {who} is reached: {why}.",
        False: "Silk clipping: the line of {who} is not reached: {why}.",
        None: "Silk clipping: the line of {who} cannot be told; not known: {why}.",
    }[line.reached]
    who = say(_LINES[line.name], language, count=count)
    return say(text, language, who=who, why=_why(line, amounts, figures))


def _why(line: ClippingLine, amounts: Amounts, figures: Figures) -> str:
    """Name the conditions that decide: those that hold, those that fail, or the unknown ones."""
    language = amounts.language
    length = amounts.length(figures.number(line.sources[0]))
    pct = f"{figures.number(line.sources[1]):.0f}"
    conditions = (line.short, line.open, line.beetles)
    parts = [
        say(words, language, length=length, pct=pct)
        for words, holds in zip(_HOLDS[line.reached], conditions, strict=True)
        if holds is line.reached
    ]
    return joined(parts, language)
