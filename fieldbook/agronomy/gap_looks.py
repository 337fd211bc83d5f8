"""What visits saw while a field flowered that bears on its gaps: pollen, and silks clipped short.

Ears tell of a gap long after it was made. Tassels, silks and beetles seen on known days fit some
readings of it and speak against others. They are no proof either: heat kills pollen that tassels
shed as ever, and nobody saw the days between the visits. The lines are assumed.
"""

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby
from statistics import fmean

from fieldbook.agronomy.ranges import DayRange, Triple
from fieldbook.agronomy.tassel import FINISHED, NOT_YET, READINGS
from fieldbook.figures import Figures, shipped_figures

_SHEDDING = tuple(one for one in READINGS if one not in (NOT_YET, FINISHED))


@dataclass(frozen=True, kw_only=True)
class StopLook:
    """What one stop showed on a day while it flowered; None is not looked at.

    ``tassel`` is that of most plants, one of `READINGS`; silks of most ears are
    ``silk_length_in`` out of the husk [in]; ``beetles`` is a mean over ears or plants.

    Raises
    ------
    ValueError
        For another reading of the tassel.
    """

    stop: int
    day: datetime.date
    tassel: str | None = None
    silk_length_in: float | None = None
    beetles: float | None = None

    def __post_init__(self) -> None:
        """Refuse an unknown reading."""
        if self.tassel is not None and self.tassel not in READINGS:
            raise ValueError(f"no tassel reading {self.tassel!r}")


@dataclass(frozen=True, kw_only=True)
class FlowerLooks:
    """Days on which visits saw what bears on a gap; None: no visit saw it.

    Attributes
    ----------
    not_yet
        The last day on which half of the stops or more did not shed yet, after half of the
        plants had silked.
    shed_early
        The first day on which half of the stops or more shed, while the first silks took pollen.
    shed_last
        The last day on which half of the stops or more shed.
    finished
        The first day on which half of the stops or more were finished, and stayed so, before the
        last silks were out.
    clipped
        The first day on which silks were clipped short, with beetles on them.
    beetles
        The first day on which as many beetles sat on the silks as clip them short.
    whole
        The last day on which silks were measured and not clipped short.
    """

    not_yet: datetime.date | None = None
    shed_early: datetime.date | None = None
    shed_last: datetime.date | None = None
    finished: datetime.date | None = None
    clipped: datetime.date | None = None
    beetles: datetime.date | None = None
    whole: datetime.date | None = None

    @property
    def late(self) -> bool | None:
        """Whether tassels fit late pollen; None where they tell nothing, or both."""
        if bool(self.not_yet) == bool(self.shed_early):
            return None
        return self.not_yet is not None

    @property
    def silks_at_risk(self) -> bool:
        """Whether silks were seen clipped, or beetles enough to clip them."""
        return bool(self.clipped or self.beetles)


def flower_looks(
    looks: Iterable[StopLook], silked: DayRange, *, figures: Figures | None = None
) -> FlowerLooks:
    """Sum up what visits saw while a field flowered.

    Fresh silks are short too, so they count as clipped only from the day after silking on, and
    only where beetles sit on them.

    Parameters
    ----------
    silked
        The days on which half of the plants had silked; with an open end there is nothing to hold
        the days against.
    """
    first, last = silked.earliest, silked.latest
    if first is None or last is None:
        return FlowerLooks()
    known = figures or shipped_figures()
    takes = first + _days(Triple.of("silk.receptive_days", known).low)
    all_out = last + _days(Triple.of("silk.span_days", known).typical)
    days = _by_day(looks)
    not_yet = [day for day, some in days if _most(some, NOT_YET)]
    shed = [day for day, some in days if _most(some, *_SHEDDING)]
    going_on = max((day for day in (*not_yet, *shed)), default=first)
    done = [day for day, some in days if _most(some, FINISHED) and going_on < day <= all_out]
    grown = [(day, some) for day, some in days if day > last and _silks_and_beetles(some)]
    short = [day for day, some in grown if _clipped(some, known)]
    beetles = [day for day, some in days if day >= first and _many_beetles(some, known)]
    return FlowerLooks(
        not_yet=max((day for day in not_yet if day >= last), default=None),
        shed_early=min((day for day in shed if day <= takes), default=None),
        shed_last=max(shed, default=None),
        finished=min(done, default=None),
        clipped=min(short, default=None),
        beetles=min(beetles, default=None),
        whole=max((day for day, _ in grown if day not in short), default=None),
    )


def _days(count: float) -> datetime.timedelta:
    return datetime.timedelta(days=int(count))


def _by_day(looks: Iterable[StopLook]) -> list[tuple[datetime.date, list[StopLook]]]:
    ordered = sorted(looks, key=lambda one: one.day)
    return [(day, list(some)) for day, some in groupby(ordered, key=lambda one: one.day)]


def _most(looks: Sequence[StopLook], *readings: str) -> bool:
    read = [one.tassel in readings for one in looks if one.tassel is not None]
    return bool(read) and sum(read) * 2 >= len(read)


def _silks_and_beetles(looks: Sequence[StopLook]) -> bool:
    return bool(_lengths(looks) and _beetles(looks))


def _lengths(looks: Sequence[StopLook]) -> list[float]:
    return [one.silk_length_in for one in looks if one.silk_length_in is not None]


def _beetles(looks: Sequence[StopLook]) -> list[float]:
    return [one.beetles for one in looks if one.beetles is not None]


def _clipped(looks: Sequence[StopLook], figures: Figures) -> bool:
    line = figures.number("clipping.silk_length_in")
    short = fmean(length <= line for length in _lengths(looks))
    beetles = fmean(_beetles(looks)) >= figures.number("cause.some_beetles")
    return beetles and short >= figures.number("cause.short_silks_least_share")


def _many_beetles(looks: Sequence[StopLook], figures: Figures) -> bool:
    seen = _beetles(looks)
    return bool(seen) and fmean(seen) >= figures.number("cause.clipping_beetles")
