"""``season.toml`` read key by key; each unknown or wrong one is told with a suggestion."""

import re
import tomllib
from collections.abc import Collection, Iterable, Iterator
from pathlib import Path
from typing import Any

from fieldbook.figures import Figure
from fieldbook.problems import Place, Problem, problem
from fieldbook.settings.keys import (
    FIGURES,
    FORMAT,
    GROWERS,
    HYBRIDS,
    SCOUTS,
    SECTIONS,
    STATIONS,
    TOP,
)
from fieldbook.settings.look import Look
from fieldbook.settings.mail import MailSettings
from fieldbook.settings.mail_keys import MAIL
from fieldbook.settings.report_keys import LOOK
from fieldbook.settings.rules import FIGURE, ID, SecretError, UnfitError, nearest, shown
from fieldbook.settings.settings import Grower, HybridCounts, Scout, Settings, Station
from fieldbook.settings.shape import Key, Section
from fieldbook.units import System
from fieldbook.words import say

_LARGEST_BYTES = 200_000


_LONGEST_LINE = 2_000  # the TOML reader takes minutes over one key with thousands of dots


_NAMED = tuple(section for section in SECTIONS if section.name)


_PLAIN = tuple(section for section in _NAMED if section.keys and section.names is None)


_HOME = {key.name: section.name for section in _PLAIN for key in section.keys}


_DEEPEST = 5  # the dots that a figure's key may have


_COMMA = re.compile(r"=\s*([+-]?\d+,\d+)\s*(?:#.*)?$")


_SECRET = re.compile("pass|secret|token|login", re.IGNORECASE)


def read_settings(
    path: Path, *, figure_keys: Collection[str] | None = None
) -> tuple[Settings | None, tuple[Problem, ...]]:
    """Read a settings file and find all of its faults at once.

    Parameters
    ----------
    path
        The file ``season.toml``.
    figure_keys
        The keys that ``[figures]`` may override; None leaves them unchecked.

    Returns
    -------
    tuple
        The settings, or None where a fault was found; and the problems. Nothing raises.
    """
    raw, faults = _raw(path)
    if raw is None:
        return None, faults
    newer = _newer(raw.get("format"))
    if newer:
        return None, (newer.in_file(path.name),)
    reader = _Reader(figure_keys)
    settings = reader.settings(raw)
    return settings, tuple(found.in_file(path.name) for found in reader.problems)


def _raw(path: Path) -> tuple[dict[str, Any] | None, tuple[Problem, ...]]:
    place = Place(file=path.name)
    try:
        with path.open("rb") as file:
            data = file.read(_LARGEST_BYTES + 1)
    except FileNotFoundError:
        return None, (problem("season-missing", folder=str(path.parent)),)
    except (OSError, ValueError) as fault:
        detail = getattr(fault, "strerror", None) or "no usable file name"
        return None, (problem("file-unreadable", place, detail=detail),)
    parsed, detail = _parsed(data)
    return parsed, () if parsed is not None else (problem("season-broken", place, detail=detail),)


def _parsed(data: bytes) -> tuple[dict[str, Any] | None, str]:
    """Parse TOML, or say what is wrong with it."""
    if len(data) > _LARGEST_BYTES:
        return None, "it is larger than 200 kB"
    for number, line in enumerate(data.splitlines(), start=1):
        if len(line) > _LONGEST_LINE:
            return None, f"line {number} is longer than 2,000 signs"
    try:
        return tomllib.loads(data.decode("utf-8-sig")), ""
    except UnicodeDecodeError as fault:
        return None, _not_utf_8(data, fault.start)
    except RecursionError:
        return None, "its brackets go too deep"
    except ValueError as fault:
        return None, _with_comma(data, str(fault)) or _syntax(str(fault))


def _not_utf_8(data: bytes, at: int) -> str:
    number = data.count(b"\n", 0, at) + 1
    return f"line {number} is not UTF-8 text"


def _with_comma(data: bytes, said: str) -> str:
    """Say a number with a decimal comma, where that is the fault; else nothing."""
    found = re.search(r"\(at line (\d+), column \d+\)", said)
    lines = data.decode("utf-8-sig").split("\n")
    at = int(found[1]) if found else 0
    number = _COMMA.search(lines[at - 1]) if 0 < at <= len(lines) else None
    if number is None:
        return ""
    text = "line {at}: {typed} has a comma, but a decimal point is wanted: {meant}"
    return text.format(at=at, typed=number[1], meant=number[1].replace(",", "."))


def _syntax(said: str) -> str:
    """Put the line first, as in "line 3, column 5: Expected '=' after a key"."""
    found = re.fullmatch(r"(.*) \(at (line \d+, column \d+)\)", said, re.DOTALL)
    return shown(said) if not found else f"{found[2]}: {found[1]}"


def _newer(typed: Any) -> Problem | None:
    if isinstance(typed, int) and not isinstance(typed, bool) and typed > FORMAT:
        return problem("season-newer", typed=shown(typed), known=FORMAT)
    return None


class _Reader:
    """Collects values and problems while it walks through the declared sections."""

    def __init__(self, figure_keys: Collection[str] | None) -> None:
        self.problems: list[Problem] = []
        self._figure_keys = figure_keys

    def settings(self, raw: dict[str, Any]) -> Settings | None:
        """Return the settings, or None where a problem was found."""
        known = (*(key.name for key in TOP.keys), *(section.name for section in _NAMED))
        self._find_unknown(raw, known, "")
        values = self._keys(TOP, raw, "")
        for section in _PLAIN:
            table = self._table(raw.get(section.name, {}), section.name)
            self._find_unknown(table, [key.name for key in section.keys], section.name)
            values |= self._keys(section, table, section.name)
        values["stations"] = self._stations(raw, values["units"] or System.US)
        values["scouts"] = self._scouts(raw)
        values["growers"] = self._growers(raw)
        values["hybrids"] = self._hybrids(raw)
        values["look"] = Look(**_popped(values, LOOK.keys))
        values["mail"] = MailSettings(**_popped(values, MAIL.keys))
        values["figures"] = self._figures(raw)
        del values["format"]
        return None if self.problems else Settings(**values)

    def _stations(self, raw: dict[str, Any], units: System) -> dict[str, Station]:
        return {
            name: Station(
                name=name,
                files=values.pop("files") or (),
                units=values.pop("units") or units,
                **values,
            )
            for name, values in self._each(STATIONS, raw)
        }

    def _scouts(self, raw: dict[str, Any]) -> tuple[Scout, ...]:
        return tuple(Scout(scout_id=name, **values) for name, values in self._each(SCOUTS, raw))

    def _growers(self, raw: dict[str, Any]) -> tuple[Grower, ...]:
        return tuple(
            Grower(grower_id=name, look=Look(**_popped(values, LOOK.keys)), **values)
            for name, values in self._each(GROWERS, raw)
        )

    def _hybrids(self, raw: dict[str, Any]) -> tuple[HybridCounts, ...]:
        return tuple(
            HybridCounts(hybrid=name, **values) for name, values in self._each(HYBRIDS, raw)
        )

    def _each(self, section: Section, raw: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any]]]:
        tables = self._table(raw.get(section.name, {}), section.name)
        for name, table in tables.items():
            path = f"{section.name}.{name}"
            if not isinstance(table, dict):
                self._bad(path, table, f"a section [{section.name}.NAME] of its own")
                continue
            fit = self._value(Key(name=name, rule=section.names or ID), name, path)
            self._find_unknown(table, [key.name for key in section.keys], path)
            values = self._keys(section, table, path)
            if fit is not None:
                yield fit, values

    def _figures(self, raw: dict[str, Any]) -> dict[str, Figure]:
        figures = dict(_flat(self._table(raw.get(FIGURES.name, {}), FIGURES.name)))
        if self._figure_keys is not None:
            self._find_unknown(figures, self._figure_keys, FIGURES.name)
        return {
            name: self._value(Key(name=name, rule=FIGURE), value, f"{FIGURES.name}.{name}")
            for name, value in figures.items()
        }

    def _table(self, value: Any, path: str) -> dict[str, Any]:
        if isinstance(value, dict):
            return value
        self._bad(path, value, f"a section [{path}]")
        return {}

    def _keys(self, section: Section, table: dict[str, Any], path: str) -> dict[str, Any]:
        values = {}
        for key in section.keys:
            where = f"{path}.{key.name}" if path else key.name
            values[key.target] = key.default
            if key.name in table:
                values[key.target] = self._value(key, table[key.name], where)
            elif key.needed:
                self.problems.append(problem("season-needs", key=where, wanted=key.rule.wanted))
        return values

    def _value(self, key: Key, value: Any, path: str) -> Any:
        try:
            return key.rule.read(value)
        except SecretError as unfit:
            self._bad(path, "...", str(unfit))
            return None
        except UnfitError as unfit:
            self._bad(path, value, str(unfit) or key.rule.wanted)
            return None

    def _bad(self, path: str, value: Any, wanted: str) -> None:
        found = problem("season-bad-value", key=shown(path), typed=shown(value), wanted=wanted)
        self.problems.append(found)

    def _find_unknown(self, table: dict[str, Any], known: Collection[str], path: str) -> None:
        for key in table:
            if key not in known:
                where = f"{path}.{key}" if path else key
                hint = _suggestion(key, known, path)
                found = problem("season-unknown-key", key=shown(where), suggestion=hint)
                self.problems.append(found)


def _popped(values: dict[str, Any], keys: Iterable[Key]) -> dict[str, Any]:
    """Take out what belongs to a record of its own, under the names that it has there."""
    return {key.target.rpartition(".")[2]: values.pop(key.target) for key in keys}


def _flat(table: dict[str, Any], before: str = "") -> Iterator[tuple[str, Any]]:
    """Yield dotted keys; TOML reads a dotted key without quotes as tables in tables."""
    for name, value in table.items():
        if isinstance(value, dict) and value and before.count(".") < _DEEPEST:
            yield from _flat(value, f"{before}{name}.")
        else:
            yield f"{before}{name}", value


def _suggestion(key: str, known: Collection[str], path: str) -> str:
    if _SECRET.search(key):
        return say("A password never belongs in this file.")
    near = nearest(key, known)
    if near:
        return say("Did you mean '{key}'?", key=near)
    if key in _HOME and _HOME[key] != path:
        return say("It belongs under [{section}].", section=_HOME[key])
    return ""
