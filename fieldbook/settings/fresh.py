"""A fresh ``season.toml``, with a remark above every key, from the table that also reads it."""

import re
from collections.abc import Iterator
from operator import attrgetter
from typing import Any

from fieldbook.settings.keys import FORMAT, SECTIONS
from fieldbook.settings.settings import Settings
from fieldbook.settings.shape import Key, Section

_BARE = re.compile("[A-Za-z0-9_-]+")
_SHORT = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\t": "\\t", "\r": "\\r"}


def settings_text(settings: Settings) -> str:
    """Write the text of a commented ``season.toml`` that reads back as these settings.

    Values are written as they are; reading the text tells whether they fit.
    """
    return "\n\n".join("\n".join(_section(section, settings)) for section in SECTIONS) + "\n"


def _section(section: Section, settings: Settings) -> Iterator[str]:
    yield from _remark(section.comment)
    if section.names or section.free:
        tables = list(_tables(section, settings))
        yield from tables or _remark(section.example)
        return
    if section.name:
        yield f"[{section.name}]"
    for key in section.keys:
        yield from _remark(key.comment)
        value = FORMAT if key.name == "format" else attrgetter(key.target)(settings)
        yield from _pair(key, value)


def _tables(section: Section, settings: Settings) -> Iterator[str]:
    if section.free:
        yield from [f"[{section.name}]"] if settings.figures else []
        yield from (
            f"{_key(name)} = {toml_value(value)}" for name, value in settings.figures.items()
        )
        return
    for name, record in _records(settings)[section.name]:
        yield f"[{section.name}.{_key(name)}]"
        for key in section.keys:
            yield from _pair(key, attrgetter(key.target)(record))


def _records(settings: Settings) -> dict[str, list[tuple[str, Any]]]:
    return {
        "stations": list(settings.stations.items()),
        "hybrids": [(one.hybrid, one) for one in settings.hybrids],
        "growers": [(grower.grower_id, grower) for grower in settings.growers],
        "scouts": [(scout.scout_id, scout) for scout in settings.scouts],
    }


def _pair(key: Key, value: Any) -> Iterator[str]:
    if value is not None:
        yield f"{key.name} = {toml_value(value)}"
    elif key.example:
        yield f"# {key.name} = {key.example}"


def _remark(text: str) -> Iterator[str]:
    return (f"# {line}" for line in text.splitlines())


def _key(name: str) -> str:
    return name if _BARE.fullmatch(name) else toml_value(name)


def toml_value(value: Any) -> str:
    """Write a value as TOML does."""
    if isinstance(value, str):
        whole = str(value).encode("utf-8", "replace").decode("utf-8")  # no half characters
        return '"' + "".join(_sign(sign) for sign in whole) + '"'
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, tuple | list):
        return "[" + ", ".join(map(toml_value, value)) + "]"
    return repr(value)


def _sign(sign: str) -> str:
    if sign in _SHORT:
        return _SHORT[sign]
    return sign if sign >= " " and sign != "\x7f" else f"\\u{ord(sign):04X}"
