"""Photos of a season: each kept once under its hash."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from fieldbook.check.photos import Photo
from fieldbook.entries import BookEntries
from fieldbook.ledger.folder import SeasonFolder, digest
from fieldbook.ledger.safely import write_safely
from fieldbook.problems import Problem, problem

if TYPE_CHECKING:
    pass

ENDING = ".jpg"


def photo_path(folder: Path, sha256: str) -> Path:
    """Return where a photo is kept, below the folder of photos."""
    return folder / f"{sha256}{ENDING}"


def keep_photos(folder: SeasonFolder, book: BookEntries, photos: Iterable[Photo]) -> None:
    """Keep those pictures of a book that belong to a visit; call it before its event is kept."""
    wanted = {photo.sha256 for photo in photos}
    for ready in book.photos:
        path = photo_path(folder.photos, ready.sha256)
        if ready.sha256 in wanted and not path.exists():
            write_safely(path, ready.data)


def photo_problems(folder: SeasonFolder, photos: Iterable[Photo], event: str) -> Iterator[Problem]:
    """Find the photos of an event that are gone or changed."""
    for photo in photos:
        path = photo_path(folder.photos, photo.sha256)
        if not path.is_file() or digest(path.read_bytes()) != photo.sha256:
            yield problem("kept-photo-damaged", typed=path.name, event=event)
