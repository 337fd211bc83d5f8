"""What a scout could see standing at a stop, and from the field's edge.

A state holds all that could be looked at; what a round asks for, and what a scout leaves out, is
not decided here. None: there is nothing to see at that time.
"""

import math
import random
from dataclasses import dataclass
from datetime import date, timedelta

from fieldbook.simulate.canopy import fired_leaves
from fieldbook.simulate.truth import FieldTruth, Ground, ground_of, kernel_share, stage_on

PLANTS_LOOKED_AT = 20
_STAND_SHARE = 0.5  # of the field's spread that shows in the stand
_COUNT_SD = 0.8  # plants in 1/1000 ac beside the stop's own mean: planters space evenly
_MOST_BARREN = 0.9
_JUDGED = 0.85  # chance that a scout judges the kernels rightly
_JUDGED_FROM_SHARE = 0.2  # of a kernel's final weight
_FAIR_MG = (268, 312)  # kernels between these are average ones
_SHARE_OF_NONE = 0.002  # so few that none of 20 has it
LATE_SILKS_D = 7
_CLIPPED_UNTIL_D, _BEETLES_UNTIL_D = 12, 21
_PEST_SHARE = 0.12


@dataclass(frozen=True, kw_only=True)
class FieldState:
    """What is seen of the whole field; ``silked`` is of 20 plants."""

    stage: str
    silked: int
    milk_line: str | None
    grain_fill: str | None


@dataclass(frozen=True, kw_only=True)
class StopState:
    """What is at a stop; plants, ears and barren ones on 1/1000 acre.

    ``stop_stage`` is only given where it is not the field's.
    """

    place: str
    length_ft: float | None
    plants: int
    ears: int
    barren: int
    tassel: str | None
    silked: int
    silk_length_in: float | None
    beetles: int
    beetles_on: str | None
    pest: str | None
    pest_plants: int | None
    lowest_green_leaf: str
    leaf_rolling: str | None
    silk_colour: str | None
    stop_stage: str | None


def see_field(truth: FieldTruth, day: date, draw: random.Random) -> FieldState:
    """Look at a field as a whole: its stage, silks, milk line and how kernels fill."""
    return FieldState(
        stage=stage_on(truth, day),
        silked=_count(PLANTS_LOOKED_AT, _silked_share(truth, day), draw),
        milk_line=_milk_line(truth, day),
        grain_fill=_grain_fill(truth, day, draw),
    )


def see_stop(truth: FieldTruth, stop: int, day: date, draw: random.Random) -> StopState:
    """Stand at a stop.

    Parameters
    ----------
    stop : int
        Its number: the ground of a stop is the same at every visit.
    draw : random.Random
        For what differs from visit to visit: which plants are looked at.
    """
    ground = ground_of(truth, stop)
    local = day - timedelta(days=round(ground.late_d + ground.behind_d))
    local_stage = stage_on(truth, local)
    plants, barren = _stand(truth, ground, draw)
    beetles = _beetles(truth, day, draw)
    pest = _pest(truth, day, draw)
    return StopState(
        place=ground.place,
        length_ft=None,
        plants=plants,
        ears=plants - barren,
        barren=barren,
        tassel=_tassel(truth, local),
        silked=_count(PLANTS_LOOKED_AT, _silked_share(truth, local), draw),
        silk_length_in=_silk_length_in(truth, local, draw),
        beetles=beetles,
        beetles_on=f"{truth.plot.trouble.beetles or 'rootworm'}-ear" if beetles else None,
        pest=pest,
        pest_plants=_count(PLANTS_LOOKED_AT, 0.15, draw) or 1 if pest else None,
        lowest_green_leaf=_lowest_green(truth, day, draw),
        leaf_rolling=_rolling(truth, day, ground),
        silk_colour=_silk_colour(truth, local),
        stop_stage=None if local_stage == stage_on(truth, day) else local_stage,
    )


def _count(of: int, share: float, draw: random.Random) -> int:
    if share < _SHARE_OF_NONE:
        return 0
    return sum(draw.random() < share for _ in range(of))


def mean_stand(truth: FieldTruth, ground: Ground) -> tuple[float, float]:
    """Give the plants on 1/1000 acre at a stop, and the share of them without an ear."""
    spread = truth.plot.spread_between_stops
    thicker = math.exp(_STAND_SHARE * spread * ground.thicker)
    barren = truth.barren * math.exp(-4 * spread * ground.better)
    return truth.plot.stand_per_ac / 1000 * ground.stand * thicker, min(_MOST_BARREN, barren)


def _stand(truth: FieldTruth, ground: Ground, draw: random.Random) -> tuple[int, int]:
    mean, barren = mean_stand(truth, ground)
    plants = max(1, round(draw.gauss(mean, _COUNT_SD)))
    return plants, _count(plants, barren, draw)


def _silked_share(truth: FieldTruth, day: date) -> float:
    """Give the share of plants with silks: normal about the field's day, and a late part.

    Counted at midday, so that the share is half on the day of R1.
    """
    pollination = truth.pollination
    past = (day - pollination.half_silked).days
    late = truth.plot.trouble.late_silks
    usual = _normal(past / pollination.silk_sd_d)
    return (1 - late) * usual + late * _normal((past - LATE_SILKS_D) / pollination.silk_sd_d)


def _normal(z: float) -> float:
    return 0.5 * (1 + math.erf(z / math.sqrt(2)))


# Anthers open in this order from a plant's first day on: common practice.
_TASSEL_FROM_D = ((0, "not-yet"), (1, "middle"), (3, "whole-spike"), (6, "branches"))


def _tassel(truth: FieldTruth, day: date) -> str | None:
    """Read the tassel of most plants; None before the tassel is out and long after it is spent."""
    usual_first = truth.first_pollen + timedelta(days=round(2 * truth.pollination.silk_sd_d))
    if day < truth.stage_days["VT"] or day > truth.stage_days["R3"]:
        return None
    age = (day - usual_first).days
    return next((name for until, name in _TASSEL_FROM_D if age < until), "finished")


def _silk_length_in(truth: FieldTruth, day: date, draw: random.Random) -> float | None:
    """Measure silks out of the husk [in].

    They grow 1.5 in on their first day (Purdue), less by the day, until pollen reaches them.
    """
    age = (day - truth.half_silked).days
    if age < 0 or day >= truth.stage_days["R3"]:
        return None
    row, base = truth.pollination.earliness_row(0), slice(8, 16)
    grown = 0.3
    for past in range(min(age, 10)):
        free = 1 - truth.pollination.set_share_by(
            row, truth.half_silked + timedelta(days=past - 1), base
        )
        grown += 1.5 * (1 - past / 10) * free
    left = 1 - 1.6 * truth.plot.trouble.clipping if age <= _CLIPPED_UNTIL_D else 1.0
    return round(max(0.1, grown * max(0.1, left) * draw.gauss(1, 0.1)) * 4) / 4


def _beetles(truth: FieldTruth, day: date, draw: random.Random) -> int:
    """Count beetles an ear, for three weeks from the first silks."""
    age = (day - truth.first_silk).days
    if not 0 <= age <= _BEETLES_UNTIL_D:
        return 0
    mean = 0.2 + 11 * truth.plot.trouble.clipping
    return round(draw.gammavariate(2.0, mean / 2.0))


_PESTS_BY_STAGE = {
    "VT": ("aphids", "western-bean-cutworm"),
    "R1": ("aphids", "western-bean-cutworm"),
    "R2": ("earworm", "western-bean-cutworm", "aphids"),
    "R3": ("earworm", "fall-armyworm", "stink-bugs", "mites"),
    "R4": ("earworm", "fall-armyworm", "mites"),
}


def _pest(truth: FieldTruth, day: date, draw: random.Random) -> str | None:
    names = _PESTS_BY_STAGE.get(stage_on(truth, day), ())
    return draw.choice(names) if names and draw.random() < _PEST_SHARE else None


def _lowest_green(truth: FieldTruth, day: date, draw: random.Random) -> str:
    fired = max(0, round(fired_leaves(truth.plot, truth.growth, day) + draw.gauss(0, 0.5)))
    below = 6 - min(6, fired)
    return f"below-{below}" if below else "ear-leaf"


def _rolling(truth: FieldTruth, day: date, ground: Ground) -> str | None:
    """Say when leaves roll: the drier, the earlier in the day; ripe leaves tell nothing."""
    if day >= truth.stage_days["R6"]:
        return None
    dry = truth.growth.dry(day - timedelta(days=2), day) - 0.05 * ground.better
    steps = ((0.15, "none"), (0.4, "afternoon"), (0.65, "midday"), (0.85, "morning"))
    return next((name for below, name in steps if dry < below), "all-day")


def _silk_colour(truth: FieldTruth, day: date) -> str | None:
    if not truth.first_silk <= day < truth.stage_days["R5"]:
        return None
    age = (day - truth.half_silked).days
    steps = ((2, "green"), (6, "pale"), (12, "brown-ends"))
    return next((name for until, name in steps if age < until), "brown")


_MILK_LINES = ((0.1, "none"), (0.38, "quarter"), (0.62, "half"), (0.9, "three-quarters"))


def _milk_line(truth: FieldTruth, day: date) -> str | None:
    """Say where the milk line stands between dent and black layer; None outside of these."""
    if stage_on(truth, day) not in {"R5", "R6"}:
        return None
    start = truth.growth.filled(truth.stage_days["R5"])
    down = (truth.growth.filled(day) - start) / max(0.01, 1 - start)
    return next((name for below, name in _MILK_LINES if down < below), "base")


def _grain_fill(truth: FieldTruth, day: date, draw: random.Random) -> str | None:
    """Say how kernels fill, as a scout judges it from the milk stage on; sometimes one off."""
    if kernel_share(truth, day) < _JUDGED_FROM_SHARE:
        return None
    names = ("poor", "average", "good")
    at = sum(truth.kernel_mg > above for above in _FAIR_MG)
    if draw.random() > _JUDGED:
        at += draw.choice((-1, 1))
    return names[max(0, min(2, at))]
