"""Where the stops were: dots on plain ground, north up, with a scale; left-out ones are hollow."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from fieldbook.agronomy.lengths import FT_PER_DEGREE
from fieldbook.report.drawings.shapes import (
    Area,
    Dot,
    Drawing,
    Label,
    Line,
    Shape,
    text_width,
)
from fieldbook.units import ROW_LENGTH, System
from fieldbook.words import say

LEAST_SPOTS = 3
_LEAST_SPAN_FT = 60.0
_FLAT, _MARGIN, _FOOT, _GUTTER = 0.45, 22.0, 26.0, 30.0
_RADIUS, _LABEL_HIGH = 4.0, 9.0
_STEPS = (10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000, 20_000, 50_000, 100_000)
_BAR_SHARE = 0.4
_WAYS, _FARTHER_PX = 16, 7.0
Box = tuple[float, float, float, float]


@dataclass(frozen=True, kw_only=True)
class Spot:
    """One stop's place; ``left_out`` says that no figure rests on it."""

    stop: int
    latitude: float
    longitude: float
    left_out: bool = False


def draw_standing(
    spots: Sequence[Spot],
    *,
    units: System,
    width: float,
    title: str,
    about: str,
    language: str = "en",
) -> Drawing | None:
    """Lay out stops as seen from above.

    Parameters
    ----------
    spots
        The stops with a place. [degrees]
    units
        The reader's units, for the scale.
    width
        Width of the drawing. [px]
    title, about
        What the picture shows, for readers that can't see it.
    language
        Language of the labels.

    Returns
    -------
    Drawing or None
        None with fewer than three places: two dots show no field.
    """
    if len(spots) < LEAST_SPOTS:
        return None
    east_north = flat_places(spots)
    px_per_ft, dots = _placed(east_north, width)
    high = max(y for _, y in dots) + _MARGIN
    shapes: list[Shape] = list(_leaders_and_names(spots, dots, (width - _GUTTER, high)))
    shapes += [
        Dot(x=x, y=y, radius=_RADIUS, role="left-out" if spot.left_out else "used")
        for spot, (x, y) in zip(spots, dots, strict=True)
    ]
    shapes += _north(width - _GUTTER / 2, language)
    shapes += _scale(px_per_ft, width, high, ROW_LENGTH.label(units, language), units)
    return Drawing(
        name="standing",
        width=width,
        height=high + _FOOT,
        title=title,
        about=about,
        shapes=tuple(shapes),
    )


def flat_places(spots: Sequence[Spot]) -> list[tuple[float, float]]:
    """Return feet east and north of the middle; a degree of longitude shrinks with latitude."""
    middle_lat = sum(spot.latitude for spot in spots) / len(spots)
    middle_lon = sum(spot.longitude for spot in spots) / len(spots)
    shrink = math.cos(math.radians(middle_lat))
    return [
        (
            (spot.longitude - middle_lon) * FT_PER_DEGREE * shrink,
            (spot.latitude - middle_lat) * FT_PER_DEGREE,
        )
        for spot in spots
    ]


def _placed(
    east_north: Sequence[tuple[float, float]], width: float
) -> tuple[float, list[tuple[float, float]]]:
    """Return the scale and the dots: as large as fits, both ways of one scale."""
    easts, norths = zip(*east_north, strict=True)
    span_east, span_north = (max(max(v) - min(v), _LEAST_SPAN_FT) for v in (easts, norths))
    room = width - _GUTTER - 2 * _MARGIN
    px_per_ft = min(room / span_east, _FLAT * width / span_north)
    left = _MARGIN + (room - px_per_ft * (max(easts) - min(easts))) / 2
    return px_per_ft, [
        (left + (east - min(easts)) * px_per_ft, _MARGIN + (max(norths) - north) * px_per_ft)
        for east, north in east_north
    ]


def _leaders_and_names(
    spots: Sequence[Spot], dots: Sequence[tuple[float, float]], room: tuple[float, float]
) -> Iterator[Shape]:
    """Write each stop's number beside its dot, or farther off with a line where it is crowded."""
    reach = _RADIUS + 1
    taken: list[Box] = [(x - reach, y - reach, x + reach, y + reach) for x, y in dots]
    for spot, (x, y) in zip(spots, dots, strict=True):
        text = str(spot.stop)
        box = _free_box(x, y, text_width(text), taken, room)
        taken.append(box)
        left, _, right, bottom = box
        middle = ((left + right) / 2, bottom - _LABEL_HIGH / 2)
        if math.dist(middle, (x, y)) > 3 * _RADIUS + (right - left):
            yield Line(x1=x, y1=y, x2=middle[0], y2=middle[1], role="third")
        yield Label(x=left, y=bottom, text=text)


def _free_box(
    x: float, y: float, wide: float, taken: Sequence[Box], room: tuple[float, float]
) -> Box:
    """Return the box nearest to a dot that touches nothing; the last tried where all is full."""
    box = (x, y, x + wide, y + _LABEL_HIGH)
    for ring in range(60):
        away = _RADIUS + 2 + ring * _FARTHER_PX
        for way in range(_WAYS):
            angle = 2 * math.pi * way / _WAYS
            middle_x = x + (away + wide / 2) * math.cos(angle)
            middle_y = y - (away + _LABEL_HIGH / 2) * math.sin(angle)
            left, top = middle_x - wide / 2, middle_y - _LABEL_HIGH / 2
            box = (left, top, left + wide, top + _LABEL_HIGH)
            is_in = left >= 0 and top >= 0 and box[2] <= room[0] and box[3] <= room[1]
            if is_in and not any(_touch(box, other) for other in taken):
                return box
    return box


def _touch(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _north(x: float, language: str) -> Iterator[Shape]:
    yield Label(x=x, y=11, text=say("N", language), anchor="middle", bold=True)
    yield Area(points=((x, 15), (x - 4, 26), (x + 4, 26)), role="north")
    yield Line(x1=x, y1=24, x2=x, y2=42, role="leader")


def _scale(px_per_ft: float, width: float, top: float, unit: str, units: System) -> Iterator[Shape]:
    """Draw a bar of a round length, in the reader's unit."""
    px = px_per_ft / ROW_LENGTH.shown(1.0, units)
    fitting = [step for step in _STEPS if step * px <= _BAR_SHARE * width]
    length = fitting[-1] if fitting else _STEPS[0]
    x, y = 8.0, top + 12
    end = x + length * px
    yield Line(x1=x, y1=y, x2=end, y2=y, role="mean")
    for at in (x, end):
        yield Line(x1=at, y1=y - 4, x2=at, y2=y + 4, role="mean")
    yield Label(x=end + 6, y=y + 4, text=f"{length:,} {unit}", role="quiet")
