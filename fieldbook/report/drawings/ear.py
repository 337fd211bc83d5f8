"""The ear: lying, butt left, tip right, one slice a kernel place.

The height of a slice is the share of ears that hold a kernel there; what is missing lies around
it, textured by kind.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise
from typing import TypeVar

from fieldbook.report.drawings.shapes import (
    LINE_HEIGHT,
    Dot,
    Drawing,
    Label,
    Line,
    Rect,
    Shape,
    spread,
    text_width,
    two_lines,
)
from fieldbook.results.yield_result import EarsResult
from fieldbook.words import say, say_count

T = TypeVar("T")

UNSET = "unset"
ABORTED = "aborted"
SCATTERED = "scattered"
SET = "set"

_BAND = 38.0
_HEIGHT = 76.0
_GUTTER = 34.0
_BRACKET = 10.0  # room beside the words that say what the full height means
_MARGIN = 6.0
_KERNEL_LINES = 8
_LEAST_SEEN = 0.5  # kernel places an ear; less is too small a patch to point at
_TICK_EVERY = 10


@dataclass(frozen=True, kw_only=True)
class _Frame:
    """Where the ear lies: n places between two ends."""

    width: float
    start: float
    places: int

    @property
    def slice(self) -> float:
        return (self.width - _MARGIN - self.start) / self.places

    @property
    def middle(self) -> float:
        return _BAND + _HEIGHT / 2

    @property
    def bottom(self) -> float:
        return _BAND + _HEIGHT

    def at(self, place: float) -> float:
        """Left end of a place, counted from 0 at the butt."""
        return self.start + place * self.slice


@dataclass(frozen=True, kw_only=True)
class _Callout:
    """Words that point at the patch of one kind."""

    lines: tuple[str, ...]
    x: float
    y: float

    @property
    def width(self) -> float:
        return max(map(text_width, self.lines))


def draw_ear(
    ears: EarsResult, *, width: float, title: str, about: str, language: str = "en"
) -> Drawing | None:
    """Lay out the ear of a visit.

    Parameters
    ----------
    ears
        Shares by kernel place, butt to tip.
    width
        Width of the drawing. [px]
    title, about
        What the picture shows, for readers that can't see it.
    language
        Language of the labels.

    Returns
    -------
    Drawing or None
        None where no ear was looked at in every part.
    """
    layers = _layers(ears)
    if not ears.share_set or not ears.complete_ears:
        return None
    count = ears.complete_ears
    whole = say_count(count, "the only ear", "all {count} ears", language).split()
    start = max(_GUTTER, _BRACKET + max(map(text_width, whole)))
    frame = _Frame(width=width, start=start, places=len(ears.share_set))
    shapes: list[Shape] = [*_slices(frame, layers), *_kernel_lines(frame, ears.share_set)]
    shapes += _height_mark(frame, whole)
    shapes += _scale(frame, language)
    shapes += _thirds(frame, ears.rings or frame.places, language)
    shapes += _callouts(frame, layers, language)
    height = frame.bottom + 40
    return Drawing(
        name="ear", width=width, height=height, title=title, about=about, shapes=tuple(shapes)
    )


def _layers(ears: EarsResult) -> dict[str, tuple[float, ...]]:
    """Shares by kind, from the middle of the picture outwards; a missing kind is all zero."""
    nothing = (0.0,) * len(ears.share_set)
    return {
        SET: ears.share_set,
        SCATTERED: ears.share_scattered or nothing,
        ABORTED: ears.share_aborted or nothing,
        UNSET: ears.share_unset or nothing,
    }


def _slices(frame: _Frame, layers: dict[str, tuple[float, ...]]) -> Iterator[Rect]:
    """Each slice is mirrored at the middle line, so half of each share lies on either side.

    Neighbours that are alike are one.
    """
    inner = [0.0] * frame.places
    for kind, shares in layers.items():
        heights = [share * _HEIGHT / 2 for share in shares]
        for (within, height), places in _alike([*zip(inner, heights, strict=True)]):
            if height > 0:
                yield from _halves(frame, places, kind, within, height)
        inner = [within + height for within, height in zip(inner, heights, strict=True)]


def _alike(values: Sequence[T]) -> Iterator[tuple[T, range]]:
    """Yield every unbroken stretch of one value, and where it lies."""
    at = 0
    for value, group in groupby(values):
        length = len(list(group))
        yield value, range(at, at + length)
        at += length


def _halves(frame: _Frame, places: range, kind: str, inner: float, height: float) -> Iterator[Rect]:
    x, width = frame.at(places.start), frame.slice * len(places)
    if kind == SET:
        yield Rect(x=x, y=frame.middle - height, width=width, height=2 * height, role=kind)
        return
    for y in (frame.middle - inner - height, frame.middle + inner):
        yield Rect(x=x, y=y, width=width, height=height, role=kind)


def _kernel_lines(frame: _Frame, share_set: Sequence[float]) -> Iterator[Line]:
    """Fine lines between kernels, so that what is set looks like an ear and not like a bar."""
    for place, pair in enumerate(pairwise(share_set), start=1):
        half = min(pair) * _HEIGHT / 2
        if half > 0:
            x = frame.at(place)
            yield Line(x1=x, y1=frame.middle - half, x2=x, y2=frame.middle + half, role="seam")
    for row in range(1, _KERNEL_LINES):
        off = (row / _KERNEL_LINES - 0.5) * _HEIGHT
        reached = [abs(off) < share * _HEIGHT / 2 for share in share_set]
        for is_reached, places in _alike(reached):
            if is_reached:
                x1, x2, y = frame.at(places.start), frame.at(places.stop), frame.middle + off
                yield Line(x1=x1, y1=y, x2=x2, y2=y, role="seam")


def _height_mark(frame: _Frame, words: Sequence[str]) -> Iterator[Shape]:
    """Draw a bracket that says what the full height means, and that height along the ear."""
    x = frame.start - 5
    yield Line(x1=x, y1=_BAND, x2=x, y2=frame.bottom, role="axis")
    for y in (_BAND, frame.bottom):
        yield Line(x1=x, y1=y, x2=x + 3, y2=y, role="axis")
        yield Line(x1=frame.start, y1=y, x2=frame.at(frame.places), y2=y, role="outline")
    for row, word in enumerate(words):
        y = frame.middle + (row - 0.7) * LINE_HEIGHT
        yield Label(x=x - 4, y=y, text=word, anchor="end", role="quiet")


def _scale(frame: _Frame, language: str) -> Iterator[Shape]:
    y = frame.bottom + 6
    end = frame.at(frame.places)
    yield Line(x1=frame.start, y1=y, x2=end, y2=y, role="axis")
    butt = Label(x=frame.start, y=y + 14, text=say("butt", language), role="quiet")
    tip = Label(x=end, y=y + 14, text=say("tip", language), role="quiet", anchor="end")
    yield from (butt, tip)
    for place in range(_TICK_EVERY, frame.places + 1, _TICK_EVERY):
        x = frame.at(place)
        yield Line(x1=x, y1=y, x2=x, y2=y + 4, role="axis")
        label = Label(x=x, y=y + 14, text=str(place), role="quiet", anchor="middle")
        if label.box[0] > butt.box[2] + 4 and label.box[2] < tip.box[0] - 4:
            yield label


def _thirds(frame: _Frame, rings: float, language: str) -> Iterator[Shape]:
    names = ("base third", "middle third", "tip third")
    third = min(rings, frame.places) / 3
    y = frame.bottom + 35
    for number, name in enumerate(names):
        x = frame.at((number + 0.5) * third)
        yield Label(x=x, y=y, text=say(name, language), role="quiet", anchor="middle")
        if number:
            x = frame.at(number * third)
            yield Line(x1=x, y1=frame.bottom + 1, x2=x, y2=frame.bottom + 36, role="third")


_WORDS = {
    UNSET: "never set, or lost in the first days",
    ABORTED: "shrunken: set first, lost later",
    SCATTERED: "gaps among kernels",
}


def _callouts(
    frame: _Frame, layers: dict[str, tuple[float, ...]], language: str
) -> Iterator[Shape]:
    """Words above the ear; leaders keep the order of the patches, so that none cross."""
    made = [
        _callout(frame, kind, layers, say(words, language))
        for kind, words in _WORDS.items()
        if sum(layers[kind]) >= _LEAST_SEEN
    ]
    made.sort(key=lambda callout: callout.x)
    widths = [callout.width for callout in made]
    wanted = [callout.x - width / 2 for callout, width in zip(made, widths, strict=True)]
    lefts = spread(wanted, widths, 2, frame.width - 2, 10)
    for callout, left in zip(made, lefts, strict=True):
        yield from _pointing(callout, left)


def _callout(
    frame: _Frame, kind: str, layers: dict[str, tuple[float, ...]], words: str
) -> _Callout:
    """Point at the tallest slice of a kind, in the half of the ear that holds more of it."""
    shares = layers[kind]
    half = frame.places // 2
    sides = (range(half), range(half, frame.places))
    side = max(sides, key=lambda places: sum(shares[place] for place in places))
    middle = (side.start + side.stop) / 2
    place = max(side, key=lambda place: (round(shares[place], 3), -abs(place - middle)))
    kinds = list(layers)
    inner = sum(layers[name][place] for name in kinds[: kinds.index(kind)])
    y = frame.middle - (inner + shares[place] / 2) * _HEIGHT / 2
    return _Callout(lines=two_lines(words), x=frame.at(place + 0.5), y=y)


def _pointing(callout: _Callout, left: float) -> Iterator[Shape]:
    x = left + callout.width / 2
    below = 10 + (len(callout.lines) - 1) * LINE_HEIGHT
    start = max(left + 4, min(callout.x, left + callout.width - 4))
    yield Line(x1=start, y1=below + 4, x2=callout.x, y2=callout.y, role="leader")
    yield Dot(x=callout.x, y=callout.y, radius=1.8, role="point")
    for row, text in enumerate(callout.lines):
        yield Label(x=x, y=10 + row * LINE_HEIGHT, text=text, anchor="middle")
