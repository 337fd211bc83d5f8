"""Photos of a season: each kept once under its hash, and told with its visit."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from fieldbook.check.photos import Photo
from fieldbook.entries import BookEntries
from fieldbook.problems import Problem, problem
from fieldbook.season.folder import SeasonFolder, digest, write_safely
from fieldbook.season.stored import StoredVisit, read_by, visit_day

if TYPE_CHECKING:
    from fieldbook.season.result import PhotoResult

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


def field_photos(
    visits: Iterable[StoredVisit], names: Mapping[str, str]
) -> tuple[PhotoResult, ...]:
    """Return the photos of a field's visits with what was said of them, in order of the visits.

    A picture that lies in two rows is shown once, as the later one has it.
    """
    from fieldbook.season.result import PhotoResult

    found: dict[str, PhotoResult] = {}
    for visit in visits:
        said = {one.photo: one for one in visit.records["photos"]}
        for photo in visit.photos:
            words = said.get(photo.photo)
            found[photo.sha256] = PhotoResult(
                visit_id=visit.visit_id,
                photo=photo.photo,
                day=visit_day(visit),
                scout=read_by(visit, names),
                stop=words.at_stop if words else None,
                remark=words.remark if words else None,
                sha256=photo.sha256,
                width_px=photo.width_px,
                height_px=photo.height_px,
            )
    return tuple(found.values())
