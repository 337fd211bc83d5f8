"""The catalogue of problems told to a person: as lines for a terminal and as a page."""

import difflib
from collections.abc import Iterator
from itertools import groupby
from textwrap import wrap

from fieldbook.problems import Entry, Weight, catalogue, problem, sentence
from fieldbook.words import say

_WIDE, _INDENT = 96, " " * 4
_WEIGHT_WORDS = {
    Weight.ERROR: "impossible: that reading is not used until it is mended",
    Weight.ASK: "unusual: used once confirmed, marked in the report until then",
    Weight.NOTE: "good to know: nothing changes",
}


def by_family() -> dict[str, tuple[Entry, ...]]:
    """Return the codes under their headings, both in the catalogue's order."""
    order = {entry.family: at for at, entry in reversed([*enumerate(catalogue().values())])}
    entries = sorted(catalogue().values(), key=lambda entry: order[entry.family])
    return {family: tuple(some) for family, some in groupby(entries, lambda entry: entry.family)}


def example_sentence(entry: Entry, language: str = "en") -> str:
    """Say a code's message with its example's parameters."""
    return sentence(problem(entry.code, **entry.example), language)


def all_lines(language: str = "en") -> Iterator[str]:
    """List every code with its weight, title and description, a heading a family."""
    for family, entries in by_family().items():
        yield say(family, language).upper()
        for entry in entries:
            yield from _lines(entry, language)
        yield ""


def one_lines(code: str, language: str = "en") -> Iterator[str]:
    """Explain one code, with the sentence that a person would be told."""
    entry = catalogue()[code]
    yield from _lines(entry, language)
    weight = say(str(entry.weight), language)
    yield from _beneath(f"{weight} = {say(_WEIGHT_WORDS[entry.weight], language)}")
    said = example_sentence(entry, language)
    yield from _beneath(say("For example: {said}", language, said=said))


def _lines(entry: Entry, language: str) -> Iterator[str]:
    yield f"{entry.code} ({say(str(entry.weight), language)}): {say(entry.title, language)}"
    yield from _beneath(say(entry.description, language))


def _beneath(text: str) -> list[str]:
    return wrap(text, _WIDE, initial_indent=_INDENT, subsequent_indent=_INDENT)


def near_code(typed: str) -> str:
    """Name the code that was probably meant, in whatever order its words were typed."""
    codes = {_in_order(code): code for code in catalogue()}
    near = difflib.get_close_matches(_in_order(typed), codes, n=1)
    if near:
        return f"Did you mean '{codes[near[0]]}'?"
    return "'silkbook check --explain' lists them all."


def _in_order(code: str) -> str:
    return " ".join(sorted(code.casefold().replace("_", "-").split("-")))


def catalogue_page() -> str:
    """Write the page of all codes, as Markdown."""
    return "\n".join([*_page_head(), *_page_families()])


def _page_head() -> Iterator[str]:
    yield "# What is checked"
    yield ""
    yield "Written by `python tests/problems_page.py` from `fieldbook/problems.toml`."
    yield ""
    yield f"{len(catalogue())} problems can be told, each with a code and a weight:"
    yield ""
    for weight, words in _WEIGHT_WORDS.items():
        yield f"- **{weight}** - {words}"
    yield ""
    yield "The sentence in quotes is an example; its place, sheet and cell as the app shows them,"
    yield "is told before it. `silkbook check --explain CODE` says the same on the terminal."


def _page_families() -> Iterator[str]:
    for family, entries in by_family().items():
        yield ""
        yield f"## {family}"
        for entry in entries:
            yield ""
            yield f"**`{entry.code}`** ({entry.weight}): {entry.title}. {entry.description}"
            yield ""
            yield f"> {example_sentence(entry)}"
    yield ""
