"""Small pictures for tests, of which each corner can be told, and books that hold them."""

import io
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from PIL import Image
from seasons import VISIT_DAY, book_plan

from fieldbook.forms.rounds import POLLINATION
from fieldbook.season.season import Season
from fieldbook.workbook.plan import EntryKey, EntryValue, LaidPicture
from fieldbook.workbook.write import write_book

RED, BLUE = (200, 30, 30), (30, 30, 200)
HERE = {1: "N", 2: (41.0, 30.0, 0.0), 3: "W", 4: (93.0, 30.0, 0.0)}
HEAD: dict[EntryKey, EntryValue] = {
    ("fields", ("A1",), "visit_date"): VISIT_DAY,
    ("fields", ("A1",), "stage"): "R2",
}


def picture(
    size: tuple[int, int] = (400, 300),
    *,
    kind: str = "JPEG",
    turn: int | None = None,
    place: Mapping[int, Any] | None = None,
    shade: int = 0,
) -> bytes:
    """Draw a picture whose upper half is red and whose lower half is blue."""
    from PIL.ImageDraw import Draw

    image = Image.new("RGB", size, RED)
    Draw(image).rectangle((0, size[1] // 2, *size), fill=(30, shade, 200))
    exif = Image.Exif()
    exif[0x010F] = "A camera's maker"
    if turn:
        exif[0x0112] = turn
    if place:
        exif[0x8825] = dict(place)
    out = io.BytesIO()
    image.save(out, kind, exif=exif)
    return out.getvalue()


def photo_book(
    season: Season,
    pictures: Mapping[int, LaidPicture | bytes],
    entries: Mapping[EntryKey, EntryValue] = HEAD,
) -> bytes:
    """Write a pollination book with pictures in rows of field A1."""
    from dataclasses import replace

    plan = book_plan(season, round_=POLLINATION, entries={"A1": entries})
    laid = {
        ("A1", number): one if isinstance(one, LaidPicture) else LaidPicture(data=one)
        for number, one in pictures.items()
    }
    return write_book(replace(plan, pictures=laid))


def sent(season: Season, name: str, data: bytes) -> Path:
    """Put a book into the incoming folder."""
    path = season.folder.incoming / name
    path.write_bytes(data)
    return path
