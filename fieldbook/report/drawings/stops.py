"""Yield by stop: a numbered dot a stop on one axis, and how far the mean may be off."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from fieldbook.report.amounts import rough_yield
from fieldbook.report.drawings.axes import Ends, held, value_axis
from fieldbook.report.drawings.shapes import (
    SMALL_SIZE,
    Dot,
    Drawing,
    Label,
    Line,
    Rect,
    Scale,
    Shape,
    round_ticks,
    rows_apart,
    text_width,
)
from fieldbook.results.yield_result import StopResult, YieldResult
from fieldbook.units import YIELD, System
from fieldbook.words import say

_RADIUS = 8.0
_ROW = 18.0
_TOP = 18.0
_BAR = 7.0
_PX_A_TICK = 30.0


@dataclass(frozen=True, kw_only=True)
class _Bar:
    """A range beneath the dots; values as the reader sees them."""

    words: str
    low: float
    high: float
    role: str


@dataclass(frozen=True, kw_only=True)
class _View:
    """What is drawn, in the reader's unit, and in which words."""

    width: float
    units: System
    unit: str
    language: str
    used: tuple[tuple[int, float], ...]
    left_out: tuple[tuple[int, float, str], ...]
    bars: tuple[_Bar, ...]
    mean: float | None
    own: float | None

    def number(self, value: float) -> str:
        return f"{value:.{1 if self.units is System.METRIC else 0}f}"

    def span(self, bar: _Bar) -> str:
        low, high = (self.number(rough_yield(end, self.units)) for end in (bar.low, bar.high))
        return say("{low} to {high}", self.language, low=low, high=high)

    @property
    def ends(self) -> Ends:
        return Ends(low=2, high=self.width - 2)

    @property
    def start(self) -> float:
        """Left end of the axis: right of the longest name of a row."""
        names = [say("counted", self.language), say("left out", self.language)]
        return max(map(text_width, [*names, *(bar.words for bar in self.bars)])) + 8 + _RADIUS

    @property
    def end(self) -> float:
        """Right end of the axis: left of the longest range."""
        ranges = [text_width(self.span(bar)) for bar in self.bars]
        return self.width - max([*ranges, text_width(self.unit)]) - 8 - _RADIUS

    @property
    def values(self) -> list[float]:
        ends = [end for bar in self.bars for end in (bar.low, bar.high)]
        stops = [value for _, value in self.used] + [value for _, value, _ in self.left_out]
        return stops + ends + [value for value in (self.mean, self.own) if value is not None]


def draw_stops(
    stops: Sequence[StopResult],
    yield_: YieldResult | None,
    own_average_bu_ac: float | None,
    reasons: dict[str, str],
    *,
    units: System,
    width: float,
    title: str,
    about: str,
    language: str = "en",
) -> Drawing | None:
    """Lay out the yields of the stops of one visit.

    Parameters
    ----------
    stops
        All stops; those without a yield have no place on the axis. [bu/ac]
    yield_
        The field's yield, or None where no stop counts. [bu/ac]
    own_average_bu_ac
        The field's own average, marked on the axis. [bu/ac]
    reasons
        Short words for each reason why a stop is left out.
    units
        The reader's system of units.
    width
        Width of the drawing. [px]
    title, about
        What the picture shows, for readers that can't see it.
    language
        Language of the labels.

    Returns
    -------
    Drawing or None
        None where no stop has a yield.
    """
    view = _view(stops, yield_, own_average_bu_ac, reasons, units, width, language)
    if not view.used and not view.left_out:
        return None
    ticks = round_ticks(
        min(view.values), max(view.values), int((view.end - view.start) / _PX_A_TICK)
    )
    scale = Scale(low=ticks[0], high=ticks[-1], start=view.start, end=view.end)
    shapes: list[Shape] = []
    y = _left_out(shapes, view, scale, _dots(shapes, view, scale))
    for bar in view.bars:
        _bar(shapes, view, scale, bar, y)
        y += _ROW
    y = _axis(shapes, view, scale, ticks, y)
    return Drawing(
        name="stops", width=width, height=y, title=title, about=about, shapes=tuple(shapes)
    )


def _view(
    stops: Sequence[StopResult],
    yield_: YieldResult | None,
    own_bu_ac: float | None,
    reasons: dict[str, str],
    units: System,
    width: float,
    language: str,
) -> _View:
    shown = [
        (stop.stop, YIELD.shown(stop.yield_bu_ac, units), stop.left_out)
        for stop in sorted(stops, key=lambda stop: stop.yield_bu_ac or 0.0)
        if stop.yield_bu_ac is not None
    ]
    return _View(
        width=width,
        units=units,
        unit=YIELD.label(units, language),
        language=language,
        used=tuple((number, value) for number, value, why in shown if not why),
        left_out=tuple((n, value, reasons.get(why, why)) for n, value, why in shown if why),
        bars=tuple(_ranges(yield_, units, language)) if yield_ else (),
        mean=YIELD.shown(yield_.likely_bu_ac, units) if yield_ else None,
        own=None if own_bu_ac is None else YIELD.shown(own_bu_ac, units),
    )


def _ranges(yield_: YieldResult, units: System, language: str) -> Iterator[_Bar]:
    kernel = (yield_.low_bu_ac, yield_.high_bu_ac)
    ranges = [
        ("counting", yield_.interval_95_bu_ac, "counting"),
        ("kernel weight", kernel, "weight"),
        ("together", yield_.range_bu_ac if yield_.interval_95_bu_ac else None, "both"),
    ]
    for words, pair, role in ranges:
        if pair:
            low, high = (YIELD.shown(end, units) for end in pair)
            yield _Bar(words=say(words, language), low=low, high=high, role=role)


def _dots(shapes: list[Shape], view: _View, scale: Scale) -> float:
    """Draw the stops that count and the line of their mean; return where the next part begins."""
    if not view.used:
        return 2.0
    xs = [scale.at(value) for _, value in view.used]
    rows = rows_apart([(x - _RADIUS, x + _RADIUS) for x in xs], 1)
    bottom = _TOP + (max(rows) + 1) * _ROW
    shapes.append(_name(say("counted", view.language), (_TOP + bottom) / 2))
    if view.mean is not None:
        _mean(shapes, view, scale.at(view.mean), bottom + len(view.bars) * _ROW)
    for (number, _), x, row in zip(view.used, xs, rows, strict=True):
        _numbered(shapes, number, x, _TOP + (row + 0.5) * _ROW, "used")
    return bottom


def _name(words: str, middle: float) -> Label:
    return Label(x=2, y=middle + 4, text=words)


def _mean(shapes: list[Shape], view: _View, x: float, bottom: float) -> None:
    text = say("likely {value}", view.language, value=view.number(view.mean or 0.0))
    shapes.append(Line(x1=x, y1=14, x2=x, y2=bottom, role="mean"))
    shapes.append(held(x, 10, text, view.ends, bold=True))


def _numbered(shapes: list[Shape], number: int, x: float, y: float, role: str) -> None:
    shapes.append(Dot(x=x, y=y, radius=_RADIUS, role=role))
    shapes.append(
        Label(
            x=x,
            y=y + 3.3,
            text=str(number),
            anchor="middle",
            size=SMALL_SIZE,
            bold=True,
            role=f"in-{role}",
        )
    )


def _left_out(shapes: list[Shape], view: _View, scale: Scale, top: float) -> float:
    """Draw the stops that don't count, hollow, each with its reason beside it."""
    if not view.left_out:
        return top
    placed = sorted(
        (_beside(scale.at(value), why, view), number) for number, value, why in view.left_out
    )
    rows = rows_apart([(side.left, side.right) for side, _ in placed], 8)
    bottom = top + (max(rows) + 1) * _ROW
    shapes.append(_name(say("left out", view.language), (top + bottom) / 2))
    for (side, number), row in zip(placed, rows, strict=True):
        middle = top + (row + 0.5) * _ROW
        _numbered(shapes, number, side.x, middle, "left-out")
        if side.words:
            shapes.append(Label(x=side.text_x, y=middle + 4, text=side.words, role="quiet"))
    return bottom


@dataclass(frozen=True, kw_only=True, order=True)
class _Side:
    """Where a dot and the words beside it lie, from left to right end."""

    left: float
    right: float
    x: float
    text_x: float = 0.0
    words: str = ""


def _beside(x: float, words: str, view: _View) -> _Side:
    """Put words right of a dot, left where the right has no room, or nowhere: the text has them."""
    reach = _RADIUS + 4 + text_width(words)
    left, right = x - _RADIUS, x + _RADIUS
    if x + reach <= view.width - 2:
        return _Side(left=left, right=x + reach, x=x, text_x=right + 4, words=words)
    if x - reach >= view.start - _RADIUS:
        return _Side(left=x - reach, right=right, x=x, text_x=x - reach, words=words)
    return _Side(left=left, right=right, x=x)


def _bar(shapes: list[Shape], view: _View, scale: Scale, bar: _Bar, top: float) -> None:
    """Draw a range: its name on the left, its ends as numbers on the right."""
    middle = top + _ROW / 2
    low, high = scale.at(bar.low), scale.at(bar.high)
    shapes.append(_name(bar.words, middle))
    shapes.append(Rect(x=low, y=middle - _BAR / 2, width=high - low, height=_BAR, role=bar.role))
    if view.mean is not None:
        x = scale.at(view.mean)
        shapes.append(Line(x1=x, y1=middle - 6, x2=x, y2=middle + 6, role="mean"))
    shapes.append(Label(x=view.width - 2, y=middle + 4, text=view.span(bar), anchor="end"))


def _axis(
    shapes: list[Shape], view: _View, scale: Scale, ticks: Sequence[float], y: float
) -> float:
    y += 4
    shapes += value_axis(scale, ticks, y, view.ends)
    unit = Label(x=view.width - 2, y=y + 15, text=view.unit, anchor="end", role="quiet")
    shapes.append(unit)
    if view.own is None:
        return y + 20
    _own(shapes, view, scale.at(view.own), y)
    return y + 34


def _own(shapes: list[Shape], view: _View, x: float, y: float) -> None:
    """Mark the field's own average with a heavy tick and words under the axis."""
    text = say("own average {value}", view.language, value=view.number(view.own or 0.0))
    shapes.append(Line(x1=x, y1=y - 6, x2=x, y2=y + 4, role="own"))
    shapes.append(held(x, y + 29, text, view.ends))
