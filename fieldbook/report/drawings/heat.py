"""Heat since planting: this year's line over the band and the middle of past years."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from fieldbook.report.drawings.shapes import (
    SMALL_SIZE,
    Area,
    Dot,
    Drawing,
    Label,
    Line,
    Scale,
    Shape,
    inside,
    round_ticks,
    rows_apart,
    text_width,
)
from fieldbook.results.result import HeatCurve

_HIGH_SHARE, _FOOT, _ROW, _RADIUS = 0.42, 20.0, 12.0, 3.5
_STEP_D = 3
_TICKS = 7


@dataclass(frozen=True, kw_only=True)
class Mark:
    """A stage on the curve: its short name and its likely day."""

    name: str
    day: date


@dataclass(frozen=True, kw_only=True)
class _Frame:
    across: Scale
    up: Scale
    planted: date

    def x(self, day: date) -> float:
        return self.across.at((day - self.planted).days)


def draw_heat(
    curve: HeatCurve,
    marks: Sequence[Mark],
    months: Sequence[tuple[date, str]],
    *,
    factor: float,
    width: float,
    title: str,
    about: str,
) -> Drawing:
    """Lay out the curve.

    Parameters
    ----------
    curve
        The sums of heat. [GDD F]
    marks
        Stages, in order of their days; those beyond the curve are left out.
    months
        First days of months with their names.
    factor
        What a GDD F is in the reader's unit.
    width
        Width of the drawing. [px]
    title, about
        What the picture shows, for readers that can't see it.
    """
    last = len(curve.middle_f) - 1
    there = [mark for mark in marks if 0 <= (mark.day - curve.planted).days <= last]
    ticks = round_ticks(0, factor * max(*curve.high_f, *curve.own_f), _TICKS)
    left = max(text_width(f"{tick:,.0f}") for tick in ticks) + 10
    across = Scale(low=0, high=last, start=left, end=width - 6)
    names, top = _names(there, curve.planted, across)
    up = Scale(low=ticks[0], high=ticks[-1], start=top + _HIGH_SHARE * width, end=top)
    frame = _Frame(across=across, up=up, planted=curve.planted)
    shapes: list[Shape] = [_band(curve, frame, factor)]
    shapes += _axes(frame, ticks, months, last)
    shapes += _line(curve.middle_f, frame, factor, "third")
    shapes += _line(curve.own_f, frame, factor, "own")
    shapes += _marks(there, names, curve, frame, factor)
    return Drawing(
        name="heat",
        width=width,
        height=up.start + _FOOT,
        title=title,
        about=about,
        shapes=tuple(shapes),
    )


def _names(
    marks: Sequence[Mark], planted: date, across: Scale
) -> tuple[list[tuple[float, float]], float]:
    """Return where stages are named, left end and base line, and where the curve may begin."""
    spans = []
    for mark in marks:
        wide = text_width(mark.name, SMALL_SIZE)
        x = across.at((mark.day - planted).days)
        start = inside(x - wide / 2, wide, across.start, across.end + 4)
        spans.append((start, start + wide))
    rows = rows_apart(spans, 4)
    places = [(start, 10 + row * _ROW) for (start, _), row in zip(spans, rows, strict=True)]
    return places, 10 + (max(rows, default=0) + 1) * _ROW


def _band(curve: HeatCurve, frame: _Frame, factor: float) -> Area:
    days = _sampled(len(curve.low_f))
    over = [(frame.across.at(at), frame.up.at(factor * curve.high_f[at])) for at in days]
    under = [(frame.across.at(at), frame.up.at(factor * curve.low_f[at])) for at in days]
    return Area(points=(*over, *reversed(under)), role="past")


def _sampled(days: int) -> list[int]:
    """Return every few days and the last one: more bends than the eye can see cost room."""
    return [*range(0, days - 1, _STEP_D), days - 1]


def _line(values: Sequence[float], frame: _Frame, factor: float, role: str) -> Iterator[Line]:
    points = [
        (frame.across.at(at), frame.up.at(factor * values[at])) for at in _sampled(len(values))
    ]
    for (x1, y1), (x2, y2) in pairwise(points):
        yield Line(x1=x1, y1=y1, x2=x2, y2=y2, role=role)


def _axes(
    frame: _Frame, ticks: Sequence[float], months: Iterable[tuple[date, str]], last: int
) -> Iterator[Shape]:
    across, up = frame.across, frame.up
    yield Line(x1=across.start, y1=up.start, x2=across.end, y2=up.start, role="axis")
    for tick in ticks:
        y = up.at(tick)
        yield Line(x1=across.start - 4, y1=y, x2=across.start, y2=y, role="axis")
        text = f"{tick:,.0f}"
        yield Label(x=across.start - 6, y=y + 4, text=text, anchor="end", role="quiet")
    end = frame.planted + timedelta(days=last)
    for first, name in months:
        if not frame.planted <= first <= end:
            continue
        x = frame.x(first)
        yield Line(x1=x, y1=up.start, x2=x, y2=up.start + 4, role="axis")
        if x + text_width(name) <= across.end + 4:
            yield Label(x=x, y=up.start + 15, text=name, role="quiet")


def _marks(
    marks: Sequence[Mark],
    names: Sequence[tuple[float, float]],
    curve: HeatCurve,
    frame: _Frame,
    factor: float,
) -> Iterator[Shape]:
    """Mark reached stages on this year's line, those ahead as rings on the middle one."""
    for mark, (left, base) in zip(marks, names, strict=True):
        at = (mark.day - curve.planted).days
        is_ahead = at >= len(curve.own_f)
        value = curve.middle_f[at] if is_ahead else curve.own_f[at]
        x, y = frame.across.at(at), frame.up.at(factor * value)
        yield Line(x1=x, y1=base + 3, x2=x, y2=y, role="third")
        yield Dot(x=x, y=y, radius=_RADIUS, role="left-out" if is_ahead else "day-passed")
        yield Label(x=left, y=base, text=mark.name, size=SMALL_SIZE)
