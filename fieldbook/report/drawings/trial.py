"""A strip trial: a dot a strip, a row a treatment, the means, and the least difference that counts.

Every row says its treatment and mean in words above its dots, so that a phone needs no legend.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from fieldbook.report.drawings.axes import Ends, value_axis
from fieldbook.report.drawings.shapes import (
    SMALL_SIZE,
    Dot,
    Drawing,
    Label,
    Line,
    Rect,
    Scale,
    Shape,
    inside,
    round_ticks,
    rows_apart,
    text_width,
)

_RADIUS = 8.0
_EDGE = 2.0
_WORDS, _DOTS, _GAP = 15.0, 18.0, 6.0
_PX_A_TICK = 34.0
_LONGEST_MARK = 2


@dataclass(frozen=True, kw_only=True)
class TreatmentRow:
    """One treatment as the reader sees it; ``dots`` are values with a short mark each."""

    name: str
    told: str
    mean: float
    dots: tuple[tuple[str, float], ...]


def draw_trial(
    rows: Sequence[TreatmentRow],
    lsd: float | None,
    lsd_words: str,
    *,
    unit: str,
    width: float,
    title: str,
    about: str,
) -> Drawing | None:
    """Lay out the strips of a trial.

    Parameters
    ----------
    rows
        The treatments in the order of their rows; values in the reader's unit.
    lsd
        The least significant difference in the reader's unit; None draws no bar.
    lsd_words
        What stands beside its bar.
    unit
        The reader's unit of a yield.
    width
        Width of the drawing. [px]
    title, about
        What the picture shows, for readers that can't see it.

    Returns
    -------
    Drawing or None
        None where there is no strip.
    """
    values = [value for row in rows for _, value in row.dots]
    if not values:
        return None
    start, end = _EDGE + _RADIUS, width - _EDGE - _RADIUS
    ticks = round_ticks(min(values), max(values), int((end - start) / _PX_A_TICK))
    scale = Scale(low=ticks[0], high=ticks[-1], start=start, end=end)
    shapes: list[Shape] = []
    y = _EDGE
    for row in rows:
        y = _row(shapes, row, scale, width, y)
    if lsd is not None:
        y = _bar(shapes, lsd, lsd_words, scale, width, y)
    y = _axis(shapes, ticks, scale, unit, width, y)
    return Drawing(
        name="trial", width=width, height=y, title=title, about=about, shapes=tuple(shapes)
    )


def _row(shapes: list[Shape], row: TreatmentRow, scale: Scale, width: float, y: float) -> float:
    """Draw a treatment's words, its dots, and its mean through them; return where the next begins.

    Dots that would hide each other stand one below the other.
    """
    dots = sorted(row.dots, key=lambda dot: dot[1])
    xs = [scale.at(value) for _, value in dots]
    levels = rows_apart([(x - _RADIUS, x + _RADIUS) for x in xs], 1)
    room = width - 2 * _EDGE - text_width(row.told) - 10
    shapes.append(Label(x=_EDGE, y=y + 11, text=_fitting(row.name, room), bold=True))
    shapes.append(Label(x=width - _EDGE, y=y + 11, text=row.told, anchor="end"))
    top = y + _WORDS
    bottom = top + (max(levels) + 1) * _DOTS
    middle = scale.at(row.mean)
    shapes.append(Line(x1=middle, y1=top, x2=middle, y2=bottom + 2, role="mean"))
    for (mark, _), x, level in zip(dots, xs, levels, strict=True):
        _dot(shapes, mark, x, top + (level + 0.5) * _DOTS)
    return bottom + _GAP


def _fitting(name: str, room: float) -> str:
    """Cut a name to the room it has."""
    if text_width(name, bold=True) <= room:
        return name
    while name and text_width(name + "...", bold=True) > room:
        name = name[:-1]
    return name.rstrip() + "..."


def _dot(shapes: list[Shape], mark: str, x: float, y: float) -> None:
    shapes.append(Dot(x=x, y=y, radius=_RADIUS, role="used"))
    if len(mark) > _LONGEST_MARK:
        return
    shapes.append(
        Label(
            x=x, y=y + 3.3, text=mark, anchor="middle", size=SMALL_SIZE, bold=True, role="in-used"
        )
    )


def _bar(
    shapes: list[Shape], lsd: float, words: str, scale: Scale, width: float, y: float
) -> float:
    """Draw the least difference as a bar as long as it is on the axis, its words beneath."""
    long = min(lsd / (scale.high - scale.low) * (scale.end - scale.start), scale.end - scale.start)
    shapes.append(Rect(x=scale.start, y=y + 2, width=long, height=5, role="both"))
    left = inside(scale.start, text_width(words), _EDGE, width - _EDGE)
    shapes.append(Label(x=left, y=y + 19, text=words))
    return y + 25


def _axis(
    shapes: list[Shape], ticks: Sequence[float], scale: Scale, unit: str, width: float, y: float
) -> float:
    shapes += value_axis(scale, ticks, y, Ends(low=_EDGE, high=width - _EDGE))
    shapes.append(Label(x=width - _EDGE, y=y + 29, text=unit, anchor="end", role="quiet"))
    return y + 33
