"""Checks of a harvest: its acres, its loads, and whether the corn can have been ripe."""

from collections.abc import Iterator, Mapping
from datetime import timedelta
from statistics import fmean, median

from fieldbook.agronomy.scale import Weighed, harvested_bu_ac, load_lb
from fieldbook.agronomy.yields import YieldSpan, kernel_counts, yield_span_bu_ac
from fieldbook.check.context import Context
from fieldbook.check.history import PastVisit
from fieldbook.check.rows import Draft, Finding
from fieldbook.check.visit import Located, RowKey, VisitCheck, VisitDraft
from fieldbook.figures import shipped_figures
from fieldbook.forms.stages import STAGE_ORDER, stage_rank
from fieldbook.problems import Param, Place, problem
from fieldbook.units import AREA, BUSHELS, GRAIN_WEIGHT, YIELD
from fieldbook.words import phrase

_RIPE = "R6"
_YIELD_STANDS = "R3"  # before it, kernels are still lost by the hundred
_NO_KERNELS = ("V", "VT")


def acres_over(visit: VisitDraft, context: Context) -> Iterator[Located]:
    """Find more acres cut than the field has."""
    head, field = visit.head, context.field_of(visit.slip)
    if head is None or field is None or not head.has("acres_cut"):
        return
    slack = 1 + shipped_figures().number("settle.acres_slack_pct") / 100
    if head.values["acres_cut"] <= slack * field.acres:
        return
    params: dict[str, Param] = {
        "typed": head.typed("acres_cut"),
        "has": AREA.about(field.acres, context.units, 1),
    }
    found = problem("harvest-acres-over", head.place("acres_cut"), field=visit.name, **params)
    yield "fields", (), Finding(problem=found, marks=("acres_cut",))


def two_weights(visit: VisitDraft, context: Context) -> Iterator[Located]:
    """Find a load whose weight and wet bushels are not of the same grain."""
    apart = shipped_figures().number("settle.weights_apart_pct") / 100
    for key, draft in _loads(visit):
        if not draft.has("wet_lb", "wet_bu"):
            continue
        by_bushels = load_lb(None, draft.values["wet_bu"]) or 0.0
        if abs(draft.values["wet_lb"] - by_bushels) <= apart * by_bushels:
            continue
        found = problem(
            "harvest-weights-differ",
            draft.place("wet_bu"),
            bushels=BUSHELS.about(draft.values["wet_bu"], context.units, 1),
            weight=GRAIN_WEIGHT.about(by_bushels, context.units, 1),
            typed=draft.typed("wet_lb"),
        )
        yield "harvest", key, Finding(problem=found, marks=("wet_lb", "wet_bu"))


def without_weight(visit: VisitDraft, context: Context) -> Iterator[Located]:
    """Find a load with a moisture but no weight."""
    for key, draft in _loads(visit):
        weighed = any(draft.has(name) or draft.is_faulty(name) for name in ("wet_lb", "wet_bu"))
        if draft.has("moisture_pct") and not weighed:
            moisture, wet = map(draft.form.sheet.column, ("moisture_pct", "wet_lb"))
            words = {"column": phrase(moisture.label), "needs": phrase(wet.label)}
            found = problem("part-missing", draft.place("wet_lb"), **words)
            yield "harvest", key, Finding(problem=found)


def ticket_twice(visit: VisitDraft, context: Context) -> Iterator[Located]:
    """Find two loads of one ticket."""
    seen: dict[str, RowKey] = {}
    for key, draft in _loads(visit):
        ticket = draft.values.get("ticket")
        if ticket is None:
            continue
        if ticket in seen:
            place, marks = draft.place("ticket"), ("wet_lb", "wet_bu", "moisture_pct")
            found = problem("harvest-ticket-twice", place, typed=ticket, first=seen[ticket][0])
            yield "harvest", key, Finding(problem=found, marks=marks)
        seen.setdefault(ticket, key)


def light_load(visit: VisitDraft, context: Context) -> Iterator[Located]:
    """Find a load that is next to nothing beside the field's others: another unit, or a slip."""
    for key, draft, others_lb in _light_loads(visit):
        name = "wet_lb" if draft.has("wet_lb") else "wet_bu"
        column = draft.form.sheet.column(name)
        params: dict[str, Param] = {
            "typed": draft.typed(name),
            "column": phrase(column.label),
            "unit": column.unit.name(context.units),
            "others": GRAIN_WEIGHT.about(others_lb, context.units, 1),
        }
        found = problem("harvest-load-light", draft.place(name), field=visit.name, **params)
        yield "harvest", key, Finding(problem=found, marks=(name,))


def _light_loads(visit: VisitDraft) -> Iterator[tuple[RowKey, Draft, float]]:
    """Yield the loads under a small share of their fellows' middle, with this weight [lb]."""
    share = shipped_figures().number("settle.light_load_pct") / 100
    sound = {key: (draft, load) for key, draft in _loads(visit) if (load := _sound(draft))}
    for key, (draft, load) in sound.items():
        others = [other.wet_lb for at, (_, other) in sound.items() if at != key]
        if others and load.wet_lb < share * median(others):
            yield key, draft, median(others)


def yield_odd(visit: VisitDraft, context: Context) -> Iterator[Located]:
    """Find loads and acres that together make no likely yield, or not the one that was counted.

    A load that is half filled or in doubt has been told; a sum with or without it says nothing.
    """
    made, counted = _made(visit, context), _counted(visit, context)
    if made is None:
        return
    least, most = shipped_figures().numbers("settle.usual_yield_bu_ac")
    factor = shipped_figures().number("settle.off_count_factor")
    if not least <= made <= most:
        yield _odd_yield("harvest-yield-odd", visit, context, made, (least, most))
    elif counted and not counted.low / factor <= made <= factor * counted.high:
        span = (counted.low, counted.high)
        yield _odd_yield("harvest-off-count", visit, context, made, span)


def _odd_yield(
    code: str, visit: VisitDraft, context: Context, made: float, usual: tuple[float, float]
) -> Located:
    ends = {"least": usual[0], "most": usual[1], "made": made}
    words = {name: YIELD.about(value, context.units, 1) for name, value in ends.items()}
    place = visit.head.place("acres_cut") if visit.head else Place()
    found = problem(code, place, field=visit.name, **words)
    return "fields", (), Finding(problem=found, marks=("acres_cut",))


def _made(visit: VisitDraft, context: Context) -> float | None:
    """Return what the loads make [bu/ac]; None where one of them or the area is in doubt."""
    head, field = visit.head, context.field_of(visit.slip)
    loads = [_sound(draft) for _, draft in _loads(visit) if draft.is_filled]
    sound = [load for load in loads if load]
    if head is None or field is None or not sound or len(sound) < len(loads):
        return None
    if head.is_doubted("acres_cut") or any(_light_loads(visit)):
        return None
    return harvested_bu_ac(sound, head.values.get("acres_cut") or field.acres)


def _counted(visit: VisitDraft, context: Context) -> YieldSpan | None:
    """Return the yield by the field's last count of ears and kernels, once these stand.

    A count of too few stops for an interval is taken only where there is no other.
    """
    fewest = shipped_figures().number("sampling.least_for_interval")
    made = [(seen, span) for seen in context.seen(visit.slip) if (span := _span(seen))]
    whole = [(seen, span) for seen, span in made if _stops_counted(seen) >= fewest]
    return next((span for _, span in reversed(whole or made)), None)


def _stops_counted(seen: PastVisit) -> int:
    """How many stops have both a count of ears in the row and an ear whose kernels are counted."""
    stands = {stop.stop for stop in seen.stops if stop.ears_per_ac}
    return len(stands & {ear.stop for ear in seen.ears if ear.kernels})


def _span(seen: PastVisit) -> YieldSpan | None:
    if seen.stage is None or stage_rank(seen.stage) < stage_rank(_YIELD_STANDS):
        return None
    ears = [stop.ears_per_ac for stop in seen.stops if stop.ears_per_ac]
    kernels = [ear.kernels for ear in seen.ears if ear.kernels]
    if not (ears and kernels):
        return None
    return yield_span_bu_ac(fmean(ears), fmean(kernels), kernel_counts(None))


def _sound(draft: Draft) -> Weighed | None:
    """Return a row's load; None where part of it is missing or in doubt."""
    cells = ("wet_lb", "wet_bu", "moisture_pct")
    if any(draft.is_faulty(name) or draft.is_doubted(name) for name in cells):
        return None
    return weighed(draft.values)


def before_ripe(visit: VisitDraft, context: Context) -> Iterator[Located]:
    """Find a harvest on a day on which the corn cannot have been ripe, after what was seen."""
    head = visit.head
    if head is None or "harvest" not in visit.rows or not head.has("visit_date"):
        return
    day = head.values["visit_date"]
    for seen in context.seen(visit.slip):
        if seen.stage in (None, _RIPE):
            continue
        if day < seen.day + timedelta(days=fewest_days_to_ripe(seen.stage)) or day == seen.day:
            params = {"typed": day.isoformat(), "before": seen.stage}
            where = head.place("visit_date")
            seen_on = seen.day.isoformat()
            found = problem("harvest-before-ripe", where, before_date=seen_on, **params)
            yield "fields", (), Finding(problem=found, marks=("visit_date",))
            return


def fewest_days_to_ripe(stage: str) -> int:
    """Return the fewest days from a stage, at its very end, to black layer (derived).

    Days after silking to black layer at the least, less those to the next stage at the most.
    """
    if stage in _NO_KERNELS:
        return int(_days_after_silk(_RIPE)[0])
    later = STAGE_ORDER[stage_rank(stage) + 1]
    if later == _RIPE:
        return 0
    return max(0, int(_days_after_silk(_RIPE)[0] - _days_after_silk(later)[1]))


def _days_after_silk(stage: str) -> tuple[float, ...]:
    return shipped_figures().numbers(f"days_after_silk.{stage.lower()}")


def weighed(values: Mapping[str, float | None]) -> Weighed | None:
    """Return a row's load; None while its weight or moisture is missing."""
    pounds = load_lb(values.get("wet_lb"), values.get("wet_bu"))
    moisture_pct = values.get("moisture_pct")
    if pounds is None or moisture_pct is None:
        return None
    return Weighed(wet_lb=pounds, moisture_pct=moisture_pct)


def _loads(visit: VisitDraft) -> Iterator[tuple[RowKey, Draft]]:
    return iter(visit.rows.get("harvest", {}).items())


HARVEST_CHECKS: tuple[VisitCheck, ...] = (
    acres_over,
    two_weights,
    without_weight,
    ticket_twice,
    light_load,
    yield_odd,
    before_ripe,
)
