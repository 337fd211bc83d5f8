"""Ears as they are on a day: every ring set, never set or lost, silks, length, mould, grain."""

import math
import random
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TypedDict

from fieldbook.simulate.canopy import mould_seen
from fieldbook.simulate.pollen import POSITIONS
from fieldbook.simulate.rings import (
    Plant,
    grain_lb,
    kernel_mg_at,
    kernels_of,
    other_side,
    plant_at,
    rings_on,
)
from fieldbook.simulate.truth import FieldTruth, Ground, ground_of, kernel_share

_SEEN_IN_SHAKE = 16  # days after half silk until silks are too old to tell
_INCHES_A_RING = 0.178
_DEPTH_IN, _DEPTH_FROM_SHARE = 0.5, 0.2
_USUAL_MG = 305.0
_GROWN_AT_SILK, _FULL_LENGTH_D = 0.42, 20  # Otegui and Bonhomme (1998): near 40-45 % at silking
_GRAIN_FROM_MOISTURE = 40.0  # wetter grain is not shelled for a bag


@dataclass(frozen=True, kw_only=True)
class EarState:
    """One husked ear. ``opposite_set`` is None on an even ear; kernels on the bare cob are 0."""

    rows_around: int
    lost_rows: int
    base_blank: int
    kernels_set: int
    opposite_set: int | None
    inside_blank: int
    tip_unset: int
    tip_aborted: int
    no_other_gaps: str | None
    pattern: str
    bare_cob: str | None
    fallen_base_pct: float | None
    fallen_middle_pct: float | None
    fallen_tip_pct: float | None
    all_fallen: str | None
    pale_tip_pct: float | None
    ear_length_in: float
    kernel_depth_in: float | None
    mould: str
    mould_pct: float | None
    grain_weight_lb: float | None
    moisture_pct: float | None

    @property
    def kernels(self) -> float:
        """Count the kernels on the whole ear: an uneven one has two kinds of rows, half of each."""
        other = self.kernels_set if self.opposite_set is None else self.opposite_set
        return (self.rows_around - self.lost_rows) * (self.kernels_set + other) / 2


class _Silks(TypedDict):
    fallen_base_pct: float | None
    fallen_middle_pct: float | None
    fallen_tip_pct: float | None
    all_fallen: str | None
    pale_tip_pct: float | None


_NO_SILKS = _Silks(
    fallen_base_pct=None,
    fallen_middle_pct=None,
    fallen_tip_pct=None,
    all_fallen=None,
    pale_tip_pct=None,
)


class _Mould(TypedDict):
    mould: str
    mould_pct: float | None


class _Grain(TypedDict):
    grain_weight_lb: float | None
    moisture_pct: float | None


def pull_ear(truth: FieldTruth, stop: int, day: date, draw: random.Random) -> EarState:
    """Take one harvestable ear at a stop; each call takes another plant's.

    Rings that will be lost at the tip count as set until their loss shows.
    """
    ground = ground_of(truth, stop)
    plant = plant_at(truth, ground, draw)
    rings = rings_on(truth, plant, day, draw)
    pattern, opposite = other_side(truth, plant, rings, day, draw)
    kernels = kernels_of(plant, rings, opposite)
    return EarState(
        rows_around=plant.rows_around,
        lost_rows=plant.lost_rows,
        base_blank=rings.base_blank,
        kernels_set=rings.kernels_set,
        opposite_set=opposite,
        inside_blank=rings.inside_blank,
        tip_unset=rings.tip_unset,
        tip_aborted=rings.tip_aborted,
        no_other_gaps=None if rings.base_blank or rings.inside_blank else "yes",
        pattern=pattern,
        bare_cob=None if kernels else "yes",
        ear_length_in=_length_in(plant, day, draw),
        kernel_depth_in=_depth_in(truth, day, draw),
        **_shaken(truth, plant, day, draw),
        **_mould(truth, day, draw),
        **_grain(truth, ground, kernels, day, draw),
    )


def _length_in(plant: Plant, day: date, draw: random.Random) -> float:
    age = (day - plant.silked).days / _FULL_LENGTH_D
    grown = max(0.1, min(1.0, _GROWN_AT_SILK + (1 - _GROWN_AT_SILK) * age))
    return round(plant.rings * _INCHES_A_RING * grown * draw.gauss(1, 0.03), 1)


def _depth_in(truth: FieldTruth, day: date, draw: random.Random) -> float | None:
    """Measure the kernel depth [in] from the milk stage on, to a twentieth."""
    share = kernel_share(truth, day)
    if share < _DEPTH_FROM_SHARE:
        return None
    size = math.pow(share * truth.kernel_mg / _USUAL_MG, 1 / 3)
    return round(20 * _DEPTH_IN * size * draw.gauss(1, 0.06)) / 20


_BASE, _MIDDLE, _TIP = slice(0, 11), slice(11, 21), slice(21, POSITIONS)
_NEARLY_ALL_PCT = 90
_PALE_UNTIL_D, _NOT_PALE_D = 7.0, 11.0


def _shaken(truth: FieldTruth, plant: Plant, day: date, draw: random.Random) -> _Silks:
    """Tell the silks that fall when the ear is shaken: 1 to 4 days after pollen reached them."""
    if not plant.silked <= day <= truth.half_silked + timedelta(days=_SEEN_IN_SHAKE):
        return _NO_SILKS
    let_go = day - timedelta(days=draw.randint(1, 4))
    base, middle, tip = (
        _near_five(100 * _pollinated(truth, plant, let_go, part) + draw.gauss(0, 3))
        for part in (_BASE, _MIDDLE, _TIP)
    )
    held = 1 - _pollinated(truth, plant, day, _TIP)
    return _Silks(
        fallen_base_pct=base,
        fallen_middle_pct=middle,
        fallen_tip_pct=tip,
        all_fallen="yes" if min(base, middle, tip) > _NEARLY_ALL_PCT else None,
        pale_tip_pct=min(_near_five(100 * held * _young(truth, plant, day)), 100 - tip),
    )


def _pollinated(truth: FieldTruth, plant: Plant, day: date, part: slice) -> float:
    """Give the share of a part's rings that pollen set by a day, with no silk beyond the arrest."""
    reached = plant.silks_end * POSITIONS
    inside: float = max(0.0, min(1.0, (reached - part.start) / (part.stop - part.start)))
    share = truth.pollination.set_share_by(plant.row, day, part)
    return share * inside * (1 - plant.miss)


def _young(truth: FieldTruth, plant: Plant, day: date) -> float:
    """Give the share of the tip's silks that are still pale."""
    age = (day - plant.silked).days - 0.75 * truth.pollination.span_d
    return max(0.0, min(1.0, (_NOT_PALE_D - age) / (_NOT_PALE_D - _PALE_UNTIL_D)))


def _near_five(pct: float) -> float:
    return float(max(0, min(100, 5 * round(pct / 5))))


def mould_on_ear(truth: FieldTruth, day: date, draw: random.Random) -> str:
    """Find the mould on one ear, "none" on most."""
    seen, left = mould_seen(truth.growth, day), draw.random()
    for kind, share in truth.moulds.items():
        left -= share * seen
        if left < 0:
            return kind
    return "none"


def _mould(truth: FieldTruth, day: date, draw: random.Random) -> _Mould:
    kind = mould_on_ear(truth, day, draw)
    pct = None if kind == "none" else float(max(1, min(80, round(draw.lognormvariate(1.9, 0.8)))))
    return _Mould(mould=kind, mould_pct=pct)


def _grain(
    truth: FieldTruth, ground: Ground, kernels: float, day: date, draw: random.Random
) -> _Grain:
    """Weigh the shelled grain of one ear and its moisture, once it is dry enough to shell."""
    moisture = truth.growth.moisture_pct(day) if day >= truth.stage_days["R6"] else 100.0
    moisture = round(moisture + draw.gauss(0, 0.7), 1)
    if moisture > _GRAIN_FROM_MOISTURE:
        return _Grain(grain_weight_lb=None, moisture_pct=None)
    weight = grain_lb(kernels, kernel_mg_at(truth, ground), moisture) * draw.gauss(1, 0.02)
    return _Grain(grain_weight_lb=round(weight, 2), moisture_pct=moisture)
