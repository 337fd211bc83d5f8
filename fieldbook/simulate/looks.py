"""What a scout sees at a planted field's stops while it flowers: tassels, silks, beetles.

Drawn from what the field is, with a scout's errors. It does not always show: pollen that heat
kills leaves tassels as they were, and beetles also come to silks that have their pollen. Numbers
without a source are assumed.
"""

from dataclasses import dataclass

import numpy as np

from fieldbook.simulate.causes import (
    CLIPPED,
    ENDED,
    LATE,
    PLANTS_A_STOP,
    STOPS,
    Planted,
    Times,
    generator,
)

TASSELS = ("not-yet", "middle", "whole-spike", "branches", "finished")
_UNTIL_SHARE = (0.0, 0.2, 0.5, 1.0)  # of a plant's own shed, where each reading ends
_FIFTH_SD = 0.84  # standard deviations from the first fifth of a normal to its middle
_MISREAD = 0.12  # chance that a tassel is read as the class beside it
_HIDDEN = 0.15  # of the fields whose pollen came late or ended, tassels tell nothing of it
_IDLE_BEETLES = 0.15  # of the fields without clipping, beetles sit on the silks
_HARMLESS_AFTER_D = 3  # such beetles clip only silks that have had their pollen
_EARS_MEASURED = 10
_QUARTER_IN = 4.0


@dataclass(frozen=True, kw_only=True)
class Look:
    """One stop on one day: the tassel of most plants, silks of most ears [in], beetles an ear.

    ``silk_length_in`` is None before there are silks.
    """

    stop: int
    day: int
    tassel: str
    silk_length_in: float | None
    beetles: float


@dataclass(frozen=True, kw_only=True, eq=False)
class _Flowering:
    """How a field looks while it flowers; days count from R1's midnight.

    Half of the plants have begun to shed at ``half_d``, with a standard deviation of ``sd_d``,
    each for ``shed_d`` days; ``shift_d`` is how much later a stop is. Beetles sit on silks from
    one day to another, so many an ear; ``idle`` ones do no harm.
    """

    half_d: float
    sd_d: float
    shed_d: float
    shift_d: Times
    beetles: tuple[float, float, float]
    idle: bool


def look_at_stops(field: Planted, day: int, *, seed: str) -> tuple[Look, ...]:
    """Stand at every stop at noon of a day, counted from R1; the same field every time."""
    flowering = _flowering(field, generator(field, seed, 3))
    rng = generator(field, f"{seed}/{day}", 4)
    return tuple(
        Look(
            stop=stop + 1,
            day=day,
            tassel=_tassel(flowering, day + 0.5 - flowering.shift_d[stop], rng),
            silk_length_in=_silks(field, flowering, day + 0.5 - flowering.shift_d[stop], rng),
            beetles=_beetles(flowering, day, rng),
        )
        for stop in range(STOPS)
    )


def _flowering(field: Planted, rng: np.random.Generator) -> _Flowering:
    first, last = float(field.first_pollen), field.last_pollen + 1.0
    if rng.random() < _HIDDEN:
        # Heat or soaking kills the pollen of these days; the tassels shed as ever.
        if LATE in field.causes:
            first, last = rng.uniform(-4, 0), rng.uniform(9, 14)
        if ENDED in field.causes:
            last = rng.uniform(8, 14)
    # Pollen is enough while at least a fifth of the plants shed; a plant does for 10 days at most
    # (Pfahler 1986), and what is left after that comes from a few late ones.
    sd = min(rng.uniform(1, 2.2), (last - first) / 4)
    shed = float(np.clip(last - first - 2 * _FIFTH_SD * sd, 1, 10))
    idle = CLIPPED not in field.causes and bool(rng.random() < _IDLE_BEETLES)
    return _Flowering(
        half_d=first + _FIFTH_SD * sd,
        sd_d=sd,
        shed_d=shed,
        shift_d=rng.normal(0, field.stop_sd_d, STOPS),
        beetles=_sitting(field, idle, rng),
        idle=idle,
    )


def _sitting(field: Planted, idle: bool, rng: np.random.Generator) -> tuple[float, float, float]:
    """Return from when to when beetles sit on silks, and how many an ear."""
    if field.clipped is not None:
        begin, end, share = field.clipped
        return begin - int(rng.integers(0, 2)), end + int(rng.integers(0, 6)), 1.5 + 8 * share
    if idle:
        return int(rng.integers(0, 4)), int(rng.integers(7, 14)), rng.uniform(2, 6)
    return 0.0, 0.0, 0.0


def _tassel(flowering: _Flowering, at: float, rng: np.random.Generator) -> str:
    """Read the tassel of most plants, now and then as the class beside it."""
    begins = rng.normal(flowering.half_d, flowering.sd_d, PLANTS_A_STOP)
    classes = np.searchsorted(_UNTIL_SHARE, (at - begins) / flowering.shed_d, side="right")
    most = int(np.bincount(classes, minlength=len(TASSELS)).argmax())
    if rng.random() < _MISREAD:
        most += int(rng.choice((-1, 1)))
    return TASSELS[min(max(most, 0), len(TASSELS) - 1)]


def _silks(
    field: Planted, flowering: _Flowering, at: float, rng: np.random.Generator
) -> float | None:
    """Measure silks out of the husk on most of some ears [in], to a quarter inch.

    They grow 1.5 in on their first day (Purdue), less by the day, until a day after pollen has
    reached them.
    """
    out = field.half_at + rng.normal(0, field.plant_sd_d, _EARS_MEASURED)
    ages = at - out
    if np.median(ages) <= 0:
        return None
    stops = field.receptive_d if field.arrest_at is None else field.arrest_at
    until = np.where(
        out <= field.last_pollen, np.maximum(0.5, field.first_pollen + 0.5 - out) + 1, stops
    )
    length = _grown(np.clip(np.minimum(ages, until), 0, 10))
    lost_at = _lost_at(field, flowering, at, rng)
    if lost_at is not None:
        when, gone = lost_at
        regrown = length - _grown(np.clip(np.minimum(when - out, until), 0, 10))
        left = rng.uniform(0.1, 0.5, _EARS_MEASURED) + regrown
        length = np.where((rng.random(_EARS_MEASURED) < gone) & (out < when), left, length)
    middle = float(np.median(length[ages > 0])) * rng.normal(1, 0.15)
    return max(0.0, round(middle * _QUARTER_IN) / _QUARTER_IN)


def _grown(age: Times) -> Times:
    return 1.5 * (age - age**2 / 20)


def _lost_at(
    field: Planted, flowering: _Flowering, at: float, rng: np.random.Generator
) -> tuple[float, float] | None:
    """Return when silks were last clipped and of what share of the ears at this stop."""
    if field.clipped is not None:
        first, last, share = field.clipped
        if at < first:
            return None
        done = min((at - first + 1) / (last - first + 1), 1.0)
        return min(at, last + 1.0), min(1.0, share * done * rng.gamma(8, 1 / 8))
    begin, end, _ = flowering.beetles
    if flowering.idle and at >= begin + _HARMLESS_AFTER_D:
        return min(at, end), rng.uniform(0.1, 0.6)
    return None


def _beetles(flowering: _Flowering, day: int, rng: np.random.Generator) -> float:
    """Count beetles an ear, a mean over some ears."""
    begin, end, mean = flowering.beetles
    here = mean if begin <= day <= end else 0.2
    return round(float(rng.gamma(2.0, here / 2.0)) * 2) / 2
