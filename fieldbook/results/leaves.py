"""Leaf disease by visit, held against the named rule, and the fungicide question. Pure."""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from fieldbook.agronomy.fungicide import (
    PreHarvest,
    SeverityClass,
    break_even_bu_ac,
    chance_to_break_even,
    pre_harvest,
    price_cost_table,
    severity_class,
    spray_window,
)
from fieldbook.agronomy.leafrules import (
    GRAY_LEAF_SPOT,
    NORTHERN_BLIGHT,
    Risks,
    RuleResult,
    judge_visit,
    unknown_seen,
)
from fieldbook.agronomy.leaves import LeafCount, LeafReading, leaf_readings, trend
from fieldbook.agronomy.wilson import Change
from fieldbook.agronomy.windows import WeatherDay, is_warm_and_wet, weather_between
from fieldbook.check.roster import Field
from fieldbook.figures import Figures
from fieldbook.ledger.stored import StoredVisit, visit_day, visit_stage
from fieldbook.results.looks_result import FungicideResult, LeavesResult, OutlookResult
from fieldbook.results.result import StageResult
from fieldbook.settings.settings import Settings

_IN_TIME = ("V", "VT", "R1", "R2")
_CORN = ("corn", "maize")
_WEATHER_BEFORE = timedelta(days=14)
_NAMES = {GRAY_LEAF_SPOT: "gray leaf spot", NORTHERN_BLIGHT: "northern leaf blight"}


def leaves(
    field: Field,
    visits: Sequence[StoredVisit],
    settings: Settings,
    weather: Sequence[WeatherDay],
    figures: Figures,
) -> LeavesResult | None:
    """Sum up what visits saw on leaves, and judge one of them; None where none looked.

    The rules are for a look around tassel: the last one before milk is judged, else the last.
    """
    looked = [(visit, rows) for visit in visits if (rows := _counts(visit))]
    if not looked:
        return None
    in_time = [pair for pair in looked if visit_stage(pair[0]) in _IN_TIME]
    judged, rows = (in_time or looked)[-1]
    readings = leaf_readings([row for _, some in looked for row in some], figures=figures)
    return LeavesResult(
        day=rows[0].visit_date,
        readings=readings,
        judged=_judged(field, visit_stage(judged), rows, settings, weather, figures),
        trends=_trends(readings),
        unknown=unknown_seen(rows),
    )


def _counts(visit: StoredVisit) -> list[LeafCount]:
    day = visit_day(visit)
    if day is None:
        return []
    return [
        LeafCount(
            visit_date=day,
            stop=leaf.stop,
            disease=leaf.disease,
            looked=leaf.looked,
            with_it=leaf.with_it,
            high=leaf.high,
            highest_leaf=leaf.highest_leaf,
            severity_pct=leaf.severity_pct,
        )
        for leaf in visit.records["leaves"]
        if leaf.disease is not None
    ]


def _judged(
    field: Field,
    stage: str | None,
    rows: Sequence[LeafCount],
    settings: Settings,
    weather: Sequence[WeatherDay],
    figures: Figures,
) -> tuple[RuleResult, ...]:
    """Judge each disease with its own history in the field."""
    warm = _is_warm_and_wet(weather, rows[0].visit_date, figures)
    by_history = {
        disease: judge_visit(
            rows,
            stage=stage,
            rule=settings.leaf_rule,
            ratings=field.main_planting.ratings,
            risks=_risks(field, name, warm),
            figures=figures,
        )
        for disease, name in _NAMES.items()
    }
    others = by_history[GRAY_LEAF_SPOT]
    own = {d: one for d, judged in by_history.items() for one in judged if one.disease == d}
    return tuple(own.get(one.disease, one) for one in others)


def _risks(field: Field, disease: str, warm_humid: bool | None) -> Risks:
    """Return what the roster says of a field's risks; what it leaves empty is not known."""
    history, crop = field.disease_history, field.previous_crop
    return Risks(
        history=None if history is None else disease in history.casefold(),
        corn_after_corn=None if crop is None else crop.strip().casefold().startswith(_CORN),
        residue_pct=field.residue_pct,
        warm_humid=warm_humid,
    )


def _is_warm_and_wet(weather: Sequence[WeatherDay], day: date, figures: Figures) -> bool | None:
    if not weather or weather[-1].day < day - timedelta(days=1):
        return None
    first, last = day - _WEATHER_BEFORE, day - timedelta(days=1)
    before = weather_between(weather, first, last, figures=figures)
    return is_warm_and_wet(before, figures=figures)


def _trends(readings: Sequence[LeafReading]) -> dict[str, Change]:
    by_disease: dict[str, list[LeafReading]] = {}
    for reading in readings:
        by_disease.setdefault(reading.disease, []).append(reading)
    moved = {disease: trend(some) for disease, some in by_disease.items()}
    return {disease: change for disease, change in moved.items() if change is not None}


def fungicide(
    field: Field,
    stages: Sequence[StageResult],
    seen: str | None,
    found: LeavesResult | None,
    outlook: OutlookResult,
    settings: Settings,
    *,
    as_of: date,
    figures: Figures,
) -> FungicideResult:
    """Put together what belongs to the question, each part only where it is known."""
    cost, price = settings.fungicide_cost_per_ac, settings.price_per_bu
    even = break_even_bu_ac(cost, price) if cost and price else None
    gain, spread = settings.fungicide_gain_bu_ac, settings.fungicide_gain_sd_bu_ac
    known = even is not None and gain is not None and spread is not None
    return FungicideResult(
        window=spray_window(as_of, _spans(stages), seen=seen),
        cost_per_ac=cost,
        price_per_bu=price,
        break_even_bu_ac=even,
        chance=chance_to_break_even(even, gain, spread) if known else None,  # type: ignore[arg-type]
        gain_bu_ac=gain,
        gain_sd_bu_ac=spread,
        gain_source=settings.fungicide_gain_source,
        table=price_cost_table(_around(cost), _around(price)) if cost and price else None,
        severity=_severity(found, figures),
        pre_harvest=_pre_harvest(field, outlook),
    )


def _spans(stages: Sequence[StageResult]) -> Mapping[str, tuple[date, date]]:
    """Return earliest and latest day of every stage that has any."""
    spans = {}
    for stage in stages:
        first, last = stage.earliest or stage.date, stage.latest or stage.date
        if first and last:
            spans[stage.stage] = (first, last)
    return spans


def _around(value: float) -> tuple[float, ...]:
    """Return a value with a fifth less and a fifth more, for a small table."""
    return tuple(round(value * share, 2) for share in (0.8, 1.0, 1.2))


def _severity(found: LeavesResult | None, figures: Figures) -> SeverityClass | None:
    """Return the class of the worst severity; None where that of one disease is not known."""
    ruled = [one for one in found.judged if one.disease in _NAMES] if found else []
    known = [pct for one in ruled if (pct := one.reading.worst_pct) is not None]
    is_whole = bool(known) and len(known) == len(ruled)
    return severity_class(max(known), figures=figures) if is_whole else None


def _pre_harvest(field: Field, outlook: OutlookResult) -> PreHarvest | None:
    """Hold the label's interval against the first likely harvest date."""
    dry = outlook.dry
    if field.sprayed_on is None or field.pre_harvest_days is None or dry is None:
        return None
    first = dry.earliest or dry.date
    if first is None:
        return None
    return pre_harvest(field.sprayed_on, field.pre_harvest_days, first, dry.latest)
