"""The axes that drawings share: values with round numbers, days with a tick on Mondays."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from fieldbook.report.drawings.shapes import Label, Line, Scale, Shape, inside, text_width
from fieldbook.words import day_words

_TICK = 4.0
_WORDS = 15.0
_TICK_DAYS = (7, 14, 28, 56)
_ROOM = 50.0  # px that the words of a day need


@dataclass(frozen=True, kw_only=True)
class Ends:
    """Coordinates [px] between which words have to stay."""

    low: float
    high: float


def held(
    x: float, y: float, text: str, ends: Ends, *, role: str = "text", bold: bool = False
) -> Label:
    """Return words in the middle over `x`, moved as little as it takes to stay between two ends."""
    wide = text_width(text, bold=bold)
    left = inside(x - wide / 2, wide, ends.low, ends.high)
    return Label(x=left, y=y, text=text, role=role, bold=bold)


def tick_words(ticks: Sequence[float]) -> list[str]:
    """Write round numbers alike: all whole, or all with a tenth."""
    digits = 0 if all(float(tick).is_integer() for tick in ticks) else 1
    return [f"{tick:.{digits}f}" for tick in ticks]


def value_axis(scale: Scale, ticks: Sequence[float], y: float, ends: Ends) -> Iterator[Shape]:
    """Draw an axis at `y` with a tick and a number at each of `ticks`; words stay in `ends`."""
    yield Line(x1=scale.start, y1=y, x2=scale.end, y2=y, role="axis")
    for tick, words in zip(ticks, tick_words(ticks), strict=True):
        x = scale.at(tick)
        yield Line(x1=x, y1=y, x2=x, y2=y + _TICK, role="axis")
        yield held(x, y + _WORDS, words, ends, role="quiet")


def day_axis(
    scale: Scale,
    days: tuple[date, date],
    at: Callable[[date], float],
    y: float,
    ends: Ends,
    language: str,
) -> Iterator[Shape]:
    """Draw an axis of days at `y`, with a tick on Mondays, as many as their words have room for.

    Parameters
    ----------
    scale
        The line of days; its values count days.
    days
        First and last day that may have a tick.
    at
        Where a day has its tick. [px]
    ends
        Words that would not fit between them are left out; the tick stays.
    """
    yield Line(x1=scale.start, y1=y, x2=scale.end, y2=y, role="axis")
    px_a_day = (scale.end - scale.start) / (scale.high - scale.low)
    for day in _mondays(*days, px_a_day):
        x = at(day)
        yield Line(x1=x, y1=y, x2=x, y2=y + _TICK, role="axis")
        text = _short(day, language)
        label = Label(x=x, y=y + _WORDS, text=text, anchor="middle", role="quiet")
        if ends.low <= label.box[0] and label.box[2] <= ends.high:
            yield label


def _mondays(first: date, last: date, px_a_day: float) -> Iterator[date]:
    step = next((days for days in _TICK_DAYS if days * px_a_day >= _ROOM), _TICK_DAYS[-1])
    day = first + timedelta((7 - first.weekday()) % 7)
    while day <= last:
        yield day
        day += timedelta(step)


def _short(day: date, language: str) -> str:
    return day_words(day, language, "d MMM")
