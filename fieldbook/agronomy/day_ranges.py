"""Dates of stages without weather: the usual days after silking, from the stages seen."""

import datetime
from collections.abc import Mapping

from fieldbook.agronomy.sightings import Sightings, Window
from fieldbook.agronomy.stage_dates import DAYS, SEEN, Basis, StageDate
from fieldbook.agronomy.stages import R_STAGES, days_after_silk
from fieldbook.figures import Figures


def usual_days(
    sightings: Sightings, dated: Mapping[str, StageDate], figures: Figures
) -> dict[str, StageDate]:
    """Give the usual days after silking to every stage, from the stages seen."""
    window = sightings.silking(figures)
    if window is None:
        return {}
    # A stage cannot come before one that heat has dated.
    floor = max((one.date for one in dated.values() if one.date), default=datetime.date.min)
    return {stage: _day_range(stage, sightings, window, floor, figures) for stage in R_STAGES}


def _day_range(
    stage: str, sightings: Sightings, window: Window, floor: datetime.date, figures: Figures
) -> StageDate:
    rank = R_STAGES.index(stage) + 1
    bounds = sightings.bounds(rank)
    fewest, most = (
        datetime.timedelta(days=days) for days in days_after_silk(stage, figures=figures)
    )
    early = max(_within(window[0] + fewest, *bounds), floor)
    late = max(_within(window[1] + most, *bounds), early)
    last = sightings.last
    now = last is not None and rank == last.rank
    return StageDate(
        stage=stage,
        date=late if now else None,
        earliest=early,
        latest=late,
        basis=Basis(
            kind=SEEN if now else DAYS,
            anchor_stage=last.stage if last else None,
            anchor_date=last.day if last else None,
        ),
    )


def _within(
    day: datetime.date, not_before: datetime.date | None, not_after: datetime.date | None
) -> datetime.date:
    return min(max(day, not_before or day), not_after or datetime.date.max)
