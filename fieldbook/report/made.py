"""What was made of what: a note beside the reports, so that only what changed is made again."""

import json
import os
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from functools import cache
from pathlib import Path

from fieldbook.ledger.folder import digest
from fieldbook.ledger.safely import write_safely
from fieldbook.problems import Problem
from fieldbook.render import shipped

MADE = ".made.json"
_FORMAT = 1
_WRITES = 20  # times that the note is written in a run that makes everything anew
_PACKAGE = Path(__file__).parent.parent


@dataclass(frozen=True, kw_only=True)
class Output:
    """One thing to make: its name, and a hash of all that it is made of."""

    name: str
    inputs: str


@dataclass(frozen=True, kw_only=True)
class Written:
    """The files of one output, what is to say of it, and how many others stand unchanged."""

    paths: tuple[Path, ...] = ()
    problems: tuple[Problem, ...] = ()
    unchanged: int = 0


@dataclass(frozen=True, kw_only=True)
class _Noted:
    """What an output was made of, and the hash of each of its files by their names."""

    inputs: str
    files: Mapping[str, str]


class Made:
    """The note of a folder of reports.

    Use it as a context manager. It is written after the files that it speaks of, whole, and now
    and then in a long run: whatever a killed run left without a word, and whatever somebody
    changed or deleted, is made anew.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._noted = _read(folder / MADE)
        self._unwritten = 0

    def __enter__(self) -> "Made":
        return self

    def __exit__(self, *_: object) -> None:
        if self._unwritten:
            self._write()

    def is_current(self, output: Output) -> bool:
        """Say whether an output was made of the same, and its files are there as written."""
        noted = self._noted.get(output.name)
        return (
            noted is not None
            and noted.inputs == output.inputs
            and all(_hash(self._folder / name) == kept for name, kept in noted.files.items())
        )

    def keep(self, output: Output, paths: Iterable[Path]) -> None:
        """Note the files of an output that were just written."""
        files = {_beside(self._folder, path): _hash(path) for path in paths}
        self._noted[output.name] = _Noted(inputs=output.inputs, files=files)
        self._unwritten += 1
        if self._unwritten > len(self._noted) / _WRITES:
            self._write()

    def _write(self) -> None:
        self._unwritten = 0
        raw = {
            "format": _FORMAT,
            "outputs": {name: asdict(self._noted[name]) for name in sorted(self._noted)},
        }
        write_safely(self._folder / MADE, json.dumps(raw, indent=1).encode("utf-8"))

    def left(self, wanted: Iterable[Output]) -> tuple[str, ...]:
        """Return the files still there of outputs that are no longer made."""
        names = {output.name for output in wanted}
        files = (
            file for name, one in self._noted.items() if name not in names for file in one.files
        )
        return tuple(sorted(file for file in files if (self._folder / file).is_file()))


def inputs_of(*parts: object) -> str:
    """Return the hash of what an output is made of; each part is told by its `repr`."""
    return digest(repr(parts).encode("utf-8", "backslashreplace"))


@cache
def maker(templates: Path | None) -> str:
    """Return the hash of all that makes pages: the code, its words, and the templates."""
    folders = [_PACKAGE, shipped("templates"), *([templates] if templates else [])]
    files = (
        (str(path.relative_to(folder)), _hash(path))
        for folder in folders
        for path in sorted(folder.rglob("*"))
        if path.is_file() and "__pycache__" not in path.parts
    )
    return digest(repr([*files]).encode("utf-8", "backslashreplace"))


def _beside(folder: Path, path: Path) -> str:
    """Return the name of a file as seen from the reports: plans lie in a folder of their own."""
    return Path(os.path.relpath(path, folder)).as_posix()


def _hash(path: Path) -> str:
    """Return the hash of a file; none for one that is not there."""
    try:
        return digest(path.read_bytes())
    except OSError:
        return ""


def _read(path: Path) -> dict[str, _Noted]:
    """Read a note; one that is not there or damaged speaks of nothing."""
    try:
        raw = json.loads(path.read_bytes())
        if raw["format"] != _FORMAT:
            return {}
        return {
            str(name): _Noted(inputs=str(one["inputs"]), files=dict(one["files"]))
            for name, one in raw["outputs"].items()
        }
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return {}
