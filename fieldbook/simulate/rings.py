"""The plant behind an ear, and what became of each ring of the ear: set, never set or lost."""

import math
import random
from dataclasses import dataclass
from datetime import date, timedelta

from fieldbook.simulate.stops import LATE_SILKS_D
from fieldbook.simulate.truth import FieldTruth, Ground

_MARKET_MOISTURE = 15.5
_MG_PER_LB = 453592.37
_WHISKER = 0.003  # a kernel missed here and there on the best of ears
_EDGE_SD_D = 0.5  # of the day on which silks stop, between plants
_OWN_LUCK = 0.2  # share of rings whose luck is not the whole ear's
_ROWS_BESIDE = (-2, 0, 0, 0, 0, 0, 2)
_LOST_ROWS = 0.01  # share of ears
_SETTLED_D = 14  # days after half silk from which no ring is set any more
_SCATTERED_FROM = 0.12  # of the rings


@dataclass(frozen=True, kw_only=True)
class Rings:
    """Rings along one row, by what became of them; the sum is the ear's ring count."""

    base_blank: int
    kernels_set: int
    inside_blank: int
    tip_unset: int
    tip_aborted: int


@dataclass(frozen=True, kw_only=True)
class Plant:
    """The plant that an ear stands on: when it silked, and what its ear could carry."""

    row: int
    silked: date
    rings: int
    rows_around: int
    lost_rows: int
    miss: float
    silks_end: float
    lost_share: float


def kernels_on_an_ear(truth: FieldTruth, ground: Ground, draw: random.Random) -> float:
    """Kernels on one harvestable ear at harvest."""
    plant = plant_at(truth, ground, draw)
    ripe = truth.stage_days["R6"]
    rings = rings_on(truth, plant, ripe, draw)
    _, opposite = other_side(truth, plant, rings, ripe, draw)
    return kernels_of(plant, rings, opposite)


def kernels_of(plant: Plant, rings: Rings, opposite_set: int | None) -> float:
    """Count the kernels of an ear: an uneven one has two kinds of rows, half of each."""
    other = rings.kernels_set if opposite_set is None else opposite_set
    return (plant.rows_around - plant.lost_rows) * (rings.kernels_set + other) / 2


def kernel_mg_at(truth: FieldTruth, ground: Ground) -> float:
    """Give the final weight of a kernel at a stop at 15.5 % moisture [mg]."""
    return truth.kernel_mg * (1 + 0.3 * truth.plot.spread_between_stops * ground.better)


def plant_at(truth: FieldTruth, ground: Ground, draw: random.Random) -> Plant:
    """Choose a plant with an ear at a stop."""
    plot, pollination = truth.plot, truth.pollination
    spread = plot.spread_between_stops
    z = draw.gauss(0, 1)
    if draw.random() < plot.trouble.late_silks:
        z += LATE_SILKS_D / pollination.silk_sd_d
    late_d = z * pollination.silk_sd_d + ground.late_d
    silked_d = round(late_d + ground.behind_d)
    rings = _mean_rings(truth, ground) * draw.gauss(1, 0.05)
    arrest = pollination.arrest_d + draw.gauss(6 * spread * ground.better, _EDGE_SD_D)
    losses = truth.losses.aborted + truth.losses.looks_unset
    return Plant(
        row=pollination.earliness_row(late_d / pollination.silk_sd_d),
        silked=pollination.half_silked + timedelta(days=silked_d),
        rings=max(8, round(rings)),
        rows_around=plot.rows_around + draw.choice(_ROWS_BESIDE),
        lost_rows=draw.choice((1, 2)) if draw.random() < _LOST_ROWS else 0,
        miss=_WHISKER + _missed_by_clipping(plot.trouble.clipping, draw),
        silks_end=pollination.silks_end_at(arrest),
        lost_share=losses * math.exp(-3 * spread * ground.better) * draw.gammavariate(4, 0.25),
    )


def _mean_rings(truth: FieldTruth, ground: Ground) -> float:
    """Mean rings of an ear at a stop."""
    return truth.rings * (1 + 0.5 * truth.plot.spread_between_stops * ground.better)


def _missed_by_clipping(clipping: float, draw: random.Random) -> float:
    return min(0.95, clipping * draw.gammavariate(3, 1 / 3)) if clipping else 0.0


def rings_on(truth: FieldTruth, plant: Plant, day: date, draw: random.Random) -> Rings:
    """Count the rings of one row of an ear; those still to be lost count as set."""
    filled = _filled(truth, plant, day, draw)
    if not any(filled):
        return Rings(
            base_blank=0, kernels_set=0, inside_blank=0, tip_unset=plant.rings, tip_aborted=0
        )
    first, last = filled.index(True), plant.rings - 1 - filled[::-1].index(True)
    lost = round(plant.rings * plant.lost_share * _loss_shown(truth, day))
    end, gone = last + 1, 0
    while gone < lost and end > first + 1:
        end -= 1
        gone += filled[end]
    kernels = sum(filled[first:end])
    early = truth.losses.looks_unset / (truth.losses.looks_unset + truth.losses.aborted)
    aborted = round(gone * (1 - early))
    return Rings(
        base_blank=first,
        kernels_set=kernels,
        inside_blank=end - first - kernels,
        tip_unset=plant.rings - end - aborted,
        tip_aborted=aborted,
    )


def _filled(truth: FieldTruth, plant: Plant, day: date, draw: random.Random) -> list[bool]:
    """Say for each ring from the butt whether pollen set it by a day.

    Rings of one ear mostly share their luck, so that a gap has an edge; each ring's chance stays.
    """
    pollination = truth.pollination
    at = (day - pollination.half_silked).days
    chances = (
        pollination.set_at_last[plant.row]
        if at >= _SETTLED_D
        else pollination.chances_by(plant.row, day)
    )
    reached = round(plant.rings * plant.silks_end)
    step, hit, roll = len(chances) / plant.rings, 1 - plant.miss, draw.random
    shared = roll()
    filled = [
        (roll() if roll() < _OWN_LUCK else shared) < chances[int(ring * step)] and roll() < hit
        for ring in range(reached)
    ]
    return filled + [False] * (plant.rings - reached)


def _loss_shown(truth: FieldTruth, day: date) -> float:
    since = (day - truth.half_silked).days - truth.losses.from_d
    return max(0.0, min(1.0, since / (truth.losses.until_d - truth.losses.from_d)))


def other_side(
    truth: FieldTruth, plant: Plant, rings: Rings, day: date, draw: random.Random
) -> tuple[str, int | None]:
    """Say how the gaps lie, and the kernels of the opposite row where it differs."""
    if rings.kernels_set and draw.random() < truth.plot.trouble.one_sided:
        lost = draw.uniform(0.3, 0.65) * _loss_shown(truth, day)
        if lost:
            return "one-sided", round(rings.kernels_set * (1 - lost))
    if rings.inside_blank > _SCATTERED_FROM * plant.rings:
        return "scattered", rings_on(truth, plant, day, draw).kernels_set
    return "even", None


def grain_lb(kernels: float, kernel_mg: float, moisture_pct: float) -> float:
    """Weigh kernels at a moisture [lb], from a kernel's weight at 15.5 % [mg]."""
    dry = 1 - _MARKET_MOISTURE / 100
    return kernels * kernel_mg * dry / (1 - moisture_pct / 100) / _MG_PER_LB
