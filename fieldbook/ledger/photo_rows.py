"""Which photo stands in which row now, in the ledger.

A book without a picture in a row takes none away: a correction book carries no pictures, and some
apps lose them. A book with other pictures in a row replaces those that stood there.
"""

from collections.abc import Collection, Iterable
from typing import Any

import sqlalchemy as sa

from fieldbook.check.photos import Photo
from fieldbook.ledger.tables import PHOTOS


def enter_photos(connection: sa.Connection, photos: Iterable[Photo], sequence: int) -> None:
    """Enter the photos of an event; those of a row replace what stood there, if they differ."""
    by_row: dict[tuple[str, int], list[Photo]] = {}
    for photo in photos:
        by_row.setdefault((photo.visit_id, photo.photo), []).append(photo)
    for (visit_id, number), found in by_row.items():
        standing = (
            (PHOTOS.c.visit_id == visit_id)
            & (PHOTOS.c.photo == number)
            & PHOTOS.c.replaced_by.is_(None)
        )
        before = connection.execute(sa.select(PHOTOS.c.sha256).where(standing)).scalars().all()
        if set(before) == {photo.sha256 for photo in found}:
            continue
        connection.execute(PHOTOS.update().where(standing).values(replaced_by=sequence))
        connection.execute(PHOTOS.insert(), [_row(photo, sequence) for photo in found])


def _row(photo: Photo, sequence: int) -> dict[str, Any]:
    return {**vars(photo), "sequence": sequence}


def standing_photos(
    connection: sa.Connection, visit_ids: Collection[str] | None = None
) -> dict[str, tuple[Photo, ...]]:
    """Return the photos that stand now, of all visits or some, by visit and in order of rows."""
    wanted = (
        sa.select(PHOTOS)
        .where(PHOTOS.c.replaced_by.is_(None))
        .order_by(PHOTOS.c.visit_id, PHOTOS.c.photo, PHOTOS.c.at)
    )
    if visit_ids is not None:
        wanted = wanted.where(PHOTOS.c.visit_id.in_(visit_ids))
    found: dict[str, list[Photo]] = {}
    for row in connection.execute(wanted).mappings():
        values = {name: row[name] for name in Photo.__dataclass_fields__}
        found.setdefault(row["visit_id"], []).append(Photo(**values))
    return {visit_id: tuple(photos) for visit_id, photos in found.items()}
