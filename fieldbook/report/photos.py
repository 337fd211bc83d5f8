"""The photos of a report: at most four, the latest visit's first choice, with what they show."""

import base64
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from fieldbook.ledger.photos import photo_path
from fieldbook.report.amounts import Amounts
from fieldbook.results.looks_result import PhotoResult
from fieldbook.results.result import FieldResult
from fieldbook.words import say

MOST = 4
_A_ROW = 2
_GAP_PCT = 2.0
_LEAST_SHARES = 2.2  # upright photos are held to a height that the page has room for


@dataclass(frozen=True, kw_only=True)
class PhotoPicture:
    """One photo to be laid out: its address holds the picture itself."""

    address: str
    alt: str
    remark: str
    source: str
    width_px: int
    height_px: int
    width_pct: float


@dataclass(frozen=True, kw_only=True)
class PhotoSection:
    """A heading and its photos in rows; those of a row are of one height."""

    heading: str
    rows: tuple[tuple[PhotoPicture, ...], ...]


def photo_section(
    result: FieldResult, amounts: Amounts, folder: Path | None
) -> PhotoSection | None:
    """Choose a report's photos and put them into its page; None where there is none.

    `folder` is where photos are kept. One that is gone is left out; the season's doctor tells it.
    """
    if folder is None:
        return None
    shown = [(photo, photo_path(folder, photo.sha256)) for photo in chosen(result.photos)]
    there = [(photo, path) for photo, path in shown if path.is_file()]
    if not there:
        return None
    rows = tuple(_row(there[at : at + _A_ROW], amounts) for at in range(0, len(there), _A_ROW))
    return PhotoSection(heading=say("Photos", amounts.language), rows=rows)


def chosen(photos: Sequence[PhotoResult]) -> tuple[PhotoResult, ...]:
    """Return at most `MOST`, in their order: of the latest visits, and first those with a remark.

    Photos come in the order of their visits.
    """
    visits = list(dict.fromkeys(photo.visit_id for photo in photos))

    def worth(at: int) -> tuple[int, bool, int]:
        photo = photos[at]
        return -visits.index(photo.visit_id), photo.remark is None, at

    best = sorted(range(len(photos)), key=worth)[:MOST]
    return tuple(photos[at] for at in sorted(best))


def row_widths(shares: Sequence[float]) -> list[float]:
    """Return the widths of a row's photos [%] that give all of them one height.

    `shares` are widths by heights. Few or upright photos leave the end of the row empty.
    """
    whole = 100 - _GAP_PCT * (_A_ROW - 1)
    return [whole * share / max(sum(shares), _LEAST_SHARES) for share in shares]


def _row(shown: Sequence[tuple[PhotoResult, Path]], amounts: Amounts) -> tuple[PhotoPicture, ...]:
    widths = row_widths([photo.width_px / photo.height_px for photo, _ in shown])
    return tuple(
        _picture(photo, path, width, amounts)
        for (photo, path), width in zip(shown, widths, strict=True)
    )


def _picture(photo: PhotoResult, path: Path, width_pct: float, amounts: Amounts) -> PhotoPicture:
    source = _source(photo, amounts)
    remark = photo.remark or say("Photo without a remark", amounts.language)
    data = base64.b64encode(path.read_bytes()).decode("ascii")
    return PhotoPicture(
        address=f"data:image/jpeg;base64,{data}",
        alt=say("Photo: {what}", amounts.language, what=f"{remark} ({source})"),
        remark=photo.remark or "",
        source=source,
        width_px=photo.width_px,
        height_px=photo.height_px,
        width_pct=width_pct,
    )


def _source(photo: PhotoResult, amounts: Amounts) -> str:
    """Say where it was taken, by whom and when, for example "Stop 2, Ana, Tue 22 July"."""
    stop = say("Stop {stop}", amounts.language, stop=photo.stop) if photo.stop else ""
    day = amounts.day(photo.day) if photo.day else ""
    return ", ".join(part for part in (stop, photo.scout, day) if part)
