"""Words in a reader's language: the one seam through which every text passes.

English texts are the message ids. Another language is one gettext catalogue; nothing that
decides or computes ever looks at a translated text.
"""

import gettext
from datetime import date
from functools import cache
from pathlib import Path

SHIPPED_LANGUAGES = ("en",)
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


def day_words(day: date, language: str = "en") -> str:
    """Write a day as a person says it, for example "Tue 22 July"."""
    from babel.dates import format_date

    return format_date(day, "EEE d MMMM", locale=language)


def number_words(value: float) -> str:
    """Write a number without a tail of zeros, for example 17.5 or 16."""
    return f"{value:.10g}"
