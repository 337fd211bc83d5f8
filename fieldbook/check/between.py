"""Hold a visit against the field's other visits: counts that differ, two scouts on one day."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from statistics import fmean
from typing import Generic, TypeVar

from fieldbook.agronomy.differ import paired_z, welch_z
from fieldbook.check.context import Context
from fieldbook.check.counted import ears_of, stops_of
from fieldbook.check.history import EarCount, StopCount
from fieldbook.check.rows import Finding
from fieldbook.check.visit import Located, VisitCheck, VisitDraft, at_head
from fieldbook.figures import shipped_figures
from fieldbook.problems import Param, problem
from fieldbook.units import PER_AREA
from fieldbook.words import number_words, phrase


@dataclass(frozen=True, kw_only=True)
class _Gap:
    """One kind of reading in which two visits differ beyond chance."""

    what: str
    now: float
    before: float
    per_area: bool = False


T = TypeVar("T")


@dataclass(frozen=True, kw_only=True)
class _Kind(Generic[T]):
    """One kind of reading: its name, how to get it, and the figure that holds its floors."""

    what: str
    of: Callable[[T], float | None]
    figure: str


_EARS: tuple[_Kind[EarCount], ...] = (
    _Kind(what="rows around", of=lambda ear: ear.rows_around, figure="checks.rows_differ"),
    _Kind(what="kernels an ear", of=lambda ear: ear.kernels, figure="checks.kernels_differ"),
)
_STOPS: tuple[_Kind[StopCount], ...] = (
    _Kind(what="plants", of=lambda stop: stop.plants_per_ac, figure="checks.plants_differ"),
    _Kind(what="ears", of=lambda stop: stop.ears_per_ac, figure="checks.ears_differ"),
)


def visits_differ(visit: VisitDraft, context: Context) -> Iterator[Located]:
    """Find counts further from those of an earlier visit than other ears and rows explain.

    Ears are pulled anew at each visit, so their means are compared; stops lie at the same places,
    so their stands are compared pair by pair. Told once a visit, for what differs first.
    """
    head, day = visit.head, visit.day
    if head is None or day is None:
        return
    others = context.seen(visit.slip)
    earlier = [one for one in others if one.day <= day and (one.ears or one.stops)]
    ears, stops = ([*ears_of(visit).values()], stops_of(visit)) if earlier else ([], ())
    for past in reversed(earlier):
        gaps = (*_ear_gaps(ears, past.ears), *_stand_gaps(stops, past.stops))
        if gaps:
            words = {"field": visit.name, "before_date": past.day.isoformat()}
            place, said = head.place("visit_date"), _said(gaps[0], context)
            yield at_head(Finding(problem=problem("visits-differ", place, **words, **said)))
            return


def _ear_gaps(now: Iterable[EarCount], before: Iterable[EarCount]) -> Iterator[_Gap]:
    """Compare the means of two visits' ears: Welch's test, with a floor under the spread."""
    fewest = shipped_figures().number("checks.outlier_least_ears")
    here, there = [*now], [*before]
    for kind in _EARS:
        a, b = ([v for ear in ears if (v := kind.of(ear)) is not None] for ears in (here, there))
        if min(len(a), len(b)) < fewest:
            continue
        floor_sd, share = shipped_figures().numbers(kind.figure)
        if _is_far(welch_z(a, b, floor_sd=floor_sd), fmean(a), fmean(b), share):
            yield _Gap(what=kind.what, now=fmean(a), before=fmean(b))


def _stand_gaps(now: Iterable[StopCount], before: Iterable[StopCount]) -> Iterator[_Gap]:
    """Compare two visits' stands stop by stop, since a stop keeps its place."""
    fewest = shipped_figures().number("checks.differ_least_stops")
    there = {stop.stop: stop for stop in before}
    both = [(stop, there[stop.stop]) for stop in now if stop.stop in there]
    for kind in _STOPS:
        seen = [(kind.of(a), kind.of(b)) for a, b in both]
        pairs = [(a, b) for a, b in seen if a is not None and b is not None]
        if len(pairs) < fewest:
            continue
        a, b = (fmean(side) for side in zip(*pairs, strict=True))
        floor_sd, share = shipped_figures().numbers(kind.figure)
        if _is_far(paired_z([x - y for x, y in pairs], floor_sd=floor_sd), a, b, share):
            yield _Gap(what=kind.what, now=a, before=b, per_area=True)


def _is_far(score: float, now: float, before: float, share: float) -> bool:
    """Say whether two means differ beyond chance, and by more than may truly change."""
    limit = shipped_figures().number("checks.differ_score")
    return abs(score) > limit and abs(now - before) > share * max(now, before)


def _said(gap: _Gap, context: Context) -> dict[str, Param]:
    def shown(value: float) -> str:
        if gap.per_area:
            return f"{100 * round(PER_AREA.shown(value, context.units) / 100):,}"
        return number_words(round(value, 1))

    what = phrase(gap.what)
    if gap.per_area:
        what = phrase("{what} {unit}", what=what, unit=PER_AREA.name(context.units))
    return {"what": what, "now": shown(gap.now), "before": shown(gap.before)}


def two_scouts(visit: VisitDraft, context: Context) -> Iterator[Located]:
    """Find a field that two scouts walked on one day.

    A note: both may well have been there, and both visits stand; but it is also what a date or a
    field that was mistaken looks like, and nobody else would see it.
    """
    head = visit.head
    if head is None:
        return
    for other in context.seen(visit.slip):
        if other.day == visit.day and other.scout != visit.scout:
            words = {"field": visit.name, "typed": other.day.isoformat(), "other": other.scout}
            found = problem("two-scouts-one-day", head.place("visit_date"), **words)
            yield at_head(Finding(problem=found))
            return


BETWEEN_CHECKS: tuple[VisitCheck, ...] = (visits_differ, two_scouts)
