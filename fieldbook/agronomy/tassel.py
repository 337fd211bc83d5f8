"""When the tassels of a field shed pollen, from what was seen at each stop on each visit.

A reading tells on which day of its shed a tassel is, and so on which days it can have begun. A
further visit can only narrow that. Readings that cannot both be right are handed back; until they
are sorted out, the stop's range covers each of them alone.
"""

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby

from fieldbook.agronomy.ranges import DayRange, hull, meet
from fieldbook.figures import Figures, shipped_figures

NOT_YET, MIDDLE, WHOLE_SPIKE = "not-yet", "middle", "whole-spike"
BRANCHES, FINISHED = "branches", "finished"
READINGS = (NOT_YET, MIDDLE, WHOLE_SPIKE, BRANCHES, FINISHED)
GOES_BACK, DAYS_DO_NOT_FIT = "goes-back", "days-do-not-fit"
_DAY = datetime.timedelta(days=1)


@dataclass(frozen=True, kw_only=True)
class TasselReading:
    """What the tassels of a stop showed on a day; ``reading`` is one of `READINGS`.

    Raises
    ------
    ValueError
        For another reading.
    """

    stop: int
    day: datetime.date
    reading: str

    def __post_init__(self) -> None:
        """Refuse an unknown reading."""
        if self.reading not in READINGS:
            raise ValueError(f"no tassel reading {self.reading!r}")


@dataclass(frozen=True, kw_only=True)
class TasselConflict:
    """Two readings of a stop that cannot both be right, the earlier one first.

    ``kind`` is ``goes-back`` where the tassels would have gone back, else ``days-do-not-fit``.
    """

    kind: str
    first: TasselReading
    second: TasselReading


@dataclass(frozen=True, kw_only=True)
class StopShed:
    """The days on which the tassels of a stop can have begun to shed."""

    stop: int
    began: DayRange
    conflicts: tuple[TasselConflict, ...]


@dataclass(frozen=True, kw_only=True)
class ShedWindow:
    """When a field shed pollen.

    ``start`` is when the first plants of the first stop began, ``half`` when most plants at half
    of the stops had, ``end`` the last day of pollen anywhere in the field.
    """

    start: DayRange
    half: DayRange
    end: DayRange
    stops: tuple[StopShed, ...]

    @property
    def conflicts(self) -> tuple[TasselConflict, ...]:
        """All readings that cannot both be right."""
        return tuple(one for stop in self.stops for one in stop.conflicts)


def first_shed(reading: TasselReading, *, figures: Figures | None = None) -> DayRange:
    """Return the days on which a tassel read so can have begun to shed.

    The reading gives the day of its shed, give or take a day; not yet shedding bounds the first
    day from below, finished from above. The day numbers are common practice, marked assumed.
    """
    known = figures or shipped_figures()
    if reading.reading == NOT_YET:
        return DayRange(earliest=reading.day + _DAY)
    shortest, longest = known.numbers("tassel.plant_shed_days")
    if reading.reading == FINISHED:
        return DayRange(latest=reading.day - _DAY * int(shortest))
    fewest, most = _shed_days(reading.reading, longest, known)
    slack = known.number("tassel.slack_days")
    return DayRange(earliest=reading.day, latest=reading.day).moved(
        1 - most - slack, min(1 - fewest + slack, 0)
    )


def stop_shed(readings: Sequence[TasselReading], *, figures: Figures | None = None) -> StopShed:
    """Return when one stop began to shed, from all its readings.

    Raises
    ------
    ValueError
        For no readings or readings of several stops.
    """
    if len({one.stop for one in readings}) != 1:
        raise ValueError("readings of exactly one stop are needed")
    ordered = sorted(readings, key=lambda one: one.day)
    ranges = [first_shed(one, figures=figures) for one in ordered]
    conflicts = _conflicts(ordered, ranges)
    shared = None if conflicts else meet(ranges)
    return StopShed(stop=ordered[0].stop, began=shared or hull(ranges), conflicts=tuple(conflicts))


def shed_window(
    readings: Iterable[TasselReading], *, figures: Figures | None = None
) -> ShedWindow | None:
    """Return when a field shed pollen; None without a reading.

    A reading is of most plants, so the first ones of the field may have begun sooner, by up to
    half of what a field's longest shed leaves beside a plant's shortest (derived). The last pollen
    falls no sooner than half of a field's fewest days after most plants of the last stop began,
    and no later than a plant's and a field's most days. A stop still shedding moves the end on;
    where every stop is finished only the last plants are left.
    """
    known = figures or shipped_figures()
    ordered = sorted(readings, key=lambda one: (one.stop, one.day))
    if not ordered:
        return None
    stops = tuple(
        stop_shed(list(group), figures=known)
        for _, group in groupby(ordered, key=lambda one: one.stop)
    )
    starts = [stop.began.earliest for stop in stops], [stop.began.latest for stop in stops]
    first_stop = DayRange(
        earliest=_least(starts[0], open_end=True), latest=_least(starts[1], open_end=False)
    )
    start = first_stop.moved(-_plant_lead(known), 0)
    half = DayRange(earliest=_middle(starts[0], before=True), latest=_middle(starts[1]))
    return ShedWindow(start=start, half=half, end=_end(start, starts, ordered, known), stops=stops)


def _shed_days(reading: str, longest: float, figures: Figures) -> tuple[float, float]:
    """Return the first and the last day of its shed that a reading can stand for."""
    if reading == BRANCHES:
        return figures.number("tassel.branches_first_day"), longest
    key = "middle" if reading == MIDDLE else "whole_spike"
    fewest, most = figures.numbers(f"tassel.{key}_days")
    return fewest, most


def _conflicts(
    ordered: Sequence[TasselReading], ranges: Sequence[DayRange]
) -> list[TasselConflict]:
    found = []
    pairs = zip(ordered, ranges, strict=True)
    for index, (second, late) in enumerate(pairs):
        for first, early in zip(ordered[:index], ranges[:index], strict=True):
            if READINGS.index(second.reading) < READINGS.index(first.reading):
                found.append(TasselConflict(kind=GOES_BACK, first=first, second=second))
            elif meet([early, late]) is None:
                found.append(TasselConflict(kind=DAYS_DO_NOT_FIT, first=first, second=second))
    return found


def _least(days: Sequence[datetime.date | None], *, open_end: bool) -> datetime.date | None:
    """Return the first of the days; an unknown one is open if it could come before them."""
    if open_end and not all(days):
        return None
    return min((day for day in days if day), default=None)


def _middle(days: Sequence[datetime.date | None], *, before: bool = False) -> datetime.date | None:
    """Return the day by which half of the days have come; an unknown one lies at the open end."""
    edge = datetime.date.min if before else datetime.date.max
    day = sorted(one or edge for one in days)[(len(days) - 1) // 2]
    return None if day == edge else day


def _end(
    start: DayRange,
    starts: tuple[Sequence[datetime.date | None], Sequence[datetime.date | None]],
    readings: Sequence[TasselReading],
    figures: Figures,
) -> DayRange:
    fewest, most = figures.numbers("tassel.field_shed_days")
    _, longest = figures.numbers("tassel.plant_shed_days")
    begun = max((day for day in starts[0] if day), default=None)
    shedding = [one.day for one in readings if one.reading in READINGS[1:-1]]
    early = [begun and begun + _DAY * int(fewest / 2), *shedding]
    earliest = max((day for day in early if day), default=None)
    known = [day for day in starts[1] if day]
    late = [] if len(known) < len(starts[1]) else [max(known) + _DAY * int(longest - 1)]
    if late and start.latest:
        late = [max(late[0], start.latest + _DAY * int(most - 1))]
    finished = _all_finished(readings)
    if finished:
        late.append(finished + _DAY * int(_plant_lead(figures)))
    latest = min(late, default=None)
    if earliest and latest:
        earliest = min(earliest, latest)
    return DayRange(earliest=earliest, latest=latest)


def _plant_lead(figures: Figures) -> float:
    """Return how far the first plants can be ahead of most, and the last ones behind.

    Half of what the longest shed of a field leaves beside the shortest shed of a plant.
    """
    return (
        figures.numbers("tassel.field_shed_days")[1] - figures.numbers("tassel.plant_shed_days")[0]
    ) / 2


def _all_finished(readings: Sequence[TasselReading]) -> datetime.date | None:
    """Return the day before the last stop was found finished; None while one still sheds."""
    last = [list(group)[-1] for _, group in groupby(readings, key=lambda one: one.stop)]
    if any(one.reading != FINISHED for one in last):
        return None
    return max(one.day for one in last) - _DAY
