"""Shapes of a drawing, in paint order, and the little layout that all drawings share.

Coordinates are CSS pixels, y down. A shape knows its role (``set``, ``mean``, ``quiet``), not its
colour; the templates give every role its ink.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

TEXT_SIZE = 11.0
SMALL_SIZE = 9.0
LINE_HEIGHT = 13.0
WIDE = 490.0
NARROW = 320.0

_NARROW_LETTERS = frozenset("ijlI.,:;'|!()[] ftr/-")
_WIDE_LETTERS = frozenset("mwMWOQGDHNU%@&")
_BOLD = 1.09
_STEPS = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 25, 50, 100, 200, 500)


@dataclass(frozen=True, kw_only=True)
class Rect:
    """A filled rectangle."""

    x: float
    y: float
    width: float
    height: float
    role: str
    kind: str = "rect"


@dataclass(frozen=True, kw_only=True)
class Line:
    """A straight line."""

    x1: float
    y1: float
    x2: float
    y2: float
    role: str
    kind: str = "line"


@dataclass(frozen=True, kw_only=True)
class Dot:
    """A circle."""

    x: float
    y: float
    radius: float
    role: str
    kind: str = "dot"


@dataclass(frozen=True, kw_only=True)
class Area:
    """A filled shape between corners, in their order."""

    points: tuple[tuple[float, float], ...]
    role: str
    kind: str = "area"


@dataclass(frozen=True, kw_only=True)
class Label:
    """One line of text; ``y`` is its base line, ``anchor`` start, middle or end."""

    x: float
    y: float
    text: str
    role: str = "text"
    anchor: str = "start"
    size: float = TEXT_SIZE
    bold: bool = False
    kind: str = "label"

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom of the text, a little on the large side."""
        width = text_width(self.text, self.size, bold=self.bold)
        left = self.x - {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor] * width
        return left, self.y - 0.8 * self.size, left + width, self.y + 0.25 * self.size


Shape = Rect | Line | Dot | Area | Label


@dataclass(frozen=True, kw_only=True)
class Drawing:
    """A drawing: its size, its shapes in paint order, and what it says to who can't see it."""

    name: str
    width: float
    height: float
    title: str
    about: str
    shapes: tuple[Shape, ...]

    @property
    def runs(self) -> tuple[tuple[Shape, ...], ...]:
        """Shapes of one kind and role that follow each other, for one stroke of the pen.

        Labels come last: nothing is painted over them, and ticks of an axis follow each other.
        """
        labels_last = sorted(self.shapes, key=lambda shape: shape.kind == "label")
        alike = groupby(labels_last, key=lambda shape: (shape.kind, shape.role))
        return tuple(tuple(run) for _, run in alike)

    @property
    def labels(self) -> tuple[Label, ...]:
        """Only the texts."""
        return tuple(shape for shape in self.shapes if isinstance(shape, Label))

    @property
    def rects(self) -> tuple[Rect, ...]:
        """Only the rectangles."""
        return tuple(shape for shape in self.shapes if isinstance(shape, Rect))

    @property
    def dots(self) -> tuple[Dot, ...]:
        """Only the circles."""
        return tuple(shape for shape in self.shapes if isinstance(shape, Dot))


@dataclass(frozen=True, kw_only=True)
class Scale:
    """A straight line from values to coordinates."""

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        """Return the coordinate of a value."""
        share = (value - self.low) / (self.high - self.low)
        return self.start + share * (self.end - self.start)


def text_width(text: str, size: float = TEXT_SIZE, *, bold: bool = False) -> float:
    """Guess how wide a text runs in the shipped font, rather too wide than too narrow."""
    ems = sum(_letter_em(letter) for letter in text)
    return ems * size * (_BOLD if bold else 1.0)


def _letter_em(letter: str) -> float:
    if letter in _NARROW_LETTERS:
        return 0.36
    if letter in _WIDE_LETTERS:
        return 0.82
    return 0.66 if letter.isupper() else 0.6


def two_lines(text: str) -> tuple[str, ...]:
    """Break a text into two lines of about one length, or leave a single word."""
    words = text.split()
    splits = [(" ".join(words[:at]), " ".join(words[at:])) for at in range(1, len(words))]
    return min(splits, key=lambda pair: max(map(text_width, pair)), default=(text,))


def spread(
    wanted: Sequence[float], widths: Sequence[float], low: float, high: float, gap: float
) -> list[float]:
    """Move boxes apart, in their order, as little as it takes to fit between two ends.

    Parameters
    ----------
    wanted
        Left ends, rising. [px]
    widths
        Widths, one a box. [px]
    low, high
        Where the first may begin and the last must end. [px]
    gap
        Space between two boxes. [px]

    Returns
    -------
    list of float
        Left ends. [px]
    """
    lefts: list[float] = []
    least = low
    for left, width in zip(wanted, widths, strict=True):
        lefts.append(max(left, least))
        least = lefts[-1] + width + gap
    most = high
    for at in range(len(lefts) - 1, -1, -1):
        lefts[at] = min(lefts[at], most - widths[at])
        most = lefts[at] - gap
    return lefts


def rows_apart(spans: Sequence[tuple[float, float]], gap: float) -> list[int]:
    """Give each span the first row in which it touches no other; spans rise by their start."""
    ends: list[float] = []
    rows: list[int] = []
    for start, end in spans:
        free = (row for row, taken in enumerate(ends) if taken + gap <= start)
        row = next(free, len(ends))
        ends[row : row + 1] = [end]
        rows.append(row)
    return rows


def inside(left: float, width: float, low: float, high: float) -> float:
    """Return the left end nearest to the wanted one that keeps a box between two ends."""
    return max(low, min(left, high - width))


def round_ticks(low: float, high: float, most: int) -> list[float]:
    """Return round numbers, about `most` of them, that hold all values between first and last."""
    for step in _STEPS:
        first, last = math.floor(low / step), math.ceil(high / step)
        if last - first < most:
            break
    return [number * step for number in range(first, max(last, first + 1) + 1)]
