"""Whose photo is it: the pictures of a book, by visit and numbered row."""

from collections.abc import Iterable
from dataclasses import dataclass

from fieldbook.check.visit import VisitDraft
from fieldbook.entries import BookEntries
from fieldbook.problems import Place, Problem, problem

PHOTOS = "photos"


@dataclass(frozen=True, kw_only=True)
class Photo:
    """One picture of a visit: the row it lies beside, its place among that row's, its hash."""

    visit_id: str
    photo: int
    at: int
    sha256: str
    width_px: int
    height_px: int


def match_photos(
    visits: Iterable[VisitDraft], book: BookEntries
) -> tuple[tuple[Photo, ...], tuple[Problem, ...]]:
    """Give every picture to its visit by the printed keys of its row; tell those of no visit."""
    owners = {
        draft.number: (visit.slip.visit_id, key[0])
        for visit in visits
        for key, draft in visit.rows.get(PHOTOS, {}).items()
    }
    found: list[Photo] = []
    strays: list[Problem] = []
    for ready in book.photos:
        owner = owners.get(ready.row)
        if owner is None:
            title = book.sheets[PHOTOS].title if PHOTOS in book.sheets else None
            strays.append(problem("photo-no-row", Place(sheet=title, cell=f"row {ready.row}")))
            continue
        before = [one for one in found if (one.visit_id, one.photo) == owner]
        if ready.sha256 in {one.sha256 for one in before}:
            continue
        found.append(
            Photo(
                visit_id=owner[0],
                photo=owner[1],
                at=len(before) + 1,
                sha256=ready.sha256,
                width_px=ready.width_px,
                height_px=ready.height_px,
            )
        )
    return tuple(found), tuple(strays)
