"""What visits saw of a field's stage, and what that says about the days of every stage."""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

from fieldbook.agronomy.stages import BEFORE_SILK, R_STAGES, days_after_silk
from fieldbook.figures import Figures

Window = tuple[datetime.date, datetime.date]
_DAY = datetime.timedelta(days=1)
_LAST_RANK = len(R_STAGES)


@dataclass(frozen=True, kw_only=True)
class Sighting:
    """A stage seen on a day; ``rank`` is 0 before silking, 1 to 6 for R1 to R6."""

    day: datetime.date
    stage: str
    rank: int


@dataclass(frozen=True, kw_only=True)
class Sightings:
    """Sightings in the order of days, none of them ahead of a later one."""

    kept: tuple[Sighting, ...] = ()

    @classmethod
    def of(cls, seen: Sequence[tuple[datetime.date, str]], as_of: datetime.date) -> "Sightings":
        """Keep what was seen up to a day and is not overruled by a later visit.

        A crop does not go back, so an earlier sighting of a later stage was a mistake. Of two on
        one day the last one given stands.

        Raises
        ------
        ValueError
            For an unknown stage.
        """
        by_day = {day: Sighting(day=day, stage=stage, rank=_rank(stage)) for day, stage in seen}
        kept: list[Sighting] = []
        for day in sorted(by_day, reverse=True):
            if day <= as_of and (not kept or by_day[day].rank <= kept[-1].rank):
                kept.append(by_day[day])
        return cls(kept=tuple(reversed(kept)))

    @property
    def last(self) -> Sighting | None:
        """The sighting that anchors."""
        return self.kept[-1] if self.kept else None

    def bounds(self, rank: int) -> tuple[datetime.date | None, datetime.date | None]:
        """Return the first and the last day on which a stage can have been reached.

        A stage seen on a day was reached by then, and the next one was not. A field before
        silking may still silk on that very day.
        """
        before = [one.day + _DAY * (one.rank > 0) for one in self.kept if one.rank < rank]
        reached = [one.day for one in self.kept if one.rank >= rank]
        return max(before, default=None), min(reached, default=None)

    def silking(self, figures: Figures) -> Window | None:
        """Return the days between which silking fell, by the usual days after silking.

        None unless a stage of grain fill was seen. Where visits do not fit together by those
        days, the last one alone decides.
        """
        windows = [_silking(one, figures) for one in self.kept if one.rank > 0]
        if not windows:
            return None
        not_before = [one.day for one in self.kept if one.rank == 0]
        first = max([start for start, _ in windows] + not_before)
        last = min(end for _, end in windows)
        return (first, last) if first <= last else windows[-1]


def _silking(one: Sighting, figures: Figures) -> Window:
    fewest, _ = days_after_silk(R_STAGES[one.rank - 1], figures=figures)
    following = R_STAGES[min(one.rank, _LAST_RANK - 1)]
    # At black layer there is no next stage to bound it, so its own most days do.
    _, most = days_after_silk(following, figures=figures)
    until_next = most - 1 if one.rank < _LAST_RANK else most
    return one.day - _DAY * until_next, one.day - _DAY * fewest


def _rank(stage: str) -> int:
    if stage in BEFORE_SILK:
        return 0
    if stage not in R_STAGES:
        raise ValueError(f"no stage {stage!r}")
    return R_STAGES.index(stage) + 1
