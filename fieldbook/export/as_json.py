"""The computed figures and a check's verdict as JSON, with units in the names of the keys."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import fields as dataclass_fields
from dataclasses import is_dataclass, replace
from datetime import date
from math import isfinite
from typing import Any

from fieldbook.agronomy.harvest_order import Turn
from fieldbook.problems import Problem, sentence
from fieldbook.results.result import FieldResult, HeatResult, StageResult, VisitResult
from fieldbook.results.settle import SettledSeason
from fieldbook.results.trials import TrialResult
from fieldbook.results.yield_result import EarsResult, StopResult, YieldResult
from fieldbook.season.taken import Taken

SCHEMA_VERSION = 1
_DIGITS = 4


def results_json(
    fields: Iterable[FieldResult],
    *,
    as_of: date,
    language: str,
    order: Iterable[Turn] = (),
    trials: Iterable[TrialResult] = (),
    settled: SettledSeason | None = None,
) -> str:
    """Write every computed figure: of every field, and of the season what fields make together."""
    raw = {
        "schema_version": SCHEMA_VERSION,
        "as_of": as_of.isoformat(),
        "fields": [field_record(result, language) for result in fields],
        "harvest_order": [_plain(turn) for turn in order],
        "trials": [_with_problems(trial, trial.problems, language) for trial in trials],
        "settled": _with_problems(settled, settled.problems, language) if settled else None,
    }
    return json.dumps(raw, indent=2)


def _with_problems(
    record: TrialResult | SettledSeason, problems: Iterable[Problem], language: str
) -> dict[str, Any]:
    """Write a record with its problems as a person is told them."""
    told = [_problem(found, language) for found in problems]
    return {**_plain(replace(record, problems=())), "problems": told}


def check_json(taken: Taken, *, as_of: date, language: str) -> str:
    """Write a check's verdict on one file."""
    verdict = taken.verdict
    readings = verdict.readings if verdict else ()
    raw = {
        "schema_version": SCHEMA_VERSION,
        "as_of": as_of.isoformat(),
        "file": taken.name,
        "readable": verdict is not None,
        "visits": list(taken.visits),
        "readings": len(readings),
        "problems": [_problem(found, language) for found in taken.open_problems],
    }
    return json.dumps(raw, indent=2)


def records_json(
    records: Mapping[str, Any], problems: Iterable[Problem], *, as_of: date, language: str
) -> str:
    """Write records as they are, beside what a person is told of them."""
    raw = {
        "schema_version": SCHEMA_VERSION,
        "as_of": as_of.isoformat(),
        **{name: _plain(value) for name, value in records.items()},
        "problems": [_problem(found, language) for found in problems],
    }
    return json.dumps(raw, indent=2)


def _problem(found: Problem, language: str) -> dict[str, Any]:
    place = found.place
    return {
        "code": found.code,
        "weight": str(found.weight),
        "file": place.file,
        "sheet": place.sheet,
        "cell": place.cell,
        "field": place.field_id,
        "visit": place.visit_id,
        "column": place.column,
        "message": sentence(found, language),
    }


def _number(value: float | None) -> float | None:
    return None if value is None else round(value, _DIGITS)


def _day(value: date | None) -> str | None:
    return value.isoformat() if value else None


def _pair(value: tuple[float, float] | None) -> list[float] | None:
    return [round(part, _DIGITS) for part in value] if value else None


def field_record(result: FieldResult, language: str) -> dict[str, Any]:
    """Return every computed figure of one field, as the JSON writes it."""
    ears = result.ears
    return {
        "id": result.field_id,
        "field": result.field,
        "grower_id": result.grower_id,
        "grower": result.grower,
        "acres": result.acres,
        "row_width_in": result.row_width_in,
        "plantings": [
            {"hybrid": p.hybrid, "planted": p.planted.isoformat(), "acres": p.acres}
            for p in result.plantings
        ],
        "visits": [_visit(visit) for visit in result.visits],
        "count_visit": result.count_visit,
        "yield": _yield(result.yield_) if result.yield_ else None,
        "weighed": _plain(result.weighed),
        "weighed_beside_counted": _plain(result.methods),
        "stops": [_stop(stop) for stop in result.stops],
        "kernels_per_ear": _number(ears.kernels_per_ear) if ears else None,
        "kernel_set_pct": _number(ears.kernel_set_pct) if ears else None,
        "loss_rings": _loss(ears),
        "ears": _ears(ears) if ears else None,
        "gdd_since_planting_f": _number(result.heat.gdd_since_planting_f) if result.heat else None,
        "weather": _heat(result.heat) if result.heat else None,
        "stages": [_stage(stage) for stage in result.stages],
        "pollination": _plain(result.pollination),
        "gaps": _plain(result.gaps),
        "leaves": _plain(result.leaves),
        "fungicide": _plain(result.fungicide),
        "ripe": _plain(result.ripe),
        "outlook": _plain(result.outlook),
        "harvest": _plain(result.harvest),
        "photos": _plain(result.photos),
        "questions": [_problem(found, language) for found in result.questions],
        "notes": [_problem(found, language) for found in result.notes],
        "confirmed": [_problem(found, language) for found in result.confirmed],
    }


def _plain(value: Any) -> Any:
    """Write a record as it is: its fields' names carry the units, an endless range is null."""
    if is_dataclass(value):
        return {f.name: _plain(getattr(value, f.name)) for f in dataclass_fields(value)}
    if isinstance(value, Mapping):
        return {str(key): _plain(part) for key, part in value.items()}
    if isinstance(value, tuple | list):
        return [_plain(part) for part in value]
    if isinstance(value, float):
        return _number(value) if isfinite(value) else None
    return value.isoformat() if isinstance(value, date) else value


def _visit(visit: VisitResult) -> dict[str, Any]:
    return {
        "id": visit.visit_id,
        "round": visit.round,
        "date": _day(visit.date),
        "scout": visit.scout,
        "stage": visit.stage,
        "grain_fill": visit.grain_fill,
        "stops": visit.stops,
        "ears": visit.ears,
    }


def _yield(found: YieldResult) -> dict[str, Any]:
    return {
        "low_bu_ac": _number(found.low_bu_ac),
        "likely_bu_ac": _number(found.likely_bu_ac),
        "high_bu_ac": _number(found.high_bu_ac),
        "interval_95_bu_ac": _pair(found.interval_95_bu_ac),
        "range_bu_ac": _pair(found.range_bu_ac),
        "counting_half_width_bu_ac": _number(found.counting_half_width_bu_ac),
        "thousand_kernels_per_bu": list(found.thousand_kernels_per_bu),
        "grain_fill": found.grain_fill,
        "grain_fill_stated": found.grain_fill_stated,
        "own_kernel_counts_of": found.own_of,
        "stops_used": found.stops_used,
        "stops_left_out": found.stops_left_out,
        "stops_still_needed": found.stops_still_needed,
        "wanted_half_width_bu_ac": found.wanted_half_width_bu_ac,
        "sd_between_stops_bu_ac": _number(found.sd_between_stops_bu_ac),
        "sd_within_stops_bu_ac": _number(found.sd_within_stops_bu_ac),
        "one_kernel_per_row_bu_ac": _number(found.ring_worth_bu_ac),
    }


def _stop(stop: StopResult) -> dict[str, Any]:
    return {
        "stop": stop.stop,
        "place": stop.place,
        "ears_per_ac": _number(stop.ears_per_ac),
        "plants_per_ac": _number(stop.plants_per_ac),
        "kernels_per_ear": _number(stop.kernels_per_ear),
        "ears_used": stop.ears_used,
        "yield_bu_ac": _number(stop.yield_bu_ac),
        "left_out": stop.left_out,
        "latitude": stop.latitude,
        "longitude": stop.longitude,
        "place_typed": stop.place_typed,
    }


def _loss(ears: EarsResult | None) -> dict[str, float | None]:
    loss = ears.loss if ears else None
    return {
        "base": _number(loss.base_rings) if loss else None,
        "inside": _number(loss.inside_rings) if loss else None,
        "tip_unset": _number(loss.tip_unset_rings) if loss else None,
        "tip_aborted": _number(loss.tip_aborted_rings) if loss else None,
    }


def _ears(ears: EarsResult) -> dict[str, Any]:
    return {
        "count": ears.ears,
        "bare_cobs": ears.bare_cobs,
        "complete": ears.complete_ears,
        "kernels_per_ear_sd": _number(ears.kernels_per_ear_sd),
        "rows_around": _number(ears.rows_around),
        "kernels_per_row": _number(ears.kernels_per_row),
        "rings": _number(ears.rings),
        "pattern": ears.pattern,
        "loss_counted_on": {
            "base": ears.loss.base_ears,
            "inside": ears.loss.inside_ears,
            "tip_unset": ears.loss.tip_unset_ears,
            "tip_aborted": ears.loss.tip_aborted_ears,
        },
    }


def _heat(heat: HeatResult) -> dict[str, Any]:
    return {
        "station": heat.station,
        "through": _day(heat.weather_through),
        "past_years": heat.past_years,
        "days_filled": heat.days_filled,
        "days_missing": heat.days_missing,
    }


def _stage(stage: StageResult) -> dict[str, Any]:
    return {
        "stage": stage.stage,
        "date": _day(stage.date),
        "earliest": _day(stage.earliest),
        "latest": _day(stage.latest),
        "basis": stage.basis,
        "years": stage.years,
        "anchor_stage": stage.anchor_stage,
        "anchor_date": _day(stage.anchor_date),
        "passed": stage.passed,
    }
