"""The calls that a book makes of the writing library, kept and made again without us.

What the library itself needs for the same cells, formats, validations and settings is the time of
`replay`: nothing is looked up, worded or laid out.
"""

import io
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any
from unittest.mock import patch

import xlsxwriter
from xlsxwriter.format import Format
from xlsxwriter.workbook import Workbook
from xlsxwriter.worksheet import Worksheet

_BOOK = -1
_ASKING = ("close", "get_name", "worksheets")  # calls that put nothing into a book
_OPTIONS = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}


@dataclass(frozen=True, kw_only=True)
class Call:
    """One call: of the book, or of a sheet by its number."""

    target: int
    method: str
    args: tuple[Any, ...]
    named: dict[str, Any]


@dataclass(frozen=True)
class _Format:
    """A format by its number, in the place of the library's own object."""

    number: int


class _Sheet(Worksheet):  # type: ignore[misc]
    """A sheet without the library's search for newer functions, as ours are: the harder rival."""

    def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:
        return formula.removeprefix("=")


class _Calls:
    """Takes down the outermost public calls while a book is written."""

    def __init__(self) -> None:
        self.calls: list[Call] = []
        self._formats: dict[int, _Format] = {}
        self._depth = 0

    def wrapped(self, method: str, real: Callable[..., Any]) -> Callable[..., Any]:
        """Return a method that is taken down and then does its work."""

        def call(target: Any, *args: Any, **named: Any) -> Any:
            if not self._depth and method != "__init__":
                number = target.index if isinstance(target, Worksheet) else _BOOK
                self.calls.append(
                    Call(target=number, method=method, args=self._plain(args), named=dict(named))
                )
            self._depth += 1
            try:
                made = real(target, *args, **named)
            finally:
                self._depth -= 1
            if isinstance(made, Format) and not self._depth:
                self._formats[id(made)] = _Format(len(self._formats))
            return made

        return call

    def _plain(self, value: Any) -> Any:
        if isinstance(value, Format):
            return self._formats[id(value)]
        if isinstance(value, tuple | list):
            return type(value)(self._plain(one) for one in value)
        if isinstance(value, dict):
            return {key: self._plain(one) for key, one in value.items()}
        return value


def _public(kind: type) -> Iterator[tuple[str, Callable[..., Any]]]:
    for name in dir(kind):
        real = getattr(kind, name)
        if name == "__init__" or (not name.startswith("_") and callable(real)):
            yield name, real


@contextmanager
def _patched(calls: _Calls) -> Iterator[None]:
    held = [
        patch.object(kind, name, calls.wrapped(name, real))
        for kind in (Workbook, Worksheet)
        for name, real in _public(kind)
        if name not in _ASKING
    ]
    for one in held:
        one.start()
    try:
        yield
    finally:
        for one in held:
            one.stop()


def recorded(write: Callable[[], object]) -> list[Call]:
    """Write a book and return the calls that this made."""
    calls = _Calls()
    with _patched(calls):
        write()
    return calls.calls


def replay(calls: list[Call]) -> bytes:
    """Make the calls of one book again; returns its bytes."""
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, _OPTIONS)
    formats: list[Format] = []
    sheets: list[Worksheet] = []

    def own(value: Any) -> Any:
        if isinstance(value, _Format):
            return formats[value.number]
        if isinstance(value, tuple | list):
            return type(value)(own(one) for one in value)
        if isinstance(value, dict):
            return {key: own(one) for key, one in value.items()}
        return value

    for call in calls:
        if call.method == "add_worksheet":
            sheets.append(book.add_worksheet(call.args[0], _Sheet))
            continue
        target = book if call.target == _BOOK else sheets[call.target]
        made = getattr(target, call.method)(*own(call.args), **own(call.named))
        if call.method == "add_format":
            formats.append(made)
    book.close()
    return out.getvalue()
