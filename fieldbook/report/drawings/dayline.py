"""The day line: pollen, silks, weather, visits and when gaps may have arisen, around first silk."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from fieldbook.agronomy.ranges import DayRange
from fieldbook.report.drawings.axes import Ends, day_axis, held
from fieldbook.report.drawings.shapes import (
    Area,
    Dot,
    Drawing,
    Label,
    Line,
    Rect,
    Scale,
    Shape,
    text_width,
)
from fieldbook.words import say

_TOP = 4.0
_ROW = 15.0
_BAR = 9.0
_PANEL = 42.0
_AXIS = 20.0
_FULL_RAIN_IN = 1.0  # as much rain as the tallest mark
_MARK = 10.0


@dataclass(frozen=True, kw_only=True)
class DayMarks:
    """What is marked of a day's weather: heat, a warm night, and rain [in] where it was wet."""

    day: date
    hot: bool
    warm: bool
    rain_in: float


@dataclass(frozen=True, kw_only=True)
class SilksOut:
    """When silks of a place on the ear come out; days are ordinals with their fraction."""

    position: float
    earliest: float
    likely: float
    latest: float


@dataclass(frozen=True, kw_only=True)
class GapBar:
    """One reading of a gap: its short name, its days and its texture."""

    name: str
    within: DayRange
    role: str


@dataclass(frozen=True, kw_only=True)
class MarkNames:
    """The words for the rows of weather."""

    hot: str
    warm: str
    rain: str


@dataclass(frozen=True, kw_only=True)
class DayLine:
    """What the day line shows; ``shed`` is the first and the last pollen, None where unread."""

    first: date
    last: date
    today: date
    days: Sequence[DayMarks]
    names: MarkNames
    shed: tuple[DayRange, DayRange] | None
    silks: Sequence[SilksOut]
    gaps: Sequence[GapBar]
    visits: Sequence[date]


@dataclass(frozen=True, kw_only=True)
class _Frame:
    scale: Scale
    line: DayLine
    language: str

    def at(self, day: date | None, *, otherwise: date) -> float:
        """Return where a day begins, held inside of the frame."""
        return self.inside((day or otherwise).toordinal())

    def inside(self, ordinal: float) -> float:
        return self.scale.at(min(max(ordinal, self.scale.low), self.scale.high))

    @property
    def px_a_day(self) -> float:
        return (self.scale.end - self.scale.start) / (self.scale.high - self.scale.low)

    def has(self, day: date) -> bool:
        return self.line.first <= day <= self.line.last


def draw_dayline(
    line: DayLine, *, width: float, title: str, about: str, language: str = "en"
) -> Drawing:
    """Lay out the days around first silk.

    Parameters
    ----------
    line
        What is shown; days beyond its ends are cut off, and open ranges run to the edge. Rows
        from above: weather, pollen, silks, gaps, visits.
    width
        Width of the drawing. [px]
    title, about
        What the picture shows, for readers that can't see it.
    """
    start = max(map(text_width, _names(line, language))) + 8
    # A day is as wide as itself, so the last one ends a day later than it begins.
    low, high = line.first.toordinal(), line.last.toordinal() + 1
    scale = Scale(low=low, high=high, start=start, end=width - 3)
    frame = _Frame(scale=scale, line=line, language=language)
    shapes: list[Shape] = []
    bottom = _TOP + (_ROW if frame.has(line.today) else 0)
    for rows in (_weather, _pollen, _silks, _gaps, _visits):
        drawn, bottom = rows(frame, bottom)
        shapes += drawn
    return Drawing(
        name="dayline",
        width=width,
        height=bottom + _AXIS,
        title=title,
        about=about,
        shapes=(*_today(frame, bottom), *shapes, *_axis(frame, bottom)),
    )


def _names(line: DayLine, language: str) -> list[str]:
    names = line.names
    fixed = (say("looked at", language), say("pollen", language), say("silks, tip", language))
    return [names.hot, names.warm, names.rain, *fixed, *(gap.name for gap in line.gaps)]


_Rows = tuple[list[Shape], float]


def _name(text: str, y: float) -> Label:
    return Label(x=2, y=y + 4, text=text)


# ---- weather -------------------------------------------------------------------------------


def _weather(frame: _Frame, top: float) -> _Rows:
    """Mark hot days, warm nights and rain, each in a row of its own where there are any."""
    names = frame.line.names
    days = [one for one in frame.line.days if frame.has(one.day)]
    rows = (
        (names.hot, _hot, [one for one in days if one.hot]),
        (names.warm, _warm, [one for one in days if one.warm]),
        (names.rain, _rain, [one for one in days if one.rain_in > 0]),
    )
    shapes: list[Shape] = []
    y = top
    for name, mark, marked in rows:
        if marked:
            shapes += [_name(name, y + _ROW / 2), *(mark(frame, one, y) for one in marked)]
            y += _ROW
    return shapes, y


def _hot(frame: _Frame, one: DayMarks, top: float) -> Shape:
    x, wide = _day_mark(frame, one)
    return Rect(x=x, y=top + (_ROW - _MARK) / 2, width=wide, height=_MARK, role="hot")


def _warm(frame: _Frame, one: DayMarks, top: float) -> Shape:
    x, wide = _day_mark(frame, one)
    radius = min(wide / 2, 3.0)
    return Dot(x=x + wide / 2, y=top + _ROW / 2, radius=radius, role="warm")


def _rain(frame: _Frame, one: DayMarks, top: float) -> Shape:
    """Draw rain as a bar that stands on the row's ground, as tall as it was much."""
    x, wide = _day_mark(frame, one)
    tall = max(2.0, _MARK * min(one.rain_in / _FULL_RAIN_IN, 1.0))
    return Rect(x=x, y=top + _ROW - 2 - tall, width=wide, height=tall, role="rain")


def _day_mark(frame: _Frame, one: DayMarks) -> tuple[float, float]:
    """Return the left end and the width of a mark in the middle of its day."""
    wide = min(frame.px_a_day * 0.8, _MARK)
    return frame.inside(one.day.toordinal() + 0.5) - wide / 2, wide


# ---- pollen and silks ----------------------------------------------------------------------


def _bar(frame: _Frame, within: DayRange, y: float, role: str) -> Rect:
    """Draw a range of whole days, to the frame's edge where it is open."""
    line = frame.line
    low = frame.at(within.earliest, otherwise=line.first)
    high = frame.inside((within.latest or line.last).toordinal() + 1)
    return Rect(x=low, y=y - _BAR / 2, width=max(high - low, 1.0), height=_BAR, role=role)


def _pollen(frame: _Frame, top: float) -> _Rows:
    """Draw when pollen may have fallen, and in it when it fell for sure."""
    if frame.line.shed is None:
        return [], top
    start, end = frame.line.shed
    y = top + _ROW / 2
    may = DayRange(earliest=start.earliest, latest=end.latest)
    shapes: list[Shape] = [_name(say("pollen", frame.language), y)]
    shapes.append(_bar(frame, may, y, "pollen-maybe"))
    if start.latest and end.earliest and start.latest <= end.earliest:
        sure = DayRange(earliest=start.latest, latest=end.earliest)
        shapes.append(_bar(frame, sure, y, "pollen"))
    return shapes, top + _ROW


def _silks(frame: _Frame, top: float) -> _Rows:
    """Draw when silks come out along the ear: a band, and in it the line of a typical ear."""
    silks = frame.line.silks
    if not silks:
        return [], top
    low, high = top + _PANEL - 3, top + 5
    scale = Scale(low=0.0, high=1.0, start=low, end=high)
    early = [(frame.inside(one.earliest), scale.at(one.position)) for one in silks]
    late = [(frame.inside(one.latest), scale.at(one.position)) for one in silks]
    likely = [(frame.inside(one.likely), scale.at(one.position)) for one in silks]
    shapes: list[Shape] = [
        _name(say("silks, tip", frame.language), high + 2),
        _name(say("base", frame.language), low - 5),
        Area(points=(*early, *reversed(late)), role="silks"),
    ]
    shapes += [
        Line(x1=x1, y1=y1, x2=x2, y2=y2, role="silk") for (x1, y1), (x2, y2) in pairwise(likely)
    ]
    return shapes, top + _PANEL


# ---- gaps, visits, dates -------------------------------------------------------------------


def _gaps(frame: _Frame, top: float) -> _Rows:
    shapes: list[Shape] = []
    y = top
    for gap in frame.line.gaps:
        middle = y + _ROW / 2
        shapes += [_name(gap.name, middle), _bar(frame, gap.within, middle, gap.role)]
        y += _ROW
    return shapes, y


def _visits(frame: _Frame, top: float) -> _Rows:
    days = [day for day in dict.fromkeys(frame.line.visits) if frame.has(day)]
    if not days:
        return [], top
    y = top + _ROW / 2
    shapes: list[Shape] = [_name(say("looked at", frame.language), y)]
    for day in days:
        x = frame.inside(day.toordinal() + 0.5)
        shapes.append(Line(x1=x, y1=y - 5, x2=x, y2=y + 5, role="visit"))
    return shapes, top + _ROW


def _today(frame: _Frame, bottom: float) -> Iterator[Shape]:
    """Draw today as a line with its word, where it lies in the frame."""
    if frame.has(frame.line.today):
        x = frame.inside(frame.line.today.toordinal() + 0.5)
        text = say("today", frame.language)
        yield held(x, _TOP + 8, text, Ends(low=2, high=frame.scale.end), bold=True)
        yield Line(x1=x, y1=_TOP + 12, x2=x, y2=bottom, role="today")


def _axis(frame: _Frame, y: float) -> Iterator[Shape]:
    def middle(day: date) -> float:
        return frame.inside(day.toordinal() + 0.5)

    days, ends = (frame.line.first, frame.line.last), Ends(low=0, high=frame.scale.end + 3)
    return day_axis(frame.scale, days, middle, y, ends, frame.language)
