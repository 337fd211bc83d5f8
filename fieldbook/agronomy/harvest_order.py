"""Which field to harvest first: failing stalks, then mouldy ears, then moisture (derived).

The one published step is that a field over 10 % goes among the first.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import zip_longest
from math import inf

from fieldbook.agronomy.wilson import ABOVE, BELOW, CANNOT_TELL, Share, change, told
from fieldbook.figures import Figures, shipped_figures

STALKS, MOULD, MOISTURE = "stalks", "mould", "moisture"


@dataclass(frozen=True, kw_only=True)
class Ripening:
    """What is known of a field before harvest; None: not looked at."""

    field_id: str
    stalks: Share | None = None
    mould: Share | None = None
    moisture_pct: float | None = None


@dataclass(frozen=True, kw_only=True)
class Turn:
    """A field's turn, from 1.

    ``reasons`` are keys. ``ahead_by`` is what puts it before the next field, None for the last
    one and where nothing does; ``ahead_for_sure`` whether that difference can be told, which it
    never can for moisture: one reading has no interval.
    """

    turn: int
    field_id: str
    reasons: tuple[str, ...]
    ahead_by: str | None
    ahead_for_sure: bool


def harvest_order(
    fields: Iterable[Ripening], *, figures: Figures | None = None
) -> tuple[Turn, ...]:
    """Return the fields in the order to harvest them.

    Fields over the stalk line come first, most failures first; then those over the mould line,
    most mould first; then the driest. A field that was not looked at counts as not over a line,
    which its reasons say. Equal fields stand by their id.
    """
    known = figures or shipped_figures()
    queue = sorted(fields, key=lambda one: (*_rank(one, known), one.field_id))
    return tuple(
        _turn(number, one, after, known)
        for number, (one, after) in enumerate(zip_longest(queue, queue[1:]), start=1)
    )


def _rank(one: Ripening, figures: Figures) -> tuple[float, float, float]:
    dry = inf if one.moisture_pct is None else one.moisture_pct
    return -_over(one, STALKS, figures), -_over(one, MOULD, figures), dry


def _over(one: Ripening, what: str, figures: Figures) -> float:
    """Return the share where it is over its line, else nothing: under it, it does not rank."""
    found = _share(one, what)
    return found.pct if found and found.pct > _line(what, figures) else 0.0


def _turn(number: int, one: Ripening, after: Ripening | None, figures: Figures) -> Turn:
    ahead_by = None if after is None else _ahead_by(one, after, figures)
    return Turn(
        turn=number,
        field_id=one.field_id,
        reasons=tuple(_reasons(one, figures)),
        ahead_by=ahead_by,
        ahead_for_sure=after is not None and _surely(one, after, ahead_by),
    )


def _ahead_by(one: Ripening, after: Ripening, figures: Figures) -> str | None:
    pairs = zip(_rank(one, figures), _rank(after, figures), (STALKS, MOULD, MOISTURE), strict=True)
    return next((what for mine, next_one, what in pairs if mine != next_one), None)


def _surely(one: Ripening, after: Ripening, what: str | None) -> bool:
    """Return whether the share of the field ahead is told from that of the next."""
    if what not in (STALKS, MOULD):
        return False
    mine, next_one = _share(one, what), _share(after, what)
    if mine is None or next_one is None:
        return False
    return change(next_one, mine).told == ABOVE


def _reasons(one: Ripening, figures: Figures) -> Iterable[str]:
    for what in (STALKS, MOULD):
        found = _share(one, what)
        side = told(found, _line(what, figures)) if found else None
        words = {
            ABOVE: f"{what}-over-line",
            BELOW: f"{what}-under-line",
            CANNOT_TELL: f"{what}-near-line",
            None: f"{what}-not-looked-at",
        }
        yield words[side]
    if one.moisture_pct is None:
        yield "moisture-not-measured"


def _share(one: Ripening, what: str) -> Share | None:
    return one.stalks if what == STALKS else one.mould


def _line(what: str, figures: Figures) -> float:
    return figures.number(f"{what}.line_pct")
