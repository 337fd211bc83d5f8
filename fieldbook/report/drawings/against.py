"""Estimates against harvests: a dot an estimate, on the line where both agree, with its range."""

from collections.abc import Sequence
from dataclasses import dataclass

from fieldbook.report.drawings.axes import Ends, tick_words, value_axis
from fieldbook.report.drawings.shapes import (
    Dot,
    Drawing,
    Label,
    Line,
    Scale,
    Shape,
    round_ticks,
    text_width,
)
from fieldbook.words import say

_RADIUS = 4.0
_TOP, _FOOT = 20.0, 34.0
_PX_A_TICK = 40.0
_FLAT = 0.72


@dataclass(frozen=True, kw_only=True)
class Against:
    """One estimate and its harvest in the reader's unit; ``held`` is None without a range."""

    harvest: float
    estimate: float
    ends: tuple[float, float] | None
    held: bool | None


def draw_against(
    points: Sequence[Against],
    *,
    unit: str,
    width: float,
    title: str,
    about: str,
    language: str = "en",
) -> Drawing | None:
    """Lay out estimates over harvests, both on one scale.

    Parameters
    ----------
    points
        The estimates; a range is drawn as a line through its dot, a dot whose range missed the
        harvest is hollow.
    unit
        The reader's unit of a yield.
    width
        Width of the drawing. [px]
    title, about
        What the picture shows, for readers that can't see it.
    language
        Language of the labels.

    Returns
    -------
    Drawing or None
        None without a point.
    """
    if not points:
        return None
    ticks = _ticks(points, width)
    across, up = _scales(ticks, width)
    shapes: list[Shape] = []
    _axes(shapes, across, up, ticks)
    _names(shapes, up, unit, language, width)
    shapes.append(Line(x1=across.start, y1=up.start, x2=across.end, y2=up.end, role="third"))
    for point in points:
        _point(shapes, point, across, up)
    return Drawing(
        name="against",
        width=width,
        height=up.start + _FOOT,
        title=title,
        about=about,
        shapes=tuple(shapes),
    )


def _ticks(points: Sequence[Against], width: float) -> list[float]:
    ends = [end for point in points for end in point.ends or ()]
    values = [*ends, *(v for point in points for v in (point.harvest, point.estimate))]
    return round_ticks(min(values), max(values), int(0.85 * width / _PX_A_TICK))


def _scales(ticks: Sequence[float], width: float) -> tuple[Scale, Scale]:
    """Return the scale across and the one up: of the same values, so that both agree on a line."""
    left = max(map(text_width, tick_words(ticks))) + 10
    right = width - _RADIUS - 4
    high = _FLAT * (right - left)
    across = Scale(low=ticks[0], high=ticks[-1], start=left, end=right)
    return across, Scale(low=ticks[0], high=ticks[-1], start=_TOP + high, end=_TOP)


def _axes(shapes: list[Shape], across: Scale, up: Scale, ticks: Sequence[float]) -> None:
    ends = Ends(low=across.start, high=across.end + _RADIUS + 2)
    shapes += value_axis(across, ticks, up.start, ends)
    shapes.append(Line(x1=across.start, y1=up.start, x2=across.start, y2=up.end, role="axis"))
    for tick, text in zip(ticks, tick_words(ticks), strict=True):
        y = up.at(tick)
        shapes.append(Line(x1=across.start - 4, y1=y, x2=across.start, y2=y, role="axis"))
        shapes.append(Label(x=across.start - 6, y=y + 4, text=text, anchor="end", role="quiet"))


def _names(shapes: list[Shape], up: Scale, unit: str, language: str, width: float) -> None:
    """Name both axes at their ends."""
    harvest = say("harvest, {unit}", language, unit=unit)
    foot = up.start + 29
    shapes.append(Label(x=width - 2, y=foot, text=harvest, anchor="end", role="quiet"))
    estimate = say("estimate, {unit}", language, unit=unit)
    shapes.append(Label(x=2, y=10, text=estimate, role="quiet"))


def _point(shapes: list[Shape], point: Against, across: Scale, up: Scale) -> None:
    x = across.at(point.harvest)
    if point.ends:
        low, high = (up.at(end) for end in point.ends)
        shapes.append(Line(x1=x, y1=low, x2=x, y2=high, role="leader"))
    role = "left-out" if point.held is False else "used"
    shapes.append(Dot(x=x, y=up.at(point.estimate), radius=_RADIUS, role=role))
