"""Make a picture ready for print: upright, small, a plain JPEG that carries nothing else.

Whatever a camera writes beside the picture is left behind: names, times, thumbnails, places. Only
the place of the camera is taken along where a season allows it.
"""

import hashlib
import io
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from fieldbook.entries import ReadyPhoto
from fieldbook.problems import Problem, problem

if TYPE_CHECKING:
    from PIL import Image

LONGEST_PX = 1200
MAX_BYTES = 20_000_000
MAX_JPEG_PIXELS = 50_000_000
MAX_OTHER_PIXELS = 16_000_000
MAX_BOOK_PIXELS = 600_000_000
"""Pixels of all pictures of a book; others than JPEG count fourfold, as they cost so much."""

_QUALITY = 82
_READ = ("JPEG", "PNG", "GIF", "WEBP", "BMP")
_OF_JPEG = ("JPEG", "MPO")
_GPS, _ORIENTATION = 0x8825, 0x0112
_PLACE_TAGS = (1, 2, 3, 4)  # north or south, latitude, east or west, longitude
_DEGREES = 3  # degrees, minutes, seconds
_HEADS = (
    (0, b"\xd7\xcd\xc6\x9a", "WMF"),
    (0, b"\x01\x00\x09\x00", "WMF"),
    (40, b" EMF", "EMF"),
    (0, b"II*\x00", "TIFF"),
    (0, b"MM\x00*", "TIFF"),
    (0, b"%PDF", "PDF"),
    (4, b"ftypavi", "AVIF"),
    (4, b"ftyphe", "HEIC"),
    (4, b"ftypmif1", "HEIC"),
    (4, b"ftypmsf1", "HEIC"),
)


@dataclass(frozen=True, kw_only=True)
class Made:
    """A picture made ready, or why not; and what it cost of a book's pixels."""

    photo: ReadyPhoto | None = None
    why: Problem | None = None
    cost: int = 0


def ready_photo(data: bytes, row: int, *, keep_position: bool, left: int) -> Made:
    """Make one picture ready.

    Parameters
    ----------
    data
        The picture's file as the book holds it; not trusted.
    row
        The sheet's row that it belongs to, carried along.
    keep_position
        Whether the place of the camera stays in the picture.
    left
        What is left of `MAX_BOOK_PIXELS`.
    """
    from PIL import Image

    kind = _kind(data)
    if kind:
        return Made(why=problem("photo-unreadable", kind=kind))
    try:
        with warnings.catch_warnings(), _whole_pictures_alone():
            warnings.simplefilter("ignore")  # Pillow warns of what is told here as a problem
            with Image.open(io.BytesIO(data), formats=_READ) as picture:
                cost = _cost(picture)
                if cost is None or cost > left or len(data) > MAX_BYTES:
                    return Made(why=_too_large(picture, len(data)))
                return Made(photo=_made(picture, row, keep_position), cost=cost)
    except Image.DecompressionBombError:
        return Made(why=problem("photo-too-large", detail="far more pixels than any camera has"))
    except Exception:  # Pillow raises some ten unrelated kinds for damaged pictures
        return Made(why=problem("photo-unreadable", kind="damaged or of an unknown kind"))


@contextmanager
def _whole_pictures_alone() -> Iterator[None]:
    """Refuse pictures that are cut off, even where the PDF library told Pillow to take them."""
    from PIL import ImageFile

    before = ImageFile.LOAD_TRUNCATED_IMAGES
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    try:
        yield
    finally:
        ImageFile.LOAD_TRUNCATED_IMAGES = before


def _kind(data: bytes) -> str:
    """Name a kind of picture that can't be read here, by its first bytes; nothing for others."""
    for at, mark, name in _HEADS:
        if data[at : at + len(mark)] == mark:
            return name
    return "SVG" if b"<svg" in data[:1000] else ""


def _cost(picture: "Image.Image") -> int | None:
    """Return what a picture costs to open [pixels]; None where it has too many."""
    pixels = picture.width * picture.height
    if picture.format in _OF_JPEG:
        return pixels if pixels <= MAX_JPEG_PIXELS else None
    return 4 * pixels if pixels <= MAX_OTHER_PIXELS else None


def _too_large(picture: "Image.Image", size_bytes: int) -> Problem:
    size = f"{picture.width} x {picture.height} pixels, {max(1, round(size_bytes / 1e6))} MB"
    return problem("photo-too-large", detail=size)


def _made(picture: "Image.Image", row: int, keep_position: bool) -> ReadyPhoto:
    turn, position = _camera_notes(picture, keep_position)
    small = _upright(_small(picture), turn)
    out = io.BytesIO()
    extra = {"exif": position} if position else {}
    small.save(out, "JPEG", quality=_QUALITY, optimize=True, **extra)
    data = out.getvalue()
    return ReadyPhoto(
        row=row,
        data=data,
        sha256=hashlib.sha256(data).hexdigest(),
        width_px=small.width,
        height_px=small.height,
    )


def _small(picture: "Image.Image") -> "Image.Image":
    """Return the picture scaled, on white, as a new one without anything beside its pixels."""
    from PIL import Image

    if picture.format in _OF_JPEG:
        picture.draft("RGB", (LONGEST_PX, LONGEST_PX))  # unpacks no more than is needed
    if picture.mode not in ("RGB", "RGBA", "L"):
        picture = picture.convert("RGBA" if picture.format not in _OF_JPEG else "RGB")
    picture.thumbnail((LONGEST_PX, LONGEST_PX), Image.Resampling.LANCZOS)
    clean = Image.new("RGB", picture.size, "#ffffff")
    clean.paste(picture, (0, 0), picture if picture.mode == "RGBA" else None)
    return clean


def _upright(picture: "Image.Image", turn: int) -> "Image.Image":
    """Turn a picture as its camera was held; `turn` is the EXIF orientation, 1 to 8."""
    from PIL.Image import Transpose

    turns = {
        2: Transpose.FLIP_LEFT_RIGHT,
        3: Transpose.ROTATE_180,
        4: Transpose.FLIP_TOP_BOTTOM,
        5: Transpose.TRANSPOSE,
        6: Transpose.ROTATE_270,
        7: Transpose.TRANSVERSE,
        8: Transpose.ROTATE_90,
    }
    return picture.transpose(turns[turn]) if turn in turns else picture


def _camera_notes(picture: "Image.Image", keep_position: bool) -> tuple[int, Any]:
    """Return how the camera was held, and its place as new EXIF or None; faulty notes are none."""
    try:
        notes = picture.getexif()
        turn = notes.get(_ORIENTATION, 1)
        position = _position(dict(notes.get_ifd(_GPS))) if keep_position else None
    except Exception:  # notes can be damaged in as many ways as pictures
        return 1, None
    return (turn if isinstance(turn, int) else 1), position


def _position(found: dict[int, Any]) -> Any:
    """Write a place anew from its four numbers and letters; None unless all are sound."""
    from PIL import Image

    if any(tag not in found for tag in _PLACE_TAGS):
        return None
    letters, numbers = (found[1], found[3]), (found[2], found[4])
    if letters[0] not in ("N", "S") or letters[1] not in ("E", "W"):
        return None
    if any(len(part) != _DEGREES for part in numbers):
        return None
    exif = Image.Exif()
    exif[_GPS] = {tag: found[tag] for tag in _PLACE_TAGS}
    return exif
