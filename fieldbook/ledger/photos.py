"""Photos of a season: each kept once under its hash."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path

from fieldbook.check.photos import Photo
from fieldbook.entries import BookEntries
from fieldbook.ledger.folder import SeasonFolder, digest
from fieldbook.problems import Problem, problem

ENDING = ".jpg"


def photo_path(folder: Path, sha256: str) -> Path:
    """Return where a photo is kept, below the folder of photos."""
    return folder / f"{sha256}{ENDING}"


def photo_files(
    folder: SeasonFolder, book: BookEntries, photos: Iterable[Photo]
) -> dict[Path, bytes]:
    """Return the files of those pictures of a book that belong to a visit."""
    wanted = {photo.sha256 for photo in photos}
    return {
        photo_path(folder.photos, ready.sha256): ready.data
        for ready in book.photos
        if ready.sha256 in wanted
    }


def photo_problems(folder: SeasonFolder, photos: Iterable[Photo], event: str) -> Iterator[Problem]:
    """Find the photos of an event that are gone or changed."""
    for photo in photos:
        path = photo_path(folder.photos, photo.sha256)
        if not path.is_file() or digest(path.read_bytes()) != photo.sha256:
            yield problem("kept-photo-damaged", typed=path.name, event=event)
