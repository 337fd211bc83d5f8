"""Every constant with its source, and a loader that refuses one without.

`shipped_figures` gives the figures of the program; a season may set some of them anew with
`Figures.changed`. Code asks for a constant by its key and never holds a bare number.
"""

import difflib
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, fields, replace
from functools import cache
from importlib.resources import files
from typing import Any, TypeVar

T = TypeVar("T")
Value = float | tuple[float, ...]

PUBLISHED = "published"
COMMON_PRACTICE = "common practice"
MEMORY = "memory"
DERIVED = "derived"
ASSUMED = "assumed"
SET = "set for this season"
KINDS = (PUBLISHED, COMMON_PRACTICE, MEMORY, DERIVED, ASSUMED)
"""Kinds that are marked as such wherever a grower reads the figure."""


class FigureError(ValueError):
    """A figure or a reference that the loader refuses."""


@dataclass(frozen=True, kw_only=True)
class Reference:
    """A page or paper; ``year`` is None where it gives none."""

    key: str
    author: str
    institution: str
    title: str
    year: int | None = None
    url: str


@dataclass(frozen=True, kw_only=True)
class Figure:
    """One constant: its value, its unit, how well it is known and where it comes from."""

    key: str
    value: Value
    unit: str
    kind: str
    sources: tuple[str, ...] = ()
    note: str = ""


@dataclass(frozen=True)
class Figures(Mapping[str, Value]):
    """The constants by key; looking one up gives its plain value.

    Raises
    ------
    KeyError
        For a key that does not exist; the message names the nearest one.
    """

    _entries: Mapping[str, Figure]
    _references: Mapping[str, Reference] = field(default_factory=dict, repr=False)

    def __getitem__(self, key: str) -> Value:
        return self.entry(key).value

    def __iter__(self) -> Iterator[str]:
        return iter(self._entries)

    def __len__(self) -> int:
        return len(self._entries)

    def __contains__(self, key: object) -> bool:
        return key in self._entries

    def entry(self, key: str) -> Figure:
        """Return a constant with its unit, kind, sources and note."""
        return _found(self._entries, key, "figure")

    def reference(self, key: str) -> Reference:
        """Return a source by its key."""
        return _found(self._references, key, "reference")

    def number(self, key: str) -> float:
        """Return a constant that is one number.

        Raises
        ------
        TypeError
            If it is a row of numbers.
        """
        value = self[key]
        if isinstance(value, tuple):
            raise TypeError(f"{key} is a row of numbers, not one number")
        return value

    def numbers(self, key: str) -> tuple[float, ...]:
        """Return a constant that is a row of numbers.

        Raises
        ------
        TypeError
            If it is one number.
        """
        value = self[key]
        if not isinstance(value, tuple):
            raise TypeError(f"{key} is one number, not a row of numbers")
        return value

    def changed(self, settings: Mapping[str, Value]) -> "Figures":
        """Return these figures with some values set for a season.

        Raises
        ------
        KeyError
            For a key that does not exist.
        ValueError
            If one number is set where a row is needed, or a row of another length.
        """
        if not settings:
            return self
        entries = dict(self._entries)
        for key, value in settings.items():
            entries[key] = _set(self.entry(key), value)
        return replace(self, _entries=entries)


def reference(key: str) -> Reference:
    """Return a shipped source by its key.

    Raises
    ------
    KeyError
        For a key that does not exist.
    """
    return shipped_figures().reference(key)


@cache
def shipped_figures() -> Figures:
    """Return the figures that the program ships, read once."""
    here = files(__name__)
    return load_figures(
        here.joinpath("figures.toml").read_text("utf-8"),
        here.joinpath("references.toml").read_text("utf-8"),
    )


def load_figures(figures_toml: str, references_toml: str) -> Figures:
    """Read figures and references from TOML texts.

    Raises
    ------
    FigureError
        If a figure has no source and may not go without, names a source that does not exist, or
        lacks a part; if a reference lacks one.
    """
    references = {key: _reference(key, raw) for key, raw in tomllib.loads(references_toml).items()}
    entries = {key: _figure(key, raw) for key, raw in tomllib.loads(figures_toml).items()}
    for entry in entries.values():
        _refuse_without_ground(entry, references)
    return Figures(entries, references)


def _found(among: Mapping[str, T], key: str, what: str) -> T:
    try:
        return among[key]
    except KeyError:
        near = difflib.get_close_matches(key, list(among), n=1, cutoff=0)
        raise KeyError(f"no {what} {key!r}; the nearest is {near[0]!r}" if near else key) from None


def _set(entry: Figure, value: Value) -> Figure:
    new = _value(entry.key, list(value) if isinstance(value, tuple) else value)
    if _shape(new) != _shape(entry.value):
        raise ValueError(f"{entry.key} needs {_shape_words(entry.value)}")
    return replace(entry, value=new, kind=SET)


def _shape(value: Value) -> int | None:
    return len(value) if isinstance(value, tuple) else None


def _shape_words(value: Value) -> str:
    return f"{len(value)} numbers" if isinstance(value, tuple) else "one number"


def _figure(key: str, raw: Any) -> Figure:
    parts = _parts(key, raw, Figure, optional={"sources", "note"})
    parts["value"] = _value(key, parts["value"])
    parts["sources"] = tuple(parts.get("sources", ()))
    return Figure(key=key, **parts)


def _reference(key: str, raw: Any) -> Reference:
    return Reference(key=key, **_parts(key, raw, Reference, optional={"year"}))


def _parts(key: str, raw: Any, record: type, optional: set[str]) -> dict[str, Any]:
    """Return the parts of a TOML table, all known and none missing."""
    known = {part.name for part in fields(record)} - {"key"}
    given = set(raw) if isinstance(raw, dict) else set()
    if given - known or known - optional - given:
        odd = sorted((given - known) | (known - optional - given))
        raise FigureError(f"{key}: missing or unknown: {', '.join(odd)}")
    return dict(raw)


def _value(key: str, raw: Any) -> Value:
    numbers = raw if isinstance(raw, list) else [raw]
    plain = all(isinstance(one, int | float) and not isinstance(one, bool) for one in numbers)
    if not numbers or not plain:
        raise FigureError(f"{key}: the value is not a number or a row of numbers")
    return tuple(numbers) if isinstance(raw, list) else raw


def _refuse_without_ground(entry: Figure, references: Mapping[str, Reference]) -> None:
    if entry.kind not in KINDS:
        raise FigureError(f"{entry.key}: {entry.kind!r} is not one of {', '.join(KINDS)}")
    missing = [source for source in entry.sources if source not in references]
    if missing:
        raise FigureError(f"{entry.key}: no reference {', '.join(missing)}")
    if not entry.sources and entry.kind == PUBLISHED:
        raise FigureError(f"{entry.key}: a published figure needs a source")
    if not entry.note and entry.kind != PUBLISHED:
        raise FigureError(f"{entry.key}: a figure that is not published needs a note")
