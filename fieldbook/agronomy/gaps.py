"""Where kernels are missing, by place and kind, and what they would be worth at the most.

Rings missing are counted around the whole ear. The field's figures are means of the stops' means.
Worth is an upper-side figure, since kernel weight partly makes up; the first inch of bare tip is
common and is not priced.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import groupby
from statistics import fmean

from fieldbook.agronomy.ears import (
    BASE,
    SCATTERED,
    TIP_ABORTED,
    TIP_UNSET,
    EarRings,
    FieldPattern,
    field_pattern,
    pattern_name,
)
from fieldbook.agronomy.yields import kernels_on_ear, ring_worth_bu_ac
from fieldbook.figures import Figures, shipped_figures

ONE_SIDED, WHOLE_EAR = "one-sided", "whole-ear"
PLACES = (BASE, SCATTERED, TIP_UNSET, TIP_ABORTED, ONE_SIDED, WHOLE_EAR)
_Rings = Mapping[str, float | None]


@dataclass(frozen=True, kw_only=True)
class SeenEar:
    """An ear as counted at a stop.

    ``opposite_set`` are the kernels in the row on the other side. ``one_sided`` None is not looked
    at. ``length_in`` turns the free inch of bare tip into the ear's own rings. A bare cob has no
    rings to count.
    """

    stop: int
    rings: EarRings = field(default_factory=EarRings)
    rows_around: float | None = None
    lost_rows: float = 0
    opposite_set: float | None = None
    one_sided: bool | None = None
    bare_cob: bool = False
    length_in: float | None = None


@dataclass(frozen=True, kw_only=True)
class PlaceLoss:
    """Rings missing at a place: the mean over ears looked at, what is priced of it, its worth.

    ``bu_ac`` is None without rings, ears per acre, rows or kernels per bushel.
    """

    rings: float | None
    priced_rings: float | None
    bu_ac: float | None
    ears: int


@dataclass(frozen=True, kw_only=True)
class Gaps:
    """Losses by place for the field and for each stop, and the bushels at stake in all [bu/ac]."""

    field: Mapping[str, PlaceLoss]
    stops: Mapping[int, Mapping[str, PlaceLoss]]
    pattern: FieldPattern | None
    bu_ac: float | None


def ear_gaps(ear: SeenEar) -> dict[str, float | None]:
    """Return the rings missing on one ear, by place; None: not looked at.

    A bare cob counts under the whole ear alone; how much that is follows from the other ears, so
    it is None here. One-sided loss is what lost rows and a poorer side take from a full ear.
    """
    parts = ear.rings
    if ear.bare_cob:
        return {place: None if place == WHOLE_EAR else 0.0 for place in PLACES}
    return {
        BASE: parts.base,
        SCATTERED: parts.inside,
        TIP_UNSET: parts.tip_unset,
        TIP_ABORTED: parts.tip_aborted,
        ONE_SIDED: _side_rings(ear),
        WHOLE_EAR: 0.0,
    }


def priced_gaps(ear: SeenEar, *, figures: Figures | None = None) -> dict[str, float | None]:
    """Return the rings missing on one ear that are priced.

    The free inch of bare tip is taken from the very tip: first from what was never set, then from
    what aborted below it. A ring of it counts by the ear's own length where that is known.
    """
    gaps = ear_gaps(ear)
    free = _free_rings(ear, figures or shipped_figures())
    unset, aborted = gaps[TIP_UNSET], gaps[TIP_ABORTED]
    left = max(free - (unset or 0.0), 0.0)
    return {
        **gaps,
        TIP_UNSET: None if unset is None else max(unset - free, 0.0),
        TIP_ABORTED: None if aborted is None else max(aborted - left, 0.0),
    }


def field_gaps(
    ears: Sequence[SeenEar],
    *,
    ears_per_ac: float | None = None,
    thousand_kernels_per_bu: float | None = None,
    figures: Figures | None = None,
) -> Gaps | None:
    """Return where kernels are missing over stops and field; None without an ear.

    Parameters
    ----------
    ears_per_ac, thousand_kernels_per_bu
        For the bushels at stake; None: no bushels.
    """
    if not ears:
        return None
    known = figures or shipped_figures()
    worth = _ring_worth(ears, ears_per_ac, thousand_kernels_per_bu)
    whole = _mean([ear.rings.set for ear in ears if not ear.bare_cob])
    ordered = sorted(ears, key=lambda ear: ear.stop)
    groups = {stop: list(group) for stop, group in groupby(ordered, key=lambda ear: ear.stop)}
    stops = {stop: _losses(group, whole, worth, known) for stop, group in groups.items()}
    over = {
        place: _over_stops([losses[place] for losses in stops.values()])
        if _is_looked_at(ears, place)
        else PlaceLoss(rings=None, priced_rings=None, bu_ac=None, ears=0)
        for place in PLACES
    }
    return Gaps(
        field=over,
        stops=stops,
        pattern=ear_pattern(ears, figures=known),
        bu_ac=_total([loss.bu_ac for loss in over.values()]),
    )


def ear_pattern(ears: Sequence[SeenEar], *, figures: Figures | None = None) -> FieldPattern | None:
    """Name a field's pattern among all places, one-sided and bare ears included.

    As `field_pattern`: at least a third of the ears must show it and more than any other place.
    """
    known = figures or shipped_figures()
    along = field_pattern([ear.rings for ear in ears if not ear.bare_cob], figures=known)
    sides = [ear.one_sided for ear in ears if ear.one_sided is not None]
    bare = [ear.bare_cob for ear in ears]
    if along is None and not sides and not any(bare):
        return None
    standing = 1 - fmean(bare)
    shares = {place: share * standing for place, share in (along.shares if along else {}).items()}
    shares[ONE_SIDED] = fmean(sides) if sides else 0.0
    shares[WHOLE_EAR] = fmean(bare)
    name = pattern_name(shares, known.number("ears.pattern_least_share"))
    return FieldPattern(name=name, ears=len(ears), shares=shares)


def _side_rings(ear: SeenEar) -> float | None:
    kept = ear.rings.set
    if kept is None or not ear.rows_around:
        return None
    one_sided = bool(ear.one_sided)
    there = kernels_on_ear(
        ear.rows_around, kept, ear.lost_rows, ear.opposite_set if one_sided else None
    )
    return max(kept - there / ear.rows_around, 0.0)


def _free_rings(ear: SeenEar, figures: Figures) -> float:
    own = ear.rings.rings
    per_in = figures.number("ears.rings_per_in")
    if own is not None and ear.length_in:
        per_in = own / ear.length_in
    return figures.number("ears.tip_allowance_in") * per_in


def _ring_worth(
    ears: Sequence[SeenEar], ears_per_ac: float | None, thousand_kernels: float | None
) -> float | None:
    rows = _mean([ear.rows_around for ear in ears if not ear.bare_cob])
    if rows is None or ears_per_ac is None or thousand_kernels is None:
        return None
    return ring_worth_bu_ac(ears_per_ac, rows, thousand_kernels)


def _is_looked_at(ears: Sequence[SeenEar], place: str) -> bool:
    """Say whether a place was looked at on any ear; a bare cob alone says nothing of it."""
    standing = [ear for ear in ears if not ear.bare_cob]
    return not standing or any(ear_gaps(ear)[place] is not None for ear in standing)


def _losses(
    ears: Sequence[SeenEar], whole: float | None, worth: float | None, figures: Figures
) -> dict[str, PlaceLoss]:
    """Return the losses of a stop, place by place."""
    seen = [(ear, ear_gaps(ear), priced_gaps(ear, figures=figures)) for ear in ears]
    return {place: _loss(seen, place, whole, worth) for place in PLACES}


def _loss(
    ears: Sequence[tuple[SeenEar, _Rings, _Rings]],
    place: str,
    whole: float | None,
    worth: float | None,
) -> PlaceLoss:
    """Return the loss at one place of a stop; a bare cob loses what the other ears hold."""
    standing = [seen for seen in ears if not (seen[0].bare_cob and place == WHOLE_EAR)]
    bare = [whole] * (len(ears) - len(standing))
    rings = [*(missing[place] for _, missing, _ in standing), *bare]
    priced = [*(paid[place] for _, _, paid in standing), *bare]
    mean = _mean(priced)
    return PlaceLoss(
        rings=_mean(rings),
        priced_rings=mean,
        bu_ac=None if mean is None or worth is None else mean * worth,
        ears=sum(one is not None for one in rings),
    )


def _over_stops(losses: Sequence[PlaceLoss]) -> PlaceLoss:
    return PlaceLoss(
        rings=_mean([one.rings for one in losses]),
        priced_rings=_mean([one.priced_rings for one in losses]),
        bu_ac=_mean([one.bu_ac for one in losses]),
        ears=sum(one.ears for one in losses),
    )


def _mean(values: Sequence[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return fmean(known) if known else None


def _total(values: Sequence[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return sum(known) if known else None
