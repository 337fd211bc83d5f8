"""Photos of a field, told with their visits."""

from collections.abc import Iterable, Mapping

from fieldbook.ledger.stored import StoredVisit, read_by, visit_day
from fieldbook.results.looks_result import PhotoResult


def field_photos(
    visits: Iterable[StoredVisit], names: Mapping[str, str]
) -> tuple[PhotoResult, ...]:
    """Return the photos of a field's visits with what was said of them, in order of the visits.

    A picture that lies in two rows is shown once, as the later one has it.
    """
    from fieldbook.results.looks_result import PhotoResult

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
