"""Load a file's bytes and read them as a book, in a worker process."""

import stat
from dataclasses import dataclass
from pathlib import Path

from fieldbook.problems import Place, problem
from fieldbook.season.season import Season
from fieldbook.workbook.guard_package import MAX_FILE_BYTES
from fieldbook.workbook.read import ReadBook, read_book


@dataclass(frozen=True, kw_only=True)
class Loaded:
    """A file's bytes on their way to the reader, or in ``fault`` why there are none."""

    name: str
    data: bytes
    identities: Path
    fault: str | None = None
    keep_position: bool = False


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
