"""Fill, re-save, recalculate and print workbooks with LibreOffice, as a scout with a tablet would.

One headless LibreOffice serves a whole test session. The calls to it are made by
`office_worker.py`, run by the system's Python, since a virtual environment has no ``uno``.

A `fill` is about what a person could do: locked cells refuse, a pick must be in the list. One thing
a person could not do is let through on purpose: a typed value is not held against the cell's
limits, because pasting, older apps and other apps let such values through as well.
"""

import atexit
import contextlib
import json
import os
import selectors
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from types import TracebackType
from typing import Any, Literal, Self

import pytest
from parts import need, office_missing, soffice_path, uno_python

WORKER = Path(__file__).with_name("office_worker.py")
START_LIMIT_S = 90.0
STOP_LIMIT_S = 15.0

# What the profile says before the first start: (path, name, value). Files written by other
# programs are recalculated on load only when told so (0 = always).
SETTINGS = (
    ("Calc/Formula/Load", "OOXMLRecalcMode", "0"),
    ("Calc/Formula/Load", "ODFRecalcMode", "0"),
    ("Common/Misc", "FirstRun", "false"),
    ("Common/Misc", "UseLocking", "false"),
    ("Common/Misc", "UseDocumentSystemFileLocking", "false"),
    ("Common/Misc", "UseDocumentOOoLockFile", "false"),
    ("Common/Save/Document", "WarnAlienFormat", "false"),
    ("Recovery/AutoSave", "Enabled", "false"),
    ("Recovery/RecoveryInfo", "Enabled", "false"),
    ("Setup/L10N", "ooLocale", "en-US"),
    ("Setup/L10N", "ooSetupSystemLocale", "en-US"),
)

Value = float | str | date | None


class OfficeError(Exception):
    """LibreOffice, or a person in front of it, could not do what was asked."""


class OfficeDiedError(OfficeError):
    """LibreOffice ended or hung while it worked on a book."""


@dataclass(frozen=True)
class Edit:
    """One cell filled in.

    ``how="type"``: a str is read as if typed ("16" a number, "1/2" a date, "=A1" a formula; a
    leading apostrophe forces text), a number or date is set as such, None clears the cell.
    ``how="pick"``: the value must stand in the cell's list. A locked cell refuses unless `force`.
    """

    sheet: str
    cell: str
    value: Value
    how: Literal["type", "pick"] = "type"
    force: bool = False


@dataclass(frozen=True)
class RenameSheet:
    """Give a sheet another name. Like every change of shape, takes sheet protection off."""

    old: str
    new: str


@dataclass(frozen=True)
class MoveSheet:
    """Bring a sheet to `position`, counted from 0 in the book as it will be."""

    name: str
    position: int


@dataclass(frozen=True)
class InsertRow:
    """Put an empty row in front of `row` (counted from 1)."""

    sheet: str
    row: int


@dataclass(frozen=True)
class DeleteRow:
    """Take `row` (counted from 1) out."""

    sheet: str
    row: int


@dataclass(frozen=True)
class HideRow:
    """Hide `row` (counted from 1) with its data."""

    sheet: str
    row: int


@dataclass(frozen=True)
class InsertColumn:
    """Put an empty column in front of `column` (letters)."""

    sheet: str
    column: str


@dataclass(frozen=True)
class MoveColumn:
    """Cut column `source` and insert it in front of column `before` (letters)."""

    sheet: str
    source: str
    before: str


@dataclass(frozen=True)
class SortRows:
    """Sort the rows of `range` ("A5:K54", no header row) by `column` (letters)."""

    sheet: str
    range: str
    column: str
    descending: bool = False


Change = (
    Edit
    | RenameSheet
    | MoveSheet
    | InsertRow
    | DeleteRow
    | HideRow
    | InsertColumn
    | MoveColumn
    | SortRows
)


@dataclass(frozen=True)
class CellError:
    """The error that a cell shows, such as ``#DIV/0!``."""

    text: str


Computed = float | str | CellError | None


@dataclass(frozen=True, kw_only=True)
class Validation:
    """What the app knows of a cell's limits; `items` are a list's entries where it finds them.

    `type` is ANY, WHOLE, DECIMAL, DATE, TIME, TEXT_LEN, LIST or CUSTOM; `error_style` is STOP,
    WARNING, INFO or MACRO. `locked` means: this cell cannot be typed into.
    """

    type: str
    operator: str
    formula1: str
    formula2: str
    items: tuple[float | str, ...] | None
    error_style: str
    shows_error: bool
    error_title: str
    error_message: str
    input_title: str
    input_message: str
    blank_ok: bool
    locked: bool


class Office:
    """One running LibreOffice; use it in a ``with`` statement.

    Parameters
    ----------
    limit_s
        Time that one operation may take [s]; past it LibreOffice is killed.

    Attributes
    ----------
    incidents
        One line for each time that LibreOffice died or hung. After the first death in an operation
        it is started again and the operation repeated once.
    """

    def __init__(self, *, limit_s: float = 60.0) -> None:
        self.limit_s = limit_s
        self.incidents: list[str] = []
        self._worker: subprocess.Popen[bytes] | None = None
        self._home: Path | None = None
        self._unread = b""

    def __enter__(self) -> Self:
        self._start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        at: TracebackType | None,
    ) -> None:
        self.stop()

    # What a person does

    def fill(
        self,
        book: Path,
        edits: Sequence[Change],
        saved_as: Path,
        *,
        password: str | None = None,
        open_password: str | None = None,
    ) -> Path:
        """Open `book`, apply `edits` in order, recalculate, save as .xlsx, .ods or .xls.

        A `password` encrypts the saved file. Returns `saved_as`. Raises `OfficeError`, with
        nothing saved, when an edit is refused.
        """
        request = {"op": "fill", "edits": [_as_json(edit) for edit in edits]}
        return self._save(request, book, saved_as, password, open_password)

    def convert(
        self,
        book: Path,
        saved_as: Path,
        *,
        password: str | None = None,
        open_password: str | None = None,
    ) -> Path:
        """Save `book` again, unchanged, as .xlsx, .ods or .xls. Returns `saved_as`."""
        return self._save({"op": "save"}, book, saved_as, password, open_password)

    def pdf(self, book: Path, out_pdf: Path) -> Path:
        """Print every visible sheet to a PDF file, as set up for paper. Returns `out_pdf`."""
        return self._save({"op": "save"}, book, out_pdf.with_suffix(".pdf"), None, None)

    def values(
        self,
        book: Path,
        places: Mapping[str, Sequence[str]],
        *,
        open_password: str | None = None,
    ) -> dict[str, dict[str, Any]]:
        """Return computed values after a hard recalculation.

        Parameters
        ----------
        places
            For each sheet the cells ("B7") and ranges ("B7:D20") asked for.

        Returns
        -------
        dict
            ``{sheet: {place: found}}``: for a cell a float, str, None (empty) or `CellError`, for
            a range a list of rows of these. Dates are serial numbers, truth values 1.0 and 0.0.
        """
        wanted = {sheet: list(cells) for sheet, cells in places.items()}
        request = {"op": "values", "places": wanted}
        found = self._ask(_opening(request, book, open_password))
        return {
            sheet: {place: _found(place, rows) for place, rows in by_place.items()}
            for sheet, by_place in found.items()
        }

    def validations(self, book: Path, sheet: str, cells: Sequence[str]) -> dict[str, Validation]:
        """Return, cell by cell, the limits and messages that the app sees."""
        request = {"op": "validations", "sheet": sheet, "cells": list(cells)}
        found = self._ask(_opening(request, book, None))
        return {cell: _validation(facts) for cell, facts in found.items()}

    def _save(
        self,
        request: dict[str, Any],
        book: Path,
        saved_as: Path,
        password: str | None,
        open_password: str | None,
    ) -> Path:
        request |= {"saved_as": str(saved_as.resolve()), "password": password}
        self._ask(_opening(request, book, open_password))
        if not saved_as.exists():
            raise OfficeError(f"LibreOffice says it saved {saved_as.name}, but did not")
        return saved_as

    # Talking to the worker

    def _ask(self, request: dict[str, Any]) -> Any:
        try:
            return self._ask_once(request)
        except OfficeDiedError as error:
            self._note(f"{request['op']} of {Path(request['book']).name}: {error}")
        try:
            return self._ask_once(request)
        except OfficeDiedError as error:
            self._note(f"again: {error}")
            raise

    def _note(self, incident: str) -> None:
        self.incidents.append(incident)
        print(f"LibreOffice: {incident}", file=sys.stderr)

    def _ask_once(self, request: dict[str, Any]) -> Any:
        worker = self._worker or self._start()
        assert worker.stdin is not None
        try:
            worker.stdin.write(json.dumps(request).encode() + b"\n")
        except BrokenPipeError:
            raise self._died("had ended before") from None
        return self._reply(self.limit_s)

    def _reply(self, limit_s: float) -> Any:
        reply = json.loads(self._line(limit_s))
        if reply["ok"]:
            return reply["result"]
        if reply["died"]:
            raise self._died(f"died ({reply['error']})")
        raise OfficeError(reply["error"])

    def _line(self, limit_s: float) -> bytes:
        """Return the worker's next line; no blocking read could be given a time limit."""
        assert self._worker is not None
        assert self._worker.stdout is not None
        end = time.monotonic() + limit_s
        with selectors.DefaultSelector() as ready:
            ready.register(self._worker.stdout, selectors.EVENT_READ)
            while b"\n" not in self._unread:
                if not ready.select(max(0.0, end - time.monotonic())):
                    raise self._died(f"gave no answer in {limit_s:g} s")
                chunk = os.read(self._worker.stdout.fileno(), 1 << 16)
                if not chunk:
                    raise self._died("ended without an answer")
                self._unread += chunk
        line, _, self._unread = self._unread.partition(b"\n")
        return line

    def _died(self, how: str) -> OfficeDiedError:
        tail = ""
        if self._home is not None and (self._home / "stderr").exists():
            tail = (self._home / "stderr").read_text(errors="replace")[-500:].strip()
        self._kill()
        return OfficeDiedError(f"{how}; {tail}" if tail else how)

    # Starting and stopping

    def _start(self) -> subprocess.Popen[bytes]:
        soffice, python = soffice_path(), uno_python()
        if soffice is None or python is None:
            raise OfficeError(office_missing() or "LibreOffice is not here")
        self._home = Path(tempfile.mkdtemp(prefix="silkbook-office-"))
        profile = self._home / "profile"
        _write_profile(profile)
        atexit.register(self._kill)
        with (self._home / "stderr").open("wb") as stderr:
            self._worker = subprocess.Popen(
                [python, "-I", str(WORKER), soffice, str(profile)],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=stderr,
                bufsize=0,
                env=_environment(self._home),
                start_new_session=True,  # a process group of its own, to be killed as one
            )
        self._reply(START_LIMIT_S)
        return self._worker

    def stop(self) -> None:
        """End LibreOffice and take its profile away; harmless when it does not run."""
        if self._worker is not None and self._worker.stdin is not None:
            self._worker.stdin.close()  # the worker ends the office, then its process group
            try:
                self._line(STOP_LIMIT_S)
            except OfficeDiedError:
                return  # the usual end: no more lines, and everything cleared away
        self._kill()

    def _kill(self) -> None:
        worker, self._worker, self._unread = self._worker, None, b""
        if worker is not None:
            # Before wait(): until then the number of the group cannot have been given away.
            with contextlib.suppress(ProcessLookupError):
                os.killpg(worker.pid, signal.SIGKILL)
            worker.wait()
            for pipe in (worker.stdin, worker.stdout):
                if pipe is not None:
                    pipe.close()
        if self._home is not None:
            shutil.rmtree(self._home, ignore_errors=True)
            self._home = None
        atexit.unregister(self._kill)


def _opening(request: dict[str, Any], book: Path, password: str | None) -> dict[str, Any]:
    if not book.is_file():
        raise OfficeError(f"{book.name} is not there")
    return {**request, "book": str(book.resolve()), "open_password": password}


def _as_json(edit: Change) -> dict[str, Any]:
    facts = {"kind": type(edit).__name__, **vars(edit)}
    value = facts.get("value")
    return {**facts, "value": {"date": value.isoformat()}} if isinstance(value, date) else facts


def _found(place: str, rows: list[list[Any]]) -> Any:
    marked = [[CellError(x["error"]) if isinstance(x, dict) else x for x in row] for row in rows]
    return marked if ":" in place else marked[0][0]


def _validation(facts: dict[str, Any]) -> Validation:
    items = facts.pop("items")
    return Validation(items=None if items is None else tuple(items), **facts)


def _environment(home: Path) -> dict[str, str]:
    """Return an environment without a display; scratch files of the office go to `home`."""
    return {**os.environ, "SAL_USE_VCLPLUGIN": "svp", "TMPDIR": str(home)}


def _write_profile(profile: Path) -> None:
    items = "".join(
        f'<item oor:path="/org.openoffice.{"" if path.startswith("Setup") else "Office."}{path}">'
        f'<prop oor:name="{name}" oor:op="fuse"><value>{value}</value></prop></item>'
        for path, name, value in SETTINGS
    )
    (profile / "user").mkdir(parents=True)
    (profile / "user" / "registrymodifications.xcu").write_text(
        '<?xml version="1.0" encoding="UTF-8"?>'
        '<oor:items xmlns:oor="http://openoffice.org/2001/registry">' + items + "</oor:items>",
        encoding="utf-8",
    )


@pytest.fixture(scope="session")
def office_session() -> Iterator[Office]:
    """Give the session's one LibreOffice; skip (or fail) with a plain sentence without it."""
    need(office_missing())
    with Office() as office:
        yield office
