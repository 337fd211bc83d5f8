"""Where kernels are missing along the ear, for one ear and for a field of ears.

All counts are rings: kernel places along one typical row, from the butt. Position is always a
share of the ring count and never inches, because the tip still grows after silking.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

import numpy as np
from numpy.typing import NDArray

from fieldbook.figures import Figures, shipped_figures

BASE, SCATTERED, TIP_UNSET, TIP_ABORTED = "base", "scattered", "tip-unset", "tip-aborted"
MIXED, NONE = "mixed", "none"


@dataclass(frozen=True, kw_only=True)
class EarRings:
    """The places along one row of an ear; None is not looked at.

    From the butt: bare at the base, kernels set with gaps inside, shrunken at the tip, and never
    set at the tip.
    """

    base: float | None = None
    set: float | None = None
    inside: float | None = None
    tip_unset: float | None = None
    tip_aborted: float | None = None

    def __post_init__(self) -> None:
        """Refuse counts below zero."""
        for part in self._parts():
            if part is not None and part < 0:
                raise ValueError("a count cannot be negative")

    def _parts(self) -> tuple[float | None, ...]:
        return self.base, self.set, self.inside, self.tip_unset, self.tip_aborted

    @property
    def rings(self) -> float | None:
        """All places along the row, filled or not; None unless every part is known."""
        parts = self._parts()
        return None if None in parts else sum(parts)  # type: ignore[arg-type]

    @property
    def kernel_set_pct(self) -> float | None:
        """Share of the places that holds a set kernel [%]; None unless every part is known."""
        rings = self.rings
        return 100 * self.set / rings if rings and self.set is not None else None


@dataclass(frozen=True, kw_only=True)
class MeanOver:
    """A mean over the ears where it is known, and how many those are."""

    mean: float | None
    n: int


@dataclass(frozen=True, kw_only=True)
class PlaceLosses:
    """Mean missing places along one row, by place [rings]."""

    base: MeanOver
    inside: MeanOver
    tip_unset: MeanOver
    tip_aborted: MeanOver


@dataclass(frozen=True, kw_only=True)
class AverageEar:
    """The average ear, base to tip: at each position, the share of ears in each state.

    The four shares add up to 1 at every position. ``never_set`` is the bare base and the bare tip;
    ``scattered`` are gaps inside. ``ears`` is how many complete ears it rests on.
    """

    ears: int
    set: tuple[float, ...]
    never_set: tuple[float, ...]
    aborted: tuple[float, ...]
    scattered: tuple[float, ...]


@dataclass(frozen=True, kw_only=True)
class FieldPattern:
    """The pattern of missing kernels in a field.

    ``name`` is one of the four places where at least a third of the ears show it and more of them
    than show any other; ``mixed`` where ears show something but no single place stands out;
    ``none`` where no ear shows anything. ``shares`` has the share of ``ears`` for each place.
    """

    name: str
    ears: int
    shares: dict[str, float]


def mean_over(values: Sequence[float | None]) -> MeanOver:
    """Average what is known and say how many that are."""
    known = [value for value in values if value is not None]
    return MeanOver(mean=sum(known) / len(known) if known else None, n=len(known))


def losses(ears: Sequence[EarRings]) -> PlaceLosses:
    """Return the mean loss by place, each over the ears where that place was looked at."""
    return PlaceLosses(
        base=mean_over([ear.base for ear in ears]),
        inside=mean_over([ear.inside for ear in ears]),
        tip_unset=mean_over([ear.tip_unset for ear in ears]),
        tip_aborted=mean_over([ear.tip_aborted for ear in ears]),
    )


def kernel_set_pct(ears: Sequence[EarRings]) -> MeanOver:
    """Return the mean share of places that hold a kernel [%], over complete ears."""
    return mean_over([ear.kernel_set_pct for ear in ears])


def average_ear(ears: Sequence[EarRings], positions: int | None = None) -> AverageEar | None:
    """Return the average ear over those with every part known; None without such an ear.

    Every ear is stretched to the same number of positions. Gaps inside are spread evenly over the
    part that holds kernels, since their exact places are not counted.

    Parameters
    ----------
    positions
        How many positions to use; None: the middle ring count of the ears.
    """
    complete = [ear for ear in ears if ear.rings]
    if not complete:
        return None
    count = positions or max(1, round(median(ear.rings or 0 for ear in complete)))
    shares = np.mean(_ear_shares(complete, count), axis=0)
    kept, unset, aborted, scattered = (tuple(float(x) for x in row) for row in shares)
    return AverageEar(
        ears=len(complete), set=kept, never_set=unset, aborted=aborted, scattered=scattered
    )


def field_pattern(
    ears: Sequence[EarRings], *, figures: Figures | None = None
) -> FieldPattern | None:
    """Name the pattern of a field, or say that it is mixed or none.

    Ears of which nothing beyond the kernels is known do not count; None where no ear is left.
    """
    known = figures or shipped_figures()
    looked = [ear for ear in ears if _looked_at(ear)]
    if not looked:
        return None
    least_rings = known.number("ears.pattern_least_rings")
    allowed = known.number("ears.tip_allowance_in") * known.number("ears.rings_per_in")
    seen = Counter(place for ear in looked for place in _shown(ear, least_rings, allowed))
    shares = {
        place: seen[place] / len(looked) for place in (BASE, SCATTERED, TIP_UNSET, TIP_ABORTED)
    }
    least = known.number("ears.pattern_least_share")
    return FieldPattern(name=pattern_name(shares, least), ears=len(looked), shares=shares)


def pattern_name(shares: dict[str, float], least: float) -> str:
    """Name the place that more ears show than any other, where enough do; else mixed or none."""
    top = max(shares.values())
    leading = [place for place, share in shares.items() if share == top]
    if top == 0:
        return NONE
    return leading[0] if top >= least and len(leading) == 1 else MIXED


def _looked_at(ear: EarRings) -> bool:
    gaps = (ear.base, ear.inside, ear.tip_unset, ear.tip_aborted)
    return any(part is not None for part in gaps)


def _shown(ear: EarRings, least: float, allowed: float) -> set[str]:
    """Return the places that an ear shows: a bare tip only beyond what is common [rings]."""
    unset, aborted = ear.tip_unset or 0, ear.tip_aborted or 0
    shown = set()
    if (ear.base or 0) >= least:
        shown.add(BASE)
    if (ear.inside or 0) >= least:
        shown.add(SCATTERED)
    if unset + aborted > allowed:
        shown.add(TIP_ABORTED if aborted >= unset else TIP_UNSET)
    return shown


def _ear_shares(ears: Sequence[EarRings], positions: int) -> NDArray[np.float64]:
    """Return the shares of complete ears, shape (ears, 4, positions): set, unset, aborted, gaps."""
    parts = np.array([ear._parts() for ear in ears], dtype=float)
    base, kept, inside, unset, aborted = parts.T
    body_rings = kept + inside
    rings = np.array([ear.rings for ear in ears], dtype=float)
    ends = np.cumsum([base, body_rings, aborted, unset], axis=0) / rings
    bare_base, body, shrunken, bare_tip = _overlaps(ends, positions)
    filled = np.divide(kept, body_rings, out=np.zeros_like(kept), where=body_rings > 0)[:, None]
    return np.stack([body * filled, bare_base + bare_tip, shrunken, body * (1 - filled)], axis=1)


def _overlaps(ends: NDArray[np.float64], positions: int) -> NDArray[np.float64]:
    """Return how much of each position lies in each stretch, shape (stretches, ears, positions).

    `ends` of stretches along the ear are shares of it, shape (stretches, ears).
    """
    starts = np.concatenate([np.zeros_like(ends[:1]), ends[:-1]])
    left = np.arange(positions) / positions
    right = (np.arange(positions) + 1) / positions
    low = np.maximum(left, starts[..., None])
    high = np.minimum(right, ends[..., None])
    overlap: NDArray[np.float64] = np.clip(high - low, 0, None) * positions
    return overlap
