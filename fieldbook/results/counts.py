"""From a visit's readings to its stops, its yield and its ears. Pure; no files."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType

from fieldbook.agronomy.lengths import per_acre
from fieldbook.agronomy.sampling import Sample, more_needed, nested_variance, sample
from fieldbook.agronomy.yields import (
    KernelCounts,
    kernel_counts,
    ring_worth_bu_ac,
    stop_yield_bu_ac,
)
from fieldbook.check.roster import Field
from fieldbook.figures import Figures
from fieldbook.forms.ears import Ear
from fieldbook.forms.fields import Visit
from fieldbook.forms.rounds import KERNEL_COUNT
from fieldbook.forms.stops import INTERIOR, Stop, standard_length_ft
from fieldbook.ledger.stored import StoredVisit, visit_day
from fieldbook.results.ears import ears_result, kernels
from fieldbook.results.yield_result import EarsResult, StopResult, YieldResult
from fieldbook.units import System

OwnCounts = Mapping[str, tuple[float, float, float]]
"""Thousands of kernels per bushel by hybrid, heavy, likely and light, as season.toml has them."""


@dataclass(frozen=True, kw_only=True)
class CountedVisit:
    """What one kernel-count visit gives."""

    visit: StoredVisit
    stops: tuple[StopResult, ...]
    yield_: YieldResult | None
    ears: EarsResult | None


def counted_visits(
    visits: Iterable[StoredVisit],
    fields: Mapping[str, Field],
    figures: Figures,
    *,
    wanted_half_width_bu_ac: float,
    own_counts: OwnCounts,
) -> Iterator[CountedVisit]:
    """Work out every kernel-count visit of known fields, in the order of their days."""
    counted = [one for one in visits if one.round == KERNEL_COUNT.name and one.field_id in fields]
    for visit in sorted(counted, key=lambda one: (visit_day(one) or date.min, one.visit_id)):
        yield counted_visit(
            visit,
            fields[visit.field_id],
            figures,
            wanted_half_width_bu_ac=wanted_half_width_bu_ac,
            own_counts=own_counts,
        )


def count_to_use(counted: Sequence[CountedVisit]) -> CountedVisit | None:
    """Choose the count of a field that its figures come from, of all in the order of their days.

    It is the latest that gives an interval, where none does the latest that gives a yield, else
    the latest: a short walk late in the season takes nothing from a whole one.
    """
    with_yield = [one for one in counted if one.yield_]
    with_interval = [one for one in with_yield if one.yield_ and one.yield_.interval_95_bu_ac]
    return next((some[-1] for some in (with_interval, with_yield, counted) if some), None)


def counts_in_use(counted: Iterable[CountedVisit]) -> dict[str, CountedVisit]:
    """Return the count to use by field, of several fields' counts in the order of their days."""
    by_field: dict[str, list[CountedVisit]] = {}
    for one in counted:
        by_field.setdefault(one.visit.field_id, []).append(one)
    chosen = {field_id: count_to_use(some) for field_id, some in by_field.items()}
    return {field_id: one for field_id, one in chosen.items() if one is not None}


def counts_after(
    counted: Sequence[CountedVisit], used: CountedVisit | None
) -> tuple[CountedVisit, ...]:
    """Return the counts of later walks, which had too few stops to be used in its place."""
    ids = [one.visit.visit_id for one in counted]
    return tuple(counted[ids.index(used.visit.visit_id) + 1 :]) if used else ()


def counted_visit(
    visit: StoredVisit,
    field: Field,
    figures: Figures,
    *,
    wanted_half_width_bu_ac: float,
    own_counts: OwnCounts = MappingProxyType({}),
) -> CountedVisit:
    """Work out the stops, the yield and the ears of one visit."""
    head: Visit | None = next(iter(visit.records["fields"]), None)
    stated = head.grain_fill if head else None
    ears_at = _ears_by_stop(visit.records["ears"])
    stops_at: Mapping[int, Stop] = {stop.stop: stop for stop in visit.records["stops"]}
    hybrid = the_hybrid(field)
    counts = kernel_counts(stated, own=own_counts.get(hybrid or ""), figures=figures)
    kernels_at = {stop: _known(map(kernels, ears)) for stop, ears in ears_at.items()}
    numbers = sorted(set(stops_at) | set(ears_at))
    stops = tuple(
        _stop(number, stops_at.get(number), kernels_at.get(number, ()), visit, field, counts.likely)
        for number in numbers
    )
    return CountedVisit(
        visit=visit,
        stops=stops,
        yield_=_yield(stops, ears_at, kernels_at, counts, hybrid, wanted_half_width_bu_ac),
        ears=ears_result(
            [ear for ears in ears_at.values() for ear in ears],
            [one for counted in kernels_at.values() for one in counted],
            figures,
        ),
    )


def the_hybrid(field: Field) -> str | None:
    """Return the hybrid of a field; None where it has several, or nobody knows."""
    hybrids = {planting.hybrid for planting in field.plantings}
    return hybrids.pop() if len(hybrids) == 1 else None


def _ears_by_stop(ears: Iterable[Ear]) -> dict[int, tuple[Ear, ...]]:
    found: dict[int, list[Ear]] = {}
    for ear in ears:
        found.setdefault(ear.stop, []).append(ear)
    return {stop: tuple(there) for stop, there in found.items()}


def _known(values: Iterable[float | None]) -> list[float]:
    return [value for value in values if value is not None]


def _mean(values: Sequence[float]) -> float | None:
    return sum(values) / len(values) if values else None


def _stop(
    number: int,
    stop: Stop | None,
    counted: Sequence[float],
    visit: StoredVisit,
    field: Field,
    thousand_kernels_per_bu: float,
) -> StopResult:
    length_ft = (stop.length_ft if stop else None) or standard_length_ft(
        visit.row_width_in, System(visit.units)
    )
    per_ear = _mean(counted)
    ears_ac = _per_acre(stop.ears if stop else None, length_ft, field.row_width_in)
    yield_bu_ac = None
    if ears_ac is not None and per_ear is not None:
        yield_bu_ac = stop_yield_bu_ac(ears_ac, per_ear, thousand_kernels_per_bu)
    place = (stop.place if stop else None) or INTERIOR
    return StopResult(
        stop=number,
        place=place,
        ears_per_ac=ears_ac,
        plants_per_ac=_per_acre(stop.plants if stop else None, length_ft, field.row_width_in),
        kernels_per_ear=per_ear,
        ears_used=len(counted),
        yield_bu_ac=yield_bu_ac,
        left_out=_why_left_out(place, ears_ac, per_ear),
        remark=stop.remark if stop else None,
    )


def _per_acre(count: int | None, length_ft: float, row_width_in: float) -> float | None:
    return None if count is None else per_acre(count, length_ft, row_width_in)


def _why_left_out(place: str, ears_ac: float | None, per_ear: float | None) -> str | None:
    if place != INTERIOR:
        return place
    if ears_ac is None:
        return "no-count"
    return "no-kernels" if per_ear is None else None


def _yield(
    stops: Sequence[StopResult],
    ears_at: Mapping[int, Sequence[Ear]],
    kernels_at: Mapping[int, Sequence[float]],
    counts: KernelCounts,
    hybrid: str | None,
    wanted_half_width_bu_ac: float,
) -> YieldResult | None:
    used = [stop for stop in stops if stop.left_out is None]
    sampled = sample(_known(stop.yield_bu_ac for stop in used))
    if sampled is None:
        return None
    likely = sampled.mean
    low, high = likely * counts.likely / counts.light, likely * counts.likely / counts.heavy
    between, within = _spread(used, kernels_at, counts.likely)
    return YieldResult(
        low_bu_ac=low,
        likely_bu_ac=likely,
        high_bu_ac=high,
        interval_95_bu_ac=_interval(sampled),
        range_bu_ac=_both_doubts(low, likely, high, sampled.half_width_95),
        counting_half_width_bu_ac=sampled.half_width_95,
        thousand_kernels_per_bu=(counts.heavy, counts.likely, counts.light),
        grain_fill=counts.condition,
        grain_fill_stated=counts.stated,
        own_of=hybrid if counts.is_own else None,
        stops_used=len(used),
        stops_left_out=len(stops) - len(used),
        stops_still_needed=more_needed(sampled.sd, sampled.n, wanted_half_width_bu_ac),
        wanted_half_width_bu_ac=wanted_half_width_bu_ac,
        sd_between_stops_bu_ac=between,
        sd_within_stops_bu_ac=within,
        ring_worth_bu_ac=_ring_worth(used, ears_at, counts.likely),
    )


def _interval(sampled: Sample) -> tuple[float, float] | None:
    """Return the sampling interval, cut at zero; None under three stops."""
    if sampled.low is None or sampled.high is None:
        return None
    return max(0.0, sampled.low), sampled.high


def _both_doubts(low: float, likely: float, high: float, half: float | None) -> tuple[float, float]:
    """Join the doubt of kernel weight and of counting: half widths in quadrature (derived)."""
    counting = half or 0.0
    down = ((likely - low) ** 2 + counting**2) ** 0.5
    up = ((high - likely) ** 2 + counting**2) ** 0.5
    return max(0.0, likely - down), likely + up


def _spread(
    used: Sequence[StopResult], kernels_at: Mapping[int, Sequence[float]], per_bu: float
) -> tuple[float | None, float | None]:
    """Return the standard deviations between stops and between ears of a stop, in bu/ac."""
    groups = []
    for stop in used:
        counted = kernels_at.get(stop.stop, ())
        if stop.ears_per_ac is not None:
            groups.append([stop_yield_bu_ac(stop.ears_per_ac, k, per_bu) for k in counted])
    found = nested_variance(groups)
    if found is None:
        return None, None
    return _root(found.variance_between), _root(found.variance_within)


def _root(variance: float | None) -> float | None:
    return None if variance is None else max(0.0, variance) ** 0.5


def _ring_worth(
    used: Sequence[StopResult], ears_at: Mapping[int, Sequence[Ear]], per_bu: float
) -> float | None:
    ears_ac = _mean(_known(stop.ears_per_ac for stop in used))
    rows = _mean(
        _known(
            ear.rows_around - (ear.lost_rows or 0)
            for stop in used
            for ear in ears_at.get(stop.stop, ())
            if ear.rows_around is not None and not ear.bare_cob
        )
    )
    if ears_ac is None or rows is None:
        return None
    return ring_worth_bu_ac(ears_ac, rows, per_bu)
