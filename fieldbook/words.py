"""Words in a reader's language: the one seam through which every text passes.

English texts are the message ids. Another language is one gettext catalogue; nothing that
decides or computes ever looks at a translated text.
"""

import gettext
import re
from datetime import date
from functools import cache
from pathlib import Path
from unicodedata import category

SHIPPED_LANGUAGES = ("en",)
_TURNS = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_UNSEEN = ("Cc", "Zl", "Zp")
_LINE_ENDS = re.compile(r"\r\n|\r|\n")
_CATALOGUES = Path(__file__).parent / "locale"


@cache
def _catalogue(language: str) -> gettext.NullTranslations:
    return gettext.translation(
        "silkbook", localedir=_CATALOGUES, languages=[language], fallback=True
    )


def say(text: str, language: str = "en", /, **params: object) -> str:
    """Return `text` in `language`, with its {named} parts filled in."""
    said = _catalogue(language).gettext(text) if text else ""
    return said.format(**params) if params else said


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


def day_words(day: date, language: str = "en") -> str:
    """Write a day as a person says it, for example "Tue 22 July"."""
    from babel.dates import format_date

    return format_date(day, "EEE d MMMM", locale=language)


def number_words(value: float) -> str:
    """Write a number without a tail of zeros, for example 17.5 or 16."""
    return f"{value:.10g}"
