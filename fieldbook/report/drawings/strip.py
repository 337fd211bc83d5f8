"""The season strip: stages as ranges on one scale of dates, today, and the days of visits."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from fieldbook.report.drawings.axes import Ends, day_axis, held
from fieldbook.report.drawings.shapes import (
    Dot,
    Drawing,
    Label,
    Line,
    Rect,
    Scale,
    Shape,
    text_width,
)
from fieldbook.results.result import StageResult
from fieldbook.words import day_words, say

_ROW = 17.0
_TOP = 20.0
_PAD_DAYS = 4
_BAR = 7.0


@dataclass(frozen=True, kw_only=True)
class StageRow:
    """A stage with the words for it and for its dates."""

    name: str
    stage: StageResult
    when: str


@dataclass(frozen=True, kw_only=True)
class _Frame:
    """The scale of dates, and the room left of it for names."""

    width: float
    scale: Scale
    first: date
    day: date
    language: str

    @property
    def today(self) -> float:
        return self.at(self.day)

    def at(self, day: date) -> float:
        return self.scale.at((day - self.first).days)


def draw_strip(
    rows: Sequence[StageRow],
    visits: Sequence[date],
    today: date,
    *,
    width: float,
    title: str,
    about: str,
    language: str = "en",
) -> Drawing | None:
    """Lay out the stages of one field.

    Parameters
    ----------
    rows
        Stages in their order; those without any date are not drawn.
    visits
        Days on which somebody looked.
    today
        The day of the report.
    width
        Width of the drawing. [px]
    title, about
        What the picture shows, for readers that can't see it.
    language
        Language of the labels.

    Returns
    -------
    Drawing or None
        None where no stage has a date.
    """
    dated = [row for row in rows if _days(row.stage)]
    if not dated:
        return None
    frame = _frame(dated, visits, today, width, language)
    bottom = _TOP + len(dated) * _ROW + (_ROW if visits else 0)
    shapes: list[Shape] = [*_today(frame, bottom)]
    for number, row in enumerate(dated):
        shapes += _stage(frame, row, _TOP + (number + 0.5) * _ROW)
    shapes += _visits(frame, sorted(set(visits)), bottom - _ROW / 2)
    last = frame.first + timedelta(int(frame.scale.high))
    ends = Ends(low=frame.scale.start, high=width - 1)
    shapes += day_axis(frame.scale, (frame.first, last), frame.at, bottom, ends, language)
    return Drawing(
        name="strip",
        width=width,
        height=bottom + 22,
        title=title,
        about=about,
        shapes=tuple(shapes),
    )


def _days(stage: StageResult) -> list[date]:
    return [day for day in (stage.earliest, stage.date, stage.latest) if day]


def _frame(
    rows: Sequence[StageRow], visits: Sequence[date], today: date, width: float, language: str
) -> _Frame:
    days = [day for row in rows for day in _days(row.stage)] + [*visits, today]
    names = [row.name for row in rows] + [say("looked at", language)]
    start = max(map(text_width, names)) + 8
    first, last = min(days) - timedelta(_PAD_DAYS), max(days) + timedelta(_PAD_DAYS)
    scale = Scale(low=0, high=(last - first).days, start=start, end=width - 4)
    return _Frame(width=width, scale=scale, first=first, day=today, language=language)


def _today(frame: _Frame, bottom: float) -> Iterator[Shape]:
    x = frame.today
    text = say("today, {day}", frame.language, day=day_words(frame.day, frame.language))
    yield Line(x1=x, y1=_TOP - 5, x2=x, y2=bottom, role="today")
    yield held(x, 11, text, Ends(low=2, high=frame.width - 2), bold=True)


def _stage(frame: _Frame, row: StageRow, y: float) -> Iterator[Shape]:
    stage = row.stage
    days = _days(stage)
    role = "passed" if stage.passed else "ahead"
    low, high = frame.at(days[0]), frame.at(days[-1])
    yield Label(x=2, y=y + 4, text=row.name)
    if high > low:
        yield Rect(x=low, y=y - _BAR / 2, width=high - low, height=_BAR, role=role)
    if stage.date:
        yield Dot(x=frame.at(stage.date), y=y, radius=4, role=f"day-{role}")
    yield from _when(frame, row, (low - 5, high + 5), y)


def _when(frame: _Frame, row: StageRow, ends: tuple[float, float], y: float) -> Iterator[Shape]:
    """Write the date beside its bar, on the side where today's line does not cross it."""
    wide = text_width(row.when)
    right, left = ends[1] + 3, ends[0] - 3 - wide
    fits = [at for at in (right, left) if frame.scale.start <= at and at + wide <= frame.width - 2]
    clear = [at for at in fits if not at - 3 < frame.today < at + wide + 3]
    if clear:
        yield Label(x=clear[0], y=y + 4, text=row.when, role="quiet")


def _visits(frame: _Frame, visits: Sequence[date], y: float) -> Iterator[Shape]:
    if not visits:
        return
    yield Label(x=2, y=y + 4, text=say("looked at", frame.language))
    for day in visits:
        x = frame.at(day)
        yield Line(x1=x, y1=y - 7, x2=x, y2=y + 7, role="visit")
