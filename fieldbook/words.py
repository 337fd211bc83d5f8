"""Words in a reader's language: the one seam through which every text passes.

English texts are the message ids. Another language is one gettext catalogue, read as compiled, and
which languages there are follows from the files; nothing that decides or computes looks at a
translated text.
"""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from functools import cache
from gettext import GNUTranslations
from pathlib import Path
from typing import Union
from unicodedata import category

ENGLISH = "en"
_TURNS = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_UNSEEN = ("Cc", "Zl", "Zp")
_LINE_ENDS = re.compile(r"\r\n|\r|\n")
_CATALOGUES = Path(__file__).parent / "locale"
_FILE = "LC_MESSAGES/silkbook.mo"
SHIPPED_LANGUAGES = (
    ENGLISH,
    *sorted(path.parent.parent.name for path in _CATALOGUES.glob(f"*/{_FILE}")),
)


@dataclass(frozen=True, kw_only=True)
class _Catalogue:
    """Gives a language's text for the English one; and the region whose dates it is written for."""

    locale: str
    text_for: Callable[[str], str]


@cache
def _catalogue(language: str) -> _Catalogue:
    """Read a language's catalogue; English, or one that we do not have, has no texts of its own."""
    path = _CATALOGUES / language / _FILE
    if language not in SHIPPED_LANGUAGES or language == ENGLISH:
        return _Catalogue(locale=language, text_for=str)
    with path.open("rb") as file:
        read = GNUTranslations(file)
    return _Catalogue(locale=read.info().get("language", language), text_for=read.gettext)


def say(text: str, language: str = ENGLISH, /, **params: object) -> str:
    """Return `text` in `language`, with its {named} parts filled in."""
    said = text if language == ENGLISH or not text else _catalogue(language).text_for(text)
    return said.format(**params) if params else said


def say_count(count: int, one: str, many: str, language: str = ENGLISH, /, **params: object) -> str:
    """Say the text for one thing, or the one for none or several, which names their {count}."""
    return say(one if count == 1 else many, language, count=count, **params)


Part = Union[str, int, float, date, "Phrase"]


@dataclass(frozen=True)
class Phrase:
    """A text with its parts that is put into a reader's language only when it is told."""

    text: str
    params: tuple[tuple[str, Part], ...] = ()

    def said(self, language: str = ENGLISH) -> str:
        """Return the phrase in `language`; its parts may be days and phrases too."""
        parts = {name: part_words(part, language) for name, part in self.params}
        return say(self.text, language, **parts)

    def __str__(self) -> str:
        return self.said()


def part_words(part: Part, language: str = ENGLISH) -> str | int | float:
    """Put a part of a text into a language, if there are words in it."""
    if isinstance(part, Phrase):
        return part.said(language)
    return day_words(part, language) if isinstance(part, date) else part


def phrase(text: str, /, **params: Part) -> Phrase:
    """Make a phrase."""
    return Phrase(text, tuple(sorted(params.items())))


def listed(parts: Iterable[str | Phrase], between: str = ", ") -> Phrase:
    """Make one phrase of several; a plain text stands as it is."""
    named = {f"part{at}": one for at, one in enumerate(parts)}
    return phrase(between.join(f"{{{name}}}" for name in named), **named)


def one_line(text: str) -> str:
    """Return a text that can do nothing but be read: on one line, in its own direction.

    Control characters (an escape sequence moves the cursor or names the window) and line ends
    become blanks; marks that turn the direction of reading go, and half a letter becomes "_".
    """
    return text if text.isprintable() else "".join(map(_harmless, text))


def plain_text(text: str) -> str:
    """Do the same with every line of a text and keep its lines."""
    return "\n".join(one_line(line) for line in _LINE_ENDS.split(text))


def _harmless(letter: str) -> str:
    if letter in _TURNS:
        return ""
    kind = category(letter)
    return "_" if kind == "Cs" else " " if kind in _UNSEEN else letter


def day_words(day: date, language: str = ENGLISH, pattern: str = "EEE d MMMM") -> str:
    """Write a day as a person says it, for example "Tue 22 July".

    A pattern is a text as well: another language may put words between its parts.
    """
    from babel.dates import format_date

    return format_date(day, say(pattern, language), locale=_catalogue(language).locale)


def number_words(value: float) -> str:
    """Write a number without a tail of zeros, for example 17.5 or 16."""
    return f"{value:.10g}"
