"""The whole truth of a field in a season, and how the ground differs from stop to stop."""

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache

from fieldbook.simulate.canopy import Epidemic, epidemics, mould_shares
from fieldbook.simulate.growth import Growth, along, grow_stages
from fieldbook.simulate.place import Plot
from fieldbook.simulate.pollen import Losses, Pollination, pollinate, tip_losses
from fieldbook.simulate.weather import Day

STAGES = ("VT", "R1", "R2", "R3", "R4", "R5", "R6")


@dataclass(frozen=True, kw_only=True, eq=False)
class FieldTruth:
    """What is so in one field, whatever anybody sees of it.

    ``rings`` and ``kernel_mg`` (at 15.5 % moisture) are means after the season's stress;
    ``moulds`` are the final shares of ears.
    """

    plot: Plot
    seed: str
    growth: Growth
    pollination: Pollination
    losses: Losses
    rings: float
    kernel_mg: float
    barren: float
    leaves: tuple[Epidemic, ...]
    moulds: Mapping[str, float]

    @property
    def stage_days(self) -> Mapping[str, date]:
        """Give the first day of VE, VT and R1 to R6: half of the plants are there."""
        return self.growth.stage_days

    @property
    def first_pollen(self) -> date:
        """Give the day on which the first plants shed."""
        return self.pollination.first_pollen

    @property
    def last_pollen(self) -> date:
        """Give the day on which the last plants shed."""
        return self.pollination.last_pollen

    @property
    def first_silk(self) -> date:
        """Give the day on which about one plant in 40 has silks."""
        return self.pollination.first_silk

    @property
    def half_silked(self) -> date:
        """Give the day on which half of the plants have silks."""
        return self.pollination.half_silked


@dataclass(frozen=True, kw_only=True)
class Ground:
    """What is peculiar to one stop, the same at every visit.

    ``better`` and ``thicker`` are in standard deviations of the field. Plants silk ``late_d``
    days late under the field's pollen; where they are ``behind_d`` they bring their own.
    """

    place: str
    better: float
    thicker: float
    late_d: float
    behind_d: float
    stand: float
    patch: float


@dataclass(frozen=True, kw_only=True)
class _Place:
    stand: float = 1.0
    better: float = 0.0
    behind_d: float = 0.0


_PLACES = {
    "interior": _Place(),
    "edge": _Place(stand=0.9, better=-2.5),
    "end-rows": _Place(stand=0.82, better=-2.5),
    "low-ground": _Place(stand=0.6, better=-4.0, behind_d=2),
    "replant": _Place(stand=0.8, better=-2.0, behind_d=14),
}


def grow(plot: Plot, weather: Sequence[Day], *, seed: str) -> FieldTruth:
    """Let a season happen in a field; the same plot, weather and seed give the same truth.

    Raises
    ------
    ValueError
        When the weather does not run from planting to black layer, a hard freeze or 1 November.
    """
    draw = random.Random(f"{seed}/{plot.field_id}")
    growth = grow_stages(plot, weather, draw)
    pollination = pollinate(plot, growth, draw)
    leaves = epidemics(plot.trouble.infections, growth)
    return FieldTruth(
        plot=plot,
        seed=seed,
        growth=growth,
        pollination=pollination,
        losses=tip_losses(plot, growth),
        rings=plot.rings * draw.gauss(1, 0.02) * (1 - 0.12 * _dry_while_rings_form(growth)),
        kernel_mg=_kernel_mg(plot, growth, pollination, leaves) * draw.gauss(1, 0.04),
        barren=min(0.6, 0.015 + plot.trouble.barren + 0.08 * _dry_at_silking(growth)),
        leaves=leaves,
        moulds=mould_shares(plot, growth),
    )


def _dry_while_rings_form(growth: Growth) -> float:
    tassel = growth.stage_days["VT"]
    return growth.dry(tassel - timedelta(days=25), tassel)


def _dry_at_silking(growth: Growth) -> float:
    silk = growth.stage_days["R1"]
    return growth.dry(silk - timedelta(days=10), silk + timedelta(days=8))


# Share of a kernel's weight by share of the filling heat: near Afuakwa and Crookston (1984), who
# found 55 % lost in the dough, 40 % at dent and 12 % at half milk.
_WEIGHT = ((0.0, 0.0), (0.22, 0.1), (0.47, 0.45), (0.66, 0.63), (0.85, 0.89), (1.0, 1.0))


def _kernel_mg(
    plot: Plot, growth: Growth, pollination: Pollination, leaves: Sequence[Epidemic]
) -> float:
    """Weight of a kernel at 15.5 % moisture [mg]: fewer kernels make each a little heavier."""
    silk, ripe = growth.stage_days["R1"], growth.stage_days["R6"]
    dry = growth.dry(silk + timedelta(days=15), ripe)
    blight = sum(one.leaf_loss(growth.stage_days["R5"]) for one in leaves)
    roomy = 1 + 0.15 * (1 - pollination.mean_set())
    weak = 1 - 0.22 * dry - 0.1 * plot.trouble.nitrogen_short - 0.5 * min(0.6, blight)
    return plot.kernel_mg * roomy * weak * along(_WEIGHT, growth.filled(ripe))


def kernel_share(truth: FieldTruth, day: date) -> float:
    """Give the share of its final weight that a kernel has on a day."""
    end = along(_WEIGHT, truth.growth.filled(truth.stage_days["R6"]))
    return min(1.0, along(_WEIGHT, truth.growth.filled(day)) / end)


@lru_cache(maxsize=512)
def ground_of(truth: FieldTruth, stop: int) -> Ground:
    """Give a stop's own ground: from the stop's number and the field's seed alone."""
    draw = random.Random(f"{truth.seed}/{truth.plot.field_id}/{stop}")
    name = truth.plot.place_of(stop)
    place = _PLACES[name]
    better = draw.gauss(0, 1)
    return Ground(
        place=name,
        better=better + place.better,
        thicker=draw.gauss(0, 1),
        late_d=draw.gauss(0, 0.6) - 0.3 * better,
        behind_d=place.behind_d,
        stand=place.stand,
        patch=draw.gauss(0, 1),
    )


def stage_on(truth: FieldTruth, day: date) -> str:
    """Name the stage that half of the plants have reached: V, VT, R1 to R6."""
    reached = [stage for stage in STAGES if truth.stage_days[stage] <= day]
    return reached[-1] if reached else "V"
