"""Photos of an invented field: ears as they truly are, drawn kernel by kernel.

They stand in for a phone's pictures, with what a phone does to them: one lies on its side and only
its notes say so, one carries the place where it was taken, and one is put into the cell itself.
"""

import io
import random
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from math import cos, pi, sin
from typing import TYPE_CHECKING, Any

from fieldbook.simulate.ears import EarState, pull_ear
from fieldbook.simulate.truth import FieldTruth
from fieldbook.workbook.plan import EntryKey, EntryValue, LaidPicture

if TYPE_CHECKING:
    from PIL.Image import Image
    from PIL.ImageDraw import ImageDraw

_WIDE, _HIGH = 1600, 1200
_GROUND, _COB = "#8b8f7a", "#d9c3a0"
_GOLD = ("#e3a71f", "#edb533", "#d99a17", "#f0bf4a")
_ORIENTATION, _GPS = 0x0112, 0x8825
_ON_ITS_SIDE = 6  # to be turned a quarter to the right
Box = tuple[float, float, float, float]


@dataclass(frozen=True, kw_only=True)
class Photographed:
    """What a scout puts on the Photos sheet: pictures by field and number, and words."""

    pictures: dict[tuple[str, int], LaidPicture]
    entries: dict[EntryKey, EntryValue]


def photographed(truth: FieldTruth, day: date, *, seed: str, most: int) -> Photographed:
    """Photograph a field's ears on a day; the same seed gives the same pictures."""
    field_id = truth.plot.field_id
    draw = random.Random(f"{seed}/{field_id}/{day}/photos")
    pictures: dict[tuple[str, int], LaidPicture] = {}
    entries: dict[EntryKey, EntryValue] = {}
    for number, shoot in enumerate(_SHOTS[:most], start=1):
        ear = pull_ear(truth, number, day, draw)
        data, remark = shoot(truth, ear, draw)
        key = (field_id, number)
        pictures[key] = LaidPicture(data=data, in_cell=shoot is _tip)
        entries["photos", key, "at_stop"] = number
        entries["photos", key, "remark"] = remark
    return Photographed(pictures=pictures, entries=entries)


# ---- the pictures --------------------------------------------------------------------------


def _lying(truth: FieldTruth, ear: EarState, draw: random.Random) -> tuple[bytes, str]:
    picture = _ground(draw)
    _draw_ear(_pen(picture), ear, (130, 380, 1470, 820), draw)
    return _jpeg(picture), f"An ear with {ear.kernels_set} kernels along the row"


def _on_its_side(truth: FieldTruth, ear: EarState, draw: random.Random) -> tuple[bytes, str]:
    from PIL.Image import Transpose

    picture = _ground(draw)
    _draw_ear(_pen(picture), ear, (130, 360, 1470, 840), draw)
    bare = ear.tip_unset + ear.tip_aborted
    turned = picture.transpose(Transpose.ROTATE_90)
    notes = {_ORIENTATION: _ON_ITS_SIDE}
    return _jpeg(turned, notes), f"The last {bare} places of this one hold no kernel"


def _tip(truth: FieldTruth, ear: EarState, draw: random.Random) -> tuple[bytes, str]:
    picture = _ground(draw)
    _draw_ear(_pen(picture), ear, (-1500, 200, 1480, 1000), draw)
    return _jpeg(picture), "The tip from near by"


def _three(truth: FieldTruth, ear: EarState, draw: random.Random) -> tuple[bytes, str]:
    """Lay three ears of one stop side by side; the phone noted where that was."""
    picture = _ground(draw)
    for at in range(3):
        top = 70.0 + 370 * at
        _draw_ear(_pen(picture), ear, (150, top, 1450, top + 320), draw)
        ear = pull_ear(truth, 3, truth.stage_days["R6"], draw) if at < 2 else ear  # noqa: PLR2004
    row = truth.plot.row
    notes = {_GPS: _place(row.latitude or 0.0, row.longitude or 0.0)}
    return _jpeg(picture, notes), "Three ears of one stop"


_Shot = Callable[[FieldTruth, EarState, random.Random], tuple[bytes, str]]
_SHOTS: tuple[_Shot, ...] = (_lying, _on_its_side, _three, _tip)


def _ground(draw: random.Random) -> "Image":
    """Return bare ground with clods."""
    from PIL import Image

    picture = Image.new("RGB", (_WIDE, _HIGH), _GROUND)
    pen = _pen(picture)
    for _ in range(900):
        x, y, r = draw.random() * _WIDE, draw.random() * _HIGH, 4 + 22 * draw.random()
        light = draw.randint(-16, 16)
        colour = (139 + light, 143 + light, 122 + light)
        pen.ellipse((x - r, y - r * 0.7, x + r, y + r * 0.7), fill=colour)
    return picture


def _pen(picture: "Image") -> "ImageDraw":
    from PIL.ImageDraw import Draw

    return Draw(picture)


def _jpeg(picture: "Image", notes: dict[int, Any] | None = None) -> bytes:
    from PIL import Image

    exif = Image.Exif()
    for tag, value in (notes or {}).items():
        exif[tag] = value
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=80, exif=exif)
    return out.getvalue()


def _place(latitude: float, longitude: float) -> dict[int, Any]:
    """Write a place as cameras do: a letter, then degrees, minutes and seconds."""
    return {
        1: "N" if latitude >= 0 else "S",
        2: _degrees(abs(latitude)),
        3: "E" if longitude >= 0 else "W",
        4: _degrees(abs(longitude)),
    }


def _degrees(value: float) -> tuple[float, float, float]:
    minutes, seconds = divmod(value * 3600, 60)
    return float(minutes // 60), float(minutes % 60), round(seconds, 2)


# ---- one ear -------------------------------------------------------------------------------


def _draw_ear(pen: "ImageDraw", ear: EarState, box: Box, draw: random.Random) -> None:
    """Draw a husked ear in a box, butt left: the rows of the near side, ring by ring."""
    left, top, right, bottom = box
    kinds = _kinds(ear, draw)
    middle, step = (top + bottom) / 2, (right - left) / (len(kinds) + 1)
    shares = [ring / len(kinds) for ring in range(len(kinds))]
    radii = [(bottom - top) / 2 * min(1.0, 0.86 + s, 1.9 * (1.06 - s) ** 0.6) for s in shares]
    places = [left + (ring + 1) * step for ring in range(len(kinds))]
    for x, radius in zip(places, radii, strict=True):
        pen.ellipse((x - step, middle - 0.8 * radius, x + step, middle + 0.8 * radius), fill=_COB)
    for x, radius, kind in zip(places, radii, kinds, strict=True):
        if kind:
            _draw_ring(pen, ear, (x, middle), (step * 0.54, radius), kind, draw)


def _draw_ring(
    pen: "ImageDraw",
    ear: EarState,
    middle: tuple[float, float],
    size: tuple[float, float],
    full: float,
    draw: random.Random,
) -> None:
    """Draw the near side's kernels of one ring; those at the edges are seen from the side."""
    (x, y), (half_wide, radius) = middle, size
    rows = max(ear.rows_around // 2, 1)
    for row in range(rows):
        angle = pi * ((row + 0.5) / rows - 0.5)
        high = radius * 1.5 / rows * cos(angle) ** 0.7 * full
        at = (x + draw.uniform(-1, 1), y + radius * full**0.2 * sin(angle))
        _draw_kernel(pen, at, half_wide * full**0.3, high, draw)


def _draw_kernel(
    pen: "ImageDraw",
    middle: tuple[float, float],
    half_wide: float,
    half_high: float,
    draw: random.Random,
) -> None:
    x, y = middle
    box = (x - half_wide, y - half_high, x + half_wide, y + half_high)
    pen.ellipse(box, fill=draw.choice(_GOLD), outline="#a8741a", width=2)


def _kinds(ear: EarState, draw: random.Random) -> list[float]:
    """Return ring by ring from the butt how full it is: 1 a kernel, 0 none, between shrunken."""
    inside = [1.0] * ear.kernels_set + [0.0] * ear.inside_blank
    draw.shuffle(inside)
    return [*[0.0] * ear.base_blank, *inside, *[0.45] * ear.tip_aborted, *[0.0] * ear.tip_unset]
