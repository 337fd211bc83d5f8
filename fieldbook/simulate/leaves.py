"""What a scout could see on leaves, and on stalks and opened ears before harvest."""

import random
from collections import Counter
from dataclasses import dataclass
from datetime import date

from fieldbook.simulate.canopy import THIRD_BELOW, Epidemic, failing_stalks
from fieldbook.simulate.ears import mould_on_ear
from fieldbook.simulate.rings import grain_lb, kernel_mg_at, kernels_on_an_ear
from fieldbook.simulate.truth import FieldTruth, ground_of

_PATCHINESS = 0.6  # log odds of a stop's incidence, standard deviation
_BAG_EARS = 10
_BAG_BELOW_PCT = 40.0
_LOWEST = "lower"


@dataclass(frozen=True, kw_only=True)
class LeafState:
    """One disease at a stop, counted over the plants looked at."""

    disease: str
    looked: int
    with_it: int
    high: int
    highest_leaf: str
    severity_pct: float


@dataclass(frozen=True, kw_only=True)
class StalkState:
    """Stalks tried and ears opened at a stop; what lodged and dropped is of the stalks tried."""

    tried: int
    failed: int
    root_lodged: int
    stalk_lodged: int
    dropped_ears: int
    ears_opened: int
    ears_mouldy: int
    mould: str
    bag_ears: int | None
    bag_grain_lb: float | None
    bag_moisture_pct: float | None


def look_at_leaves(
    truth: FieldTruth, stop: int, day: date, draw: random.Random, *, plants: int = 20
) -> tuple[LeafState, ...]:
    """Look at some plants at a stop; one state for each disease found, none where clean."""
    patch = _PATCHINESS * ground_of(truth, stop).patch
    seen = (_leaf(one, day, draw, plants=plants, patch=patch) for one in truth.leaves)
    return tuple(state for state in seen if state is not None)


def _leaf(
    one: Epidemic, day: date, draw: random.Random, *, plants: int, patch: float
) -> LeafState | None:
    with_it = _hits(plants, one.incidence(day, patch=patch), draw)
    if not with_it:
        return None
    severity = one.severity_pct(day) * draw.lognormvariate(0, 0.25)
    return LeafState(
        disease=one.infection.disease,
        looked=plants,
        with_it=with_it,
        high=_hits(with_it, one.high_share(day), draw),
        highest_leaf=_leaf_name(round(one.top_leaf(day))),
        severity_pct=round(severity) if severity >= 1 else round(severity, 1),
    )


def _hits(of: int, share: float, draw: random.Random) -> int:
    return sum(draw.random() < share for _ in range(of))


def _leaf_name(level: int) -> str:
    if level < THIRD_BELOW:
        return _LOWEST
    if level == 0:
        return "ear-leaf"
    return f"above-{level}" if level > 0 else f"below-{-level}"


def try_stalks(
    truth: FieldTruth, stop: int, day: date, draw: random.Random, *, stalks: int = 20
) -> StalkState:
    """Push some stalks and open as many ears at a stop; shell ten into a bag once they are ripe."""
    ground = ground_of(truth, stop)
    failing = failing_stalks(truth.plot, truth.growth, day, patch=ground.patch)
    failed = _hits(stalks, failing, draw)
    found = Counter(mould_on_ear(truth, day, draw) for _ in range(stalks))
    mouldy = stalks - found.pop("none", 0)
    ears, grain, moisture = _bag(truth, stop, day, draw)
    return StalkState(
        tried=stalks,
        failed=failed,
        root_lodged=_hits(stalks, 0.005 + 0.05 * failing, draw),
        stalk_lodged=_hits(failed, 0.25, draw),
        dropped_ears=_hits(stalks, 0.003 + 0.04 * failing, draw),
        ears_opened=stalks,
        ears_mouldy=mouldy,
        mould=found.most_common(1)[0][0] if mouldy else "none",
        bag_ears=ears,
        bag_grain_lb=grain,
        bag_moisture_pct=moisture,
    )


def _bag(
    truth: FieldTruth, stop: int, day: date, draw: random.Random
) -> tuple[int | None, float | None, float | None]:
    """Ears in the bag, their grain [lb] and its moisture [%]."""
    moisture = truth.growth.moisture_pct(day)
    if day < truth.stage_days["R6"] or moisture > _BAG_BELOW_PCT:
        return None, None, None
    ground = ground_of(truth, stop)
    moisture = round(moisture + draw.gauss(0, 0.4), 1)
    kernels = sum(kernels_on_an_ear(truth, ground, draw) for _ in range(_BAG_EARS))
    weight = grain_lb(kernels, kernel_mg_at(truth, ground), moisture)
    return _BAG_EARS, round(weight * draw.gauss(1, 0.01), 2), moisture
