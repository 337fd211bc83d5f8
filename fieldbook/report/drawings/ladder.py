"""The leaf ladder: a plant's leaves as rungs, and on each the diseases that reached it highest.

A bar is all plants, its filled part those with the disease, a thin line the range of that.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from fieldbook.agronomy.leaves import HIGHEST_FIRST
from fieldbook.agronomy.wilson import Share
from fieldbook.report.drawings.shapes import (
    LINE_HEIGHT,
    Drawing,
    Label,
    Line,
    Rect,
    Shape,
    text_width,
)
from fieldbook.words import say

SMALL = 300.0

_EAR = "ear-leaf"
_RUNGS = {
    "above-2": "2 above",
    "above-1": "1 above",
    _EAR: "ear leaf",
    "below-1": "1 below",
    "below-2": "2 below",
    "below-3": "3 below",
    "lower": "lower",
}
_LEAST_RUNG = 15.0
_GAP = 6.0
_LEAF = 24.0
_RISE = 9.0
_STALK_ROOM = 2 * _LEAF + 8
_BAR_WIDTH, _BAR_HEIGHT = 44.0, 7.0
_TOP, _FOOT = 4.0, 8.0


@dataclass(frozen=True, kw_only=True)
class Reached:
    """A disease at the highest leaf with it; ``words`` say its share of plants."""

    name: str
    leaf: str
    share: Share | None
    words: str


@dataclass(frozen=True, kw_only=True)
class _Frame:
    """Where the stalk and the words stand."""

    stalk: float
    words: float


def draw_ladder(
    rows: Sequence[Reached], *, width: float, title: str, about: str, language: str = "en"
) -> Drawing | None:
    """Lay out the leaves of a plant with the diseases that reached them.

    Parameters
    ----------
    rows
        Diseases, in any order; those on one leaf keep theirs.
    width
        Width of the drawing; `SMALL` stands beside text. [px]
    title, about
        What the picture shows, for readers that can't see it.
    language
        Language of the labels.

    Returns
    -------
    Drawing or None
        None where no disease has a highest leaf.
    """
    if not rows:
        return None
    names = {leaf: say(name, language) for leaf, name in _RUNGS.items()}
    frame = _frame(names)
    shapes: list[Shape] = []
    y = _TOP
    for number, leaf in enumerate(HIGHEST_FIRST):
        here = [row for row in rows if row.leaf == leaf]
        shapes += _rung(frame, leaf, names[leaf], y + _LEAST_RUNG / 2, left=number % 2 == 0)
        shapes += _diseases(frame, here, y)
        y += max(_LEAST_RUNG, _height(here))
    bottom = y + _FOOT
    stalk = Line(x1=frame.stalk, y1=2, x2=frame.stalk, y2=bottom - 2, role="stalk")
    drawn = (stalk, *shapes)
    return Drawing(
        name="ladder", width=width, height=bottom, title=title, about=about, shapes=drawn
    )


def _frame(names: Mapping[str, str]) -> _Frame:
    gutter = max(text_width(name, bold=leaf == _EAR) for leaf, name in names.items()) + 8
    return _Frame(stalk=gutter + _STALK_ROOM / 2, words=gutter + _STALK_ROOM + 12)


def _height(here: Sequence[Reached]) -> float:
    return sum(_lines(row) * LINE_HEIGHT for row in here) + _GAP if here else 0.0


def _lines(row: Reached) -> int:
    return 2 if row.share else 1


def _rung(frame: _Frame, leaf: str, name: str, y: float, *, left: bool) -> Iterator[Shape]:
    """Draw a leaf, on either side in turn; the ear leaf is heavier and bears the ear."""
    side = -1 if left else 1
    is_ear = leaf == _EAR
    yield Label(x=2, y=y + 4, text=name, role="text" if is_ear else "quiet", bold=is_ear)
    end = frame.stalk + side * _LEAF
    role = "ear-leaf" if is_ear else "leaf"
    yield Line(x1=frame.stalk, y1=y + 4, x2=end, y2=y + 4 - _RISE, role=role)
    if is_ear:
        yield Rect(x=frame.stalk - side * 6 - 3, y=y - 8, width=6, height=13, role="ear")


def _diseases(frame: _Frame, here: Sequence[Reached], top: float) -> Iterator[Shape]:
    y = top
    for row in here:
        base = y + LINE_HEIGHT
        yield Label(x=frame.words, y=base, text=row.name)
        if row.share:
            yield from _bar(frame.words, base + LINE_HEIGHT - 4, row.share)
            x = frame.words + _BAR_WIDTH + 6
            yield Label(x=x, y=base + LINE_HEIGHT, text=row.words, role="quiet")
        y += _lines(row) * LINE_HEIGHT


def _bar(x: float, middle: float, share: Share) -> Iterator[Shape]:
    """Draw all plants, those with the disease, and the range of that share."""
    y = middle - _BAR_HEIGHT / 2
    filled = _BAR_WIDTH * share.pct / 100
    yield Rect(x=x, y=y, width=_BAR_WIDTH, height=_BAR_HEIGHT, role="plants")
    yield Rect(x=x, y=y, width=filled, height=_BAR_HEIGHT, role="sick")
    low, high = (x + _BAR_WIDTH * pct / 100 for pct in (share.sure.low_pct, share.sure.high_pct))
    yield Line(x1=low, y1=middle, x2=high, y2=middle, role="range")
    for end in (low, high):
        yield Line(x1=end, y1=middle - 2.5, x2=end, y2=middle + 2.5, role="range")
