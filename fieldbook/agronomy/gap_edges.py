"""The edges of base gaps and tip gaps over all ears of a field, and what bounds them beside.

Ears without the gap and bare cobs have no edge and still tell something: on such plants the silks
were all in time, or all too late or too early.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean, stdev

from fieldbook.agronomy.ears import BASE, TIP_UNSET, EarRings
from fieldbook.agronomy.gaps import SeenEar
from fieldbook.agronomy.ranges import Triple
from fieldbook.agronomy.timing import Edge
from fieldbook.figures import Figures, shipped_figures


@dataclass(frozen=True, kw_only=True)
class EdgesSeen:
    """The edges of one kind of gap over all ears of a field, as shares of the rings.

    ``at`` are the edges seen. ``without`` ears show no gap longer than ``free``. ``bare`` are cobs
    with kernels on less than ``hardly`` of the rings. ``full_to`` is how far up kernels stand.
    """

    place: str
    at: tuple[float, ...]
    free: float
    without: int
    bare: int
    hardly: float
    full_to: float = 1.0

    @property
    def share(self) -> float:
        """Share of the ears with kernels that show the gap."""
        with_kernels = len(self.at) + self.without
        return len(self.at) / with_kernels if with_kernels else 0.0

    @property
    def edge(self) -> Edge | None:
        """The edges in short; None without one."""
        if not self.at:
            return None
        return Edge(
            place=self.place,
            mean=fmean(self.at),
            low=min(self.at),
            high=max(self.at),
            sd=stdev(self.at) if len(self.at) > 1 else None,
            ears=len(self.at),
        )


def has_kernels(rings: EarRings, *, figures: Figures | None = None) -> bool:
    """Tell whether an ear counted in full holds enough kernels to show an edge."""
    least = (figures or shipped_figures()).number("cause.nearly_bare_share")
    return bool(rings.rings) and (rings.set or 0) >= least * (rings.rings or 0)


def tip_gap(rings: EarRings) -> float:
    """Return the rings without a kernel at the tip, never set and aborted."""
    return (rings.tip_unset or 0) + (rings.tip_aborted or 0)


def edges_seen(
    ears: Sequence[SeenEar],
    place: str,
    *,
    scattered: bool = False,
    figures: Figures | None = None,
) -> EdgesSeen:
    """Return the edges of base gaps or tip gaps on all ears counted in full, and bare cobs.

    Gaps inside count with either: late pollen may still set the butt, whose silks are younger, and
    a stray grain may set a ring beyond a tip's edge. A base gap below the lowest place of a first
    silk is left to chance, and a tip gap of no more than an inch is common.

    Parameters
    ----------
    scattered
        Gaps inside have another cause and do not count.

    Raises
    ------
    ValueError
        For a place other than the base and the tip never set.
    """
    if place not in (BASE, TIP_UNSET):
        raise ValueError(f"gaps of {place!r} have no edge to be dated")
    known = figures or shipped_figures()
    counted = [ear.rings for ear in ears if not ear.bare_cob and ear.rings.rings]
    found = [one for one in counted if has_kernels(one, figures=known)]
    rings = [one.rings or 1 for one in found]
    gaps = [_gap(one, place, scattered) / (one.rings or 1) for one in found]
    free = _free_share(place, rings, known)
    beyond = [one for one in gaps if one > free]
    return EdgesSeen(
        place=place,
        at=tuple(beyond if place == BASE else (1 - one for one in beyond)),
        free=free,
        without=len(gaps) - len(beyond),
        bare=sum(ear.bare_cob for ear in ears) + len(counted) - len(found),
        hardly=known.number("cause.nearly_bare_share"),
        full_to=1 - sum(map(tip_gap, found)) / sum(rings) if found else 1.0,
    )


def _gap(rings: EarRings, place: str, scattered: bool) -> float:
    inside = 0.0 if scattered else rings.inside or 0
    return inside + (tip_gap(rings) if place == TIP_UNSET else rings.base or 0)


def _free_share(place: str, rings: Sequence[float], figures: Figures) -> float:
    """Return the share of the rings that a gap may take before it tells anything."""
    if place == BASE:
        return Triple.of("silk.first_position", figures).low
    inch = figures.number("ears.tip_allowance_in") * figures.number("ears.rings_per_in")
    return min(inch / fmean(rings), 1.0) if rings else 1.0
