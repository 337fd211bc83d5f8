"""What visits saw that fits a reading of a gap or speaks against it, with its day."""

import datetime
from collections.abc import Iterator
from dataclasses import dataclass

from fieldbook.agronomy.gap_looks import FlowerLooks
from fieldbook.agronomy.ranges import DayRange
from fieldbook.agronomy.timing import POLLEN_BROKEN, POLLEN_ENDED, POLLEN_LATE, SILKS_LOST

NOT_YET_SHEDDING, SHED_AT_SILKING = "not-yet-shedding", "shed-at-silking"
SHED_OVER, STILL_SHEDDING = "shed-over", "still-shedding"
SILKS_CLIPPED, MANY_BEETLES, SILKS_WHOLE = "silks-clipped", "many-beetles", "silks-whole"


@dataclass(frozen=True, kw_only=True)
class Sign:
    """What was seen on a day, and whether it fits a reading of a gap or speaks against it."""

    reading: str
    seen: str
    day: datetime.date
    fits: bool


def signs(reading: str, days: DayRange, saw: FlowerLooks) -> tuple[Sign, ...]:
    """Return what visits saw that bears on a reading; empty for most.

    Parameters
    ----------
    days
        The days that the reading points to.
    """
    told = {
        POLLEN_LATE: _late,
        POLLEN_ENDED: _ended,
        POLLEN_BROKEN: _clipped,
        SILKS_LOST: _lost,
    }.get(reading)
    if told is None:
        return ()
    return tuple(
        Sign(reading=reading, seen=seen, day=day, fits=fits)
        for seen, day, fits in told(days, saw)
        if day is not None
    )


_Told = Iterator[tuple[str, datetime.date | None, bool]]


def _late(days: DayRange, saw: FlowerLooks) -> _Told:
    if saw.late is not None:
        yield NOT_YET_SHEDDING, saw.not_yet, True
        yield SHED_AT_SILKING, saw.shed_early, False


def _ended(days: DayRange, saw: FlowerLooks) -> _Told:
    yield SHED_OVER, saw.finished, True
    if saw.late:
        yield NOT_YET_SHEDDING, saw.not_yet, False
    elif saw.shed_last and days.latest and saw.shed_last > days.latest:
        yield STILL_SHEDDING, saw.shed_last, False


def _clipped(days: DayRange, saw: FlowerLooks) -> _Told:
    yield from _lost(days, saw)
    if not saw.silks_at_risk:
        yield SILKS_WHOLE, saw.whole, False


def _lost(days: DayRange, saw: FlowerLooks) -> _Told:
    # Whole silks speak against clipping, and not against heat that dried the first ones.
    yield SILKS_CLIPPED, saw.clipped, True
    if not saw.clipped:
        yield MANY_BEETLES, saw.beetles, True
