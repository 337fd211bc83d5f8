"""The shared Jinja environment, and where the shipped templates and example books lie."""

import re
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from fieldbook.units import System, Unit
from fieldbook.words import ENGLISH, day_words, say

if TYPE_CHECKING:
    from jinja2 import Environment
    from jinja2.nodes import EvalContext
    from markupsafe import Markup

_PACKAGE = Path(__file__).parent
_BEFORE_UNIT = re.compile(
    r"(?<=\d) (?=(?:%|°[FC]|GDD|bu/ac|t/ha|ac|ha|bu|lb|kg|ft|cm|mm|km)(?![\w/]))"
)
NO_BREAK = "\u00a0"


def shipped(name: str) -> Path:
    """Return the folder of shipped files called `name`.

    An installed wheel holds it inside the package; in a checkout it lies beside the package.

    Parameters
    ----------
    name
        ``templates`` or ``example_books``.

    Returns
    -------
    Path
        The folder.

    Raises
    ------
    FileNotFoundError
        Where neither place has it.
    """
    places = (_PACKAGE / "_shipped" / name, _PACKAGE.parent / name)
    found = next((place for place in places if place.is_dir()), None)
    if found is None:
        raise FileNotFoundError(
            f"The folder '{name}' that ships with silkbook is missing; install silkbook again."
        )
    return found


def environment(overrides: Path | None = None) -> "Environment":
    """Make the Jinja environment that every page is written with.

    Parameters
    ----------
    overrides
        A folder of templates of the user's own; a file there wins over the shipped one.

    Returns
    -------
    jinja2.Environment
        It escapes everything, and a name that a template misspells is an error, not a hole. A
        number and its unit stay on one line.

    Raises
    ------
    FileNotFoundError
        Where the shipped templates are missing, or `overrides` is no folder.
    """
    from jinja2 import Environment, FileSystemLoader, StrictUndefined, pass_eval_context

    if overrides is not None and not overrides.is_dir():
        raise FileNotFoundError(f"There is no folder of templates '{overrides}'.")
    folders = [shipped("templates")] if overrides is None else [overrides, shipped("templates")]
    made = Environment(
        loader=FileSystemLoader(folders),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=pass_eval_context(_held_together),
    )
    made.filters.update(_FILTERS)
    made.globals["say"] = say
    return made


def unbroken(text: str) -> str:
    """Hold numbers and the unit or percent sign behind them together, whatever line they end."""
    return _BEFORE_UNIT.sub(NO_BREAK, text)


def _held_together(how: "EvalContext", value: object) -> object:
    """Do so with every text that is put into a page; a letter in plain text has no lines."""
    return unbroken(value) if type(value) is str and how.autoescape else value


def amount(
    value: float, unit: Unit, system: System, digits: int = 0, language: str = ENGLISH
) -> str:
    """Write a stored value with its unit as a reader sees it, for example ``62 ac``."""
    return f"{unit.shown(value, system):,.{digits}f} {unit.label(system, language)}".rstrip()


def span(pair: tuple[float, float], digits: int = 0, language: str = "en") -> str:
    """Write a range, for example ``175 to 205``."""
    low, high = (f"{end:,.{digits}f}" for end in pair)
    return say("{low} to {high}", language, low=low, high=high)


def day(value: date, language: str = "en") -> str:
    """Write a date, for example ``Tue 22 July``."""
    return day_words(value, language)


def place(value: float) -> str:
    """Write a coordinate of a drawing, short and without a minus before zero."""
    return f"{round(value, 2) + 0.0:.10g}"


def css_string(text: str) -> "Markup":
    """Write a text as a string of CSS that holds nothing but that text.

    Whatever is no letter, digit or blank stands as its number, so nothing ends the string.
    """
    from markupsafe import Markup

    signs = (sign if sign.isalnum() or sign == " " else f"\\{ord(sign):x} " for sign in text)
    return Markup('"' + "".join(signs) + '"')


def csp_hash(text: str) -> str:
    """Return the hash by which a page's content security policy allows an inline text."""
    import hashlib
    from base64 import b64encode

    digest = hashlib.sha256(text.encode("utf-8")).digest()
    return f"sha256-{b64encode(digest).decode('ascii')}"


_FILTERS: dict[str, Callable[..., str]] = {
    "amount": amount,
    "span": span,
    "day": day,
    "place": place,
    "csp_hash": csp_hash,
    "css_string": css_string,
}
