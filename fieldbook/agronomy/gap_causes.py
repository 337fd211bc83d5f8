"""What stood behind the gaps of a field: the patterns its ears show, each with its dated readings.

A cause is named only where enough ears show more than is common, and never alone: every other
reading of the same gap stands beside it. The lines that divide are assumed and are tested on
simulated ears only.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import log
from statistics import fmean

from fieldbook.agronomy.ears import BASE, SCATTERED, TIP_ABORTED, TIP_UNSET, EarRings
from fieldbook.agronomy.gap_dates import explained, likely_days
from fieldbook.agronomy.gap_edges import EdgesSeen, edges_seen, has_kernels, tip_gap
from fieldbook.agronomy.gap_lines import (
    base_part_line,
    base_share_line,
    scattered_line,
    stopped_odds,
    tip_line,
)
from fieldbook.agronomy.gap_looks import FlowerLooks
from fieldbook.agronomy.gaps import SeenEar
from fieldbook.agronomy.ranges import DayRange, Triple, meet
from fieldbook.agronomy.timing import (
    POLLEN_BROKEN,
    POLLEN_ENDED,
    POLLEN_LATE,
    SILKS_STOPPED,
    DatedReading,
    readings,
    side_and_scatter_readings,
)
from fieldbook.figures import Figures, shipped_figures

LOST_AFTER_SET = "lost-after-set"
NO_SILKING_DATE, TOO_WIDE = "no-silking-date", "too-wide"
AGAINST_LATE_POLLEN = "against-late-pollen"
_MOMENTS = (POLLEN_LATE, POLLEN_ENDED, SILKS_STOPPED)


@dataclass(frozen=True, kw_only=True)
class Cause:
    """A pattern of gaps that enough ears show, and the reading that fits them best.

    ``key`` is ``pollen-late``, ``pollen-broken`` (or silks clipped), ``pollen-ended``,
    ``silk-growth-stopped`` or ``lost-after-set``. ``share`` is that of the ears with kernels that
    show the gap. ``readings`` are all readings of it, since ears alone rule none of them out.
    """

    pattern: str
    key: str
    share: float
    readings: tuple[DatedReading, ...]


def causes(
    ears: Sequence[SeenEar],
    silked: DayRange,
    *,
    plant_spread_days: float | None = None,
    saw: FlowerLooks | None = None,
    figures: Figures | None = None,
) -> tuple[Cause, ...]:
    """Name what the gaps of a field point to; empty where they are no more than common.

    An ear shows a base gap that reaches the lowest place of a first silk, a tip gap beyond an
    inch, or scattered gaps. A third of the ears with kernels must show it, half of them beside a
    pattern that spills into it, fewer where nothing ordinary looks like it (the figures ``cause``
    have the lines). Tip edges as far apart as plants silk point to pollen that
    ended, edges closer together to silks that stopped; shrunken kernels point to a loss after set,
    and so does any tip gap under late pollen, which came when the tip had long silked.

    Parameters
    ----------
    silked
        The days on which half of the plants had silked. With an open end no date is told.
    plant_spread_days
        As for `readings`, for the outer ranges.
    saw
        What visits saw while the field flowered; it moves the lines, and never a date.
    """
    known = figures or shipped_figures()
    seen = _look(ears, known)
    if seen is None:
        return ()
    flowered = saw or FlowerLooks()
    patterns = _patterns(seen, flowered, known)
    # Gaps inside lie beyond the edge of a tip gap, unless a pattern below it explains them.
    tips = seen.tips(len(patterns) > 1, known)
    edges = {BASE: seen.base, TIP_UNSET: tips, TIP_ABORTED: tips}
    named = []
    for pattern, key in patterns:
        found = _readings(pattern, edges.get(pattern), silked, plant_spread_days, known)
        if key == LOST_AFTER_SET:
            found = tuple(map(_without_moment, found))
        share = _share(seen, pattern)
        named.append(Cause(pattern=pattern, key=key, share=share, readings=found))
    return tuple(named)


@dataclass(frozen=True, kw_only=True)
class _Seen:
    """What the ears of a field show.

    ``base_part`` is how much of what base gaps miss lies at the very butt, ``remnants`` how much
    of the tip gaps is shrunken. ``tip_beyond_inch`` says that the mean tip gap is more than common.
    ``scattered_low`` is the share with scattered gaps of the half of ears whose kernels end lowest:
    a stray grain beyond the edge of a tip gap leaves a gap inside and ends an ear's kernels high.
    """

    ears: tuple[SeenEar, ...]
    base: EdgesSeen
    base_part: float
    tip_share: float
    tip_beyond_inch: bool
    remnants: float
    scattered_share: float
    scattered_low: float

    def tips(self, scattered: bool, figures: Figures) -> EdgesSeen:
        return edges_seen(self.ears, TIP_UNSET, scattered=scattered, figures=figures)


def _look(ears: Sequence[SeenEar], figures: Figures) -> _Seen | None:
    counted = [one.rings for one in ears if not one.bare_cob]
    found = [one for one in counted if has_kernels(one, figures=figures)]
    if not found:
        return None
    base = edges_seen(ears, BASE, figures=figures)
    tips = edges_seen(ears, TIP_UNSET, scattered=True, figures=figures)
    gaps = [one for one in found if tip_gap(one) / (one.rings or 1) > tips.free]
    low = [one for one in found if _below(one) / (one.rings or 1) > base.free]
    line = figures.number("cause.scattered_least_share")
    by_end = sorted(found, key=lambda one: 1 - tip_gap(one) / (one.rings or 1))
    lowest = by_end[: (len(by_end) + 1) // 2]
    return _Seen(
        ears=tuple(ears),
        base=base,
        base_part=_part([one.base or 0 for one in low], [_below(one) for one in low]),
        tip_share=tips.share,
        tip_beyond_inch=fmean(tip_gap(one) / (one.rings or 1) for one in found) > tips.free,
        remnants=_part([one.tip_aborted or 0 for one in gaps], [tip_gap(one) for one in gaps]),
        scattered_share=fmean(_inside_share(one) >= line for one in found),
        scattered_low=fmean(_inside_share(one) >= line for one in lowest),
    )


def _below(rings: EarRings) -> float:
    return (rings.base or 0) + (rings.inside or 0)


def _inside_share(rings: EarRings) -> float:
    """Return the share missing between the first and the last kernel."""
    inside = rings.inside or 0
    return inside / (inside + (rings.set or 0))


def _part(some: Sequence[float], whole: Sequence[float]) -> float:
    return sum(some) / sum(whole) if sum(whole) else 0.0


def _share(seen: _Seen, pattern: str) -> float:
    if pattern == BASE:
        return seen.base.share
    return seen.scattered_share if pattern == SCATTERED else seen.tip_share


def _patterns(seen: _Seen, saw: FlowerLooks, figures: Figures) -> list[tuple[str, str]]:
    """Return the patterns that stand out and the key of each, from the butt up."""
    third = figures.number("ears.pattern_least_share")
    base = _base_stands_out(seen, saw, figures)
    beside = base or (seen.scattered_share >= third and seen.scattered_share > seen.tip_share)
    line = tip_line(remnants=_has_remnants(seen, figures), beside=beside, saw=saw, figures=figures)
    tip = seen.tip_share >= line
    found = _tip_pattern(seen, base, beside, saw, figures) if tip else None
    above = [found] if found else []
    key = found[1] if found else None
    if base and key != SILKS_STOPPED:
        return [(BASE, POLLEN_LATE), *above]
    if saw.late and not saw.silks_at_risk:
        # Late pollen leaves gaps inside as well, and nothing else was seen to make any.
        return above
    lost = key == LOST_AFTER_SET
    edge = found is not None and not lost and not beside
    scattered = seen.scattered_low if edge else seen.scattered_share
    if scattered >= scattered_line(lost=lost, edge=edge, saw=saw, figures=figures):
        return [(SCATTERED, POLLEN_BROKEN), *above]
    return above


def _base_stands_out(seen: _Seen, saw: FlowerLooks, figures: Figures) -> bool:
    """Tell whether enough ears show a base gap that late pollen can have left."""
    if saw.finished:
        # Pollen that was over before the last silks were out did not come a week late.
        return False
    third = figures.number("ears.pattern_least_share")
    unset = seen.tip_share >= third and not _has_remnants(seen, figures)
    enough = seen.base.share >= base_share_line(unset=unset, saw=saw, figures=figures)
    return enough and seen.base_part >= base_part_line(saw, figures)


def _has_remnants(seen: _Seen, figures: Figures) -> bool:
    return seen.remnants >= figures.number("cause.remnant_share")


def _tip_pattern(
    seen: _Seen, base: bool, scattered: bool, saw: FlowerLooks, figures: Figures
) -> tuple[str, str] | None:
    """Return the pattern at the tip and what fits it best; None where no more than common.

    Where silks stop very soon the butt stays bare as well, since its silks are a little late: then
    one cause explains both ends, and no base gap reaches beyond the highest place of a first silk.
    Pollen that had not begun at silking did not end soon after: such a tip was lost later.
    """
    if _has_remnants(seen, figures):
        return (TIP_ABORTED, LOST_AFTER_SET) if seen.tip_beyond_inch else None
    if base and max(seen.base.at) > Triple.of("silk.first_position", figures).high:
        return TIP_UNSET, LOST_AFTER_SET
    stopped = _stopped(seen.tips(scattered or base, figures), saw, figures)
    if saw.late and (base or not stopped):
        return (TIP_UNSET, LOST_AFTER_SET) if seen.tip_beyond_inch else None
    if stopped:
        return TIP_UNSET, SILKS_STOPPED
    return TIP_UNSET, LOST_AFTER_SET if base else POLLEN_ENDED


def _stopped(edges: EdgesSeen, saw: FlowerLooks, figures: Figures) -> bool:
    """Tell whether edges are so much likelier under silks that stopped than pollen that ended."""
    ended, stopped = (
        explained(edges, same_age=same, figures=figures).log_evidence for same in (False, True)
    )
    return stopped > ended + log(stopped_odds(saw, figures))


def _readings(
    pattern: str,
    edges: EdgesSeen | None,
    silked: DayRange,
    plant_spread_days: float | None,
    figures: Figures,
) -> tuple[DatedReading, ...]:
    """Return all readings of a pattern, with the likely days of those that are one moment."""
    if edges is None or edges.edge is None:
        outer = side_and_scatter_readings(
            pattern, silked, plant_spread_days=plant_spread_days, figures=figures
        )
        return tuple(_told(one, None, figures) for one in outer)
    found = replace(edges.edge, place=pattern)
    outer = readings(found, silked, plant_spread_days=plant_spread_days, figures=figures)
    return tuple(_told(one, _likely(one, edges, silked, figures), figures) for one in outer)


def _likely(
    one: DatedReading, edges: EdgesSeen, silked: DayRange, figures: Figures
) -> DayRange | None:
    """Return the likely days of a reading that is one moment; None for a stretch of days."""
    if one.reading not in _MOMENTS:
        return None
    found = explained(edges, same_age=one.reading == SILKS_STOPPED, figures=figures)
    if one.reading == POLLEN_LATE:
        return likely_days(found, found.receptive, silked, figures=figures)
    stopped = one.reading == SILKS_STOPPED
    after = figures.number("silk.growth_stop_lead_days") if stopped else 0.0
    return likely_days(found, after, silked, figures=figures)


def _without_moment(one: DatedReading) -> DatedReading:
    """Take the date from a reading by which pollen or silks ended before the late pollen came."""
    if one.reading not in _MOMENTS:
        return one
    return replace(one, likely=None, told=False, why=AGAINST_LATE_POLLEN)


def _told(one: DatedReading, likely: DayRange | None, figures: Figures) -> DatedReading:
    """Say whether a reading has a date, and if not why."""
    inner = likely and (meet([likely, one.within]) or likely)
    days = inner or one.within
    if days.earliest is None or days.latest is None:
        return replace(one, why=NO_SILKING_DATE)
    most = figures.number("cause.most_told_days")
    told = (days.latest - days.earliest).days <= most
    return replace(one, likely=inner, told=told, why=None if told else TOO_WIDE)
