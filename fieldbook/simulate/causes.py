"""Fields with a planted cause of missing kernels, ear by ear and ring by ring.

Each field draws its own silks, ears and pollen over the published ranges, evenly and without
regard to any typical value; plants, stops and single silks differ on top of that. Times are days,
with 0 the midnight that begins the day on which half of the plants have silked. Pollen falls in
the mornings. Numbers without a source are assumed.
"""

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fieldbook.simulate.misread import misread
from fieldbook.simulate.rings import Rings

LATE, ENDED, STOPPED = "pollen-late", "pollen-ended", "silks-stopped"
CLIPPED, SHORT, NOTHING = "silks-clipped", "short-after-set", "nothing"
THREE_LATE = "pollen-three-days-late"
PAIRS = ((LATE, SHORT), (CLIPPED, SHORT), (ENDED, CLIPPED))
"""Causes that can meet in one field and both leave a mark on its ears."""

STOPS, EARS_A_STOP, PLANTS_A_STOP = 5, 5, 20
_MORNINGS = np.arange(-8, 32) + 0.42
_NOON = 0.5
_HITS = 0.97  # chance of an open silk to be pollinated on a morning with enough pollen
_RINGS_SD = 0.05
_REMNANT = 0.5  # chance that a ring lost at an ordinary tip leaves something to be seen
_RINGS_AN_INCH = 5.0

Times = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Planted:
    """What one field is, whatever anybody sees of it. Days and moments count from R1's midnight.

    Attributes
    ----------
    half_at
        The moment at which half of the plants have silked, in day 0.
    plant_sd_d, stop_sd_d
        Standard deviations of first silk between plants of a stop and between stops [days].
    span_d, bend, first_position, base_lag_d
        First to last silk of an ear [days], how much slower it gets to the tip, where along the
        ear it begins, and how much later the butt follows [days].
    receptive_d, fade_d
        How long silks take pollen, and the standard deviation between silks [days].
    arrest_lead_d, arrest_sd_d
        How long before silk growth stops a silk must be out, and how plants differ [days].
    first_pollen, last_pollen
        First and last day with enough pollen; ``stray`` is a silk's chance on other mornings.
    arrest_at
        Days from a plant's first silk until its silks stop growing; None: they do not.
    clipped
        First and last day of clipping, and the share of the open silks lost by it.
    short_at, lost_share, lasting_d, seen_from_d
        The moment of the shortage, the share of rings that it takes from the tip, the age from
        which kernels stay, and the age from which their remnants can be seen [days].
    bare_tip, butt_blank, missed
        What is usual: rings lost at the tip, rings bare at the butt, share missed anywhere.
    """

    causes: tuple[str, ...]
    half_at: float
    rings: float
    plant_sd_d: float
    stop_sd_d: float
    span_d: float
    bend: float
    first_position: float
    base_lag_d: float
    receptive_d: float
    fade_d: float
    arrest_lead_d: float
    arrest_sd_d: float
    first_pollen: int
    last_pollen: int
    stray: float
    bare_tip: float
    butt_blank: float
    missed: float
    lasting_d: float
    seen_from_d: float
    arrest_at: float | None = None
    clipped: tuple[int, int, float] | None = None
    short_at: float | None = None
    lost_share: float = 0.0

    def day_of(self, cause: str) -> int:
        """Return the day after R1 on which a planted cause falls.

        The first day of enough pollen, its last day, the day on which silks stop growing, the
        middle day of clipping, the day of the shortage.
        """
        if cause in (LATE, THREE_LATE):
            return self.first_pollen
        if cause == ENDED:
            return self.last_pollen
        if cause == STOPPED and self.arrest_at is not None:
            return int((self.half_at + self.arrest_at) // 1)
        if cause == CLIPPED and self.clipped is not None:
            return (self.clipped[0] + self.clipped[1]) // 2
        if cause == SHORT and self.short_at is not None:
            return int(self.short_at // 1)
        raise ValueError(f"{cause!r} is not planted here")


@dataclass(frozen=True, kw_only=True)
class ReadEar:
    """An ear as a scout counts it; None is a bare cob."""

    stop: int
    rings: Rings | None


def plant(causes: Sequence[str], *, seed: str) -> Planted:
    """Make a field with the given causes; the same seed makes the same field."""
    draw = random.Random(f"{seed}/{'+'.join(causes)}/field")
    even = draw.uniform
    # First to last silk 3-8 days, 4 and 8 measured in two hybrids; first ones on flowers 6-15 of
    # about 40; silks take pollen for 5-10 days, 7 measured (Bassetti and Westgate 1993, Thomison,
    # Nielsen). 33 and 46 rings measured (Carcova et al. 2003), up to 50 claimed.
    field = Planted(
        causes=tuple(causes),
        half_at=even(0, 1),
        rings=even(33, 50),
        plant_sd_d=even(1.0, 2.2),
        stop_sd_d=even(0.0, 0.6),
        span_d=even(3, 8),
        bend=even(1.0, 1.3),
        first_position=even(0.15, 0.38),
        base_lag_d=even(0, 1),
        receptive_d=even(5, 10),
        fade_d=even(0.2, 0.8),
        arrest_lead_d=even(1.7, 2.3),
        arrest_sd_d=even(0.2, 0.5),
        first_pollen=draw.randint(-4, -1),
        last_pollen=draw.randint(11, 14),
        stray=even(0, 0.01),
        # About an inch of bare tip is common (Ohio State; Nafziger, Illinois).
        bare_tip=_RINGS_AN_INCH * even(0.1, 0.9),
        butt_blank=even(0, 1.2),
        missed=even(0, 0.02),
        lasting_d=even(16, 22),
        seen_from_d=even(2, 7),
    )
    for cause in causes:
        field = replace(field, **_PLANTS[cause](draw))
    return field


def _late(draw: random.Random) -> dict[str, Any]:
    first = draw.randint(8, 11)
    return {"first_pollen": first, "last_pollen": first + draw.randint(8, 12)}


def _clipping(draw: random.Random) -> dict[str, Any]:
    return {"clipped": (draw.randint(1, 2), draw.randint(4, 5), draw.uniform(0.3, 0.8))}


def _shortage(draw: random.Random) -> dict[str, Any]:
    return {"short_at": draw.uniform(8, 21), "lost_share": draw.uniform(0.15, 0.4)}


_PLANTS: Mapping[str, Any] = {
    NOTHING: lambda draw: {},
    THREE_LATE: lambda draw: {"first_pollen": 3},
    LATE: _late,
    ENDED: lambda draw: {"last_pollen": draw.randint(2, 5) - 1},
    STOPPED: lambda draw: {"arrest_at": draw.uniform(2, 4)},
    CLIPPED: _clipping,
    SHORT: _shortage,
}


def read_ears(field: Planted, *, seed: str) -> tuple[ReadEar, ...]:
    """Take five ears at each of five stops and count them with a scout's errors."""
    rng = generator(field, seed, 1)
    late = rng.normal(0, field.stop_sd_d, STOPS)
    return tuple(
        ReadEar(stop=stop + 1, rings=misread(_ear(field, late[stop], rng), rng))
        for stop in range(STOPS)
        for _ in range(EARS_A_STOP)
    )


def count_silks(field: Planted, *, seed: str) -> tuple[tuple[int, int, int], ...]:
    """Count plants with silks on two days at noon: the day after R1, plants with silks, plants."""
    rng = generator(field, seed, 2)
    late = rng.normal(0, field.stop_sd_d, STOPS)
    first = int(rng.integers(-2, 1))
    visits = (first, first + int(rng.integers(2, 4)))
    plants = STOPS * PLANTS_A_STOP
    out = [
        field.half_at + np.repeat(late, PLANTS_A_STOP) + rng.normal(0, field.plant_sd_d, plants)
        for _ in visits
    ]
    return tuple(
        (day, int((silked <= day + _NOON).sum()), plants)
        for day, silked in zip(visits, out, strict=True)
    )


def generator(field: Planted, seed: str, use: int) -> np.random.Generator:
    """Return the random numbers of one use of a field; the same seed gives the same ones."""
    text = f"{seed}/{'+'.join(field.causes)}/{use}"
    return np.random.default_rng(list(text.encode()))


def silk_ages(field: Planted, positions: Times) -> Times:
    """Return the days from a plant's first silk to that of each position, 0 butt to 1 tip."""
    start = field.first_position
    up = np.clip((positions - start) / (1 - start), 0, None) ** field.bend
    down = np.clip((start - positions) / start, 0, None)
    return field.span_d * up + field.base_lag_d * down


def _ear(field: Planted, late_d: float, rng: np.random.Generator) -> Rings:
    """Grow one ear of a plant at a stop that silks so many days after the field."""
    count = max(20, round(field.rings * rng.normal(1, _RINGS_SD)))
    positions = (np.arange(count) + 0.5) / count
    first = field.half_at + late_d + rng.normal(0, field.plant_sd_d)
    ages = silk_ages(field, positions) * rng.normal(1, 0.06)
    set_at = _set_at(field, first + ages, rng)
    if field.arrest_at is not None:
        reach = field.arrest_at - field.arrest_lead_d + rng.normal(0, field.arrest_sd_d)
        set_at[ages > reach] = np.inf
    set_at[: rng.poisson(field.butt_blank)] = np.inf
    return _count(*_tip_losses(field, set_at, rng))


def _set_at(field: Planted, out: Times, rng: np.random.Generator) -> Times:
    """Return the moment at which each ring is set; without end where it never is."""
    shape = (len(out), len(_MORNINGS))
    enough = (field.first_pollen <= _MORNINGS) & (field.last_pollen + 1 > _MORNINGS)
    hits = rng.random(shape) < np.where(enough, _HITS, field.stray)
    until = out + np.maximum(1, rng.normal(field.receptive_d, field.fade_d, len(out)))
    open_ = (out[:, None] <= _MORNINGS) & (until[:, None] > _MORNINGS)
    at = np.where(hits & open_, _MORNINGS, np.inf).min(axis=1)
    lost = rng.random(len(out)) < field.missed
    if field.clipped is not None:
        begin, end, share = field.clipped
        # What is pollinated before the clipping is safe; what is out or comes out is not.
        at_risk = (out < end + 1) & (at >= begin)
        lost |= at_risk & (rng.random(len(out)) < share)
    return np.where(lost, np.inf, at)


def _tip_losses(
    field: Planted, set_at: Times, rng: np.random.Generator
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Take rings back from the tip: what is usual, and what a shortage costs.

    Returns the rings that hold a kernel and those that hold a remnant to be seen.
    """
    kept = np.isfinite(set_at)
    remnant = np.zeros(len(kept), dtype=bool)
    if field.short_at is not None:
        age = field.short_at - set_at
        most = round(len(kept) * field.lost_share * rng.gamma(8, 1 / 8))
        lost = _from_tip(kept & (age < field.lasting_d), most)
        kept = kept & ~lost
        remnant |= lost & (age >= field.seen_from_d)
    bare = round(field.bare_tip * rng.gamma(6, 1 / 6))
    usual = np.arange(len(kept)) >= len(kept) - bare
    remnant |= usual & kept & (rng.random(len(kept)) < _REMNANT)
    return kept & ~usual, remnant


def _from_tip(able: NDArray[np.bool_], most: int) -> NDArray[np.bool_]:
    from_tip = np.cumsum(able[::-1])[::-1]
    return able & (from_tip <= most)


def _count(kept: NDArray[np.bool_], remnant: NDArray[np.bool_]) -> Rings:
    at = np.flatnonzero(kept)
    if not len(at):
        return Rings(
            base_blank=0, kernels_set=0, inside_blank=0, tip_unset=len(kept), tip_aborted=0
        )
    first, last = int(at[0]), int(at[-1])
    aborted = int(remnant[last + 1 :].sum())
    return Rings(
        base_blank=first,
        kernels_set=len(at),
        inside_blank=last + 1 - first - len(at),
        tip_unset=len(kept) - last - 1 - aborted,
        tip_aborted=aborted,
    )
