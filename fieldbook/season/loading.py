"""Load files' bytes and read them as books, in a worker process."""

import stat
from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from fieldbook.jobs import isolated
from fieldbook.problems import Place, problem
from fieldbook.season.season import Season
from fieldbook.season.taken import FOLDER, Origin
from fieldbook.workbook.guard_package import MAX_FILE_BYTES
from fieldbook.workbook.read import ReadBook, read_book
from fieldbook.worker import Worker


@dataclass(frozen=True, kw_only=True)
class Loaded:
    """A file's bytes on their way to the reader, or in ``fault`` why there are none."""

    name: str
    data: bytes
    identities: Path
    fault: str | None = None
    keep_position: bool = False


def read_books(
    season: Season,
    paths: Iterable[Path],
    *,
    origin: Origin = FOLDER,
    reader: Worker[Loaded, ReadBook] | None = None,
) -> Iterator[tuple[Path, bytes, ReadBook]]:
    """Read all files in order; what kills or stalls its reader is one file's fault alone.

    A file is loaded when the one before it was read: no more than two wait here at a time.
    `reader` is a worker that serves more than this call.
    """
    turn: deque[tuple[Path, Loaded]] = deque()

    def loaded() -> Iterator[Loaded]:
        for path in paths:
            if not is_gone(season, path):
                turn.append((path, load(path, season, origin.name_of(path))))
                yield turn[-1][1]

    outcomes = map(reader.outcome, loaded()) if reader else isolated(read_loaded, loaded())
    for outcome in outcomes:
        path, sent = turn.popleft()
        yield path, sent.data, outcome.value or refused("file-reader-died", sent.name)


def is_gone(season: Season, path: Path) -> bool:
    """Say whether another intake has meanwhile taken this file from the incoming folder."""
    return not path.exists() and season.folder.incoming in path.parents


def load(path: Path, season: Season, name: str) -> Loaded:
    """Load no more than the guard may let through; a pipe or a device is no file."""
    data, fault = b"", None
    try:
        if stat.S_ISREG(path.stat().st_mode):
            with path.open("rb") as stream:
                data = stream.read(MAX_FILE_BYTES + 1)
        else:
            fault = "it is no plain file"
    except OSError as refusal:
        fault = refusal.strerror or "?"
    return Loaded(
        name=name,
        data=data,
        identities=season.folder.identities,
        fault=fault,
        keep_position=season.settings.keep_photo_position,
    )


def read_loaded(sent: Loaded) -> ReadBook:
    """Read a loaded file; run it in a worker process."""
    if sent.fault is not None:
        return refused("file-unreadable", sent.name, detail=sent.fault)
    return read_book(
        sent.data, sent.name, identities=sent.identities, keep_position=sent.keep_position
    )


def refused(code: str, name: str, **params: str) -> ReadBook:
    """Say why a file could not be read at all."""
    return ReadBook(book=None, problems=(problem(code, Place(file=name), **params),))
