"""The plan as JSON, for machines and for `blank --follow-plan`, which reads it back."""

import io
import json
from collections.abc import Iterable, Mapping
from datetime import date
from pathlib import Path
from typing import Any

from fieldbook.ledger.folder import SeasonFolder, digest
from fieldbook.ledger.safely import write_safely
from fieldbook.problems import sentence
from fieldbook.results.due import LikelyDay
from fieldbook.results.planning import USUAL_DAYS, PlannedRound, SeasonPlan

SCHEMA_VERSION = 1
_NAME, _WORKBOOKS = "plan.json", "workbooks"
_UNREADABLE = (FileNotFoundError, ValueError, KeyError, TypeError, AttributeError)


def plan_json(plan: SeasonPlan, *, language: str, scout: str | None = None) -> str:
    """Write a plan, or one scout's part of it; ways in miles."""
    return _text(_raw(plan, language=language, scout=scout)).decode()


def _raw(plan: SeasonPlan, *, language: str, scout: str | None = None) -> dict[str, Any]:
    return {
        "schema_version": SCHEMA_VERSION,
        "as_of": plan.as_of.isoformat(),
        "through": plan.through.isoformat(),
        "fields_a_day": dict(plan.fields_a_day),
        "rounds": [_round(one) for one in plan.rounds if scout in (None, one.scout)],
        "problems": [
            {
                "code": found.code,
                "field": found.place.field_id,
                "message": sentence(found, language),
            }
            for found in plan.problems
        ],
    }


def _text(raw: Mapping[str, Any]) -> bytes:
    """Write JSON to be read by people, too, without holding each of its many pieces."""
    text = io.BytesIO()
    for piece in json.JSONEncoder(indent=2).iterencode(raw):
        text.write(piece.encode())
    return text.getvalue()


def _round(one: PlannedRound) -> dict[str, Any]:
    return {
        "field": one.field_id,
        "scout": one.scout,
        "round": one.round,
        "state": str(one.state),
        "day": _day(one.day),
        "number": one.number,
        "miles_from_last": None if one.miles is None else round(one.miles, 2),
        "opens": _likely(one.window.opens),
        "closes": _likely(one.window.closes),
        "may_walk_from": _day(one.may_walk_from),
        "call_first": one.call_first,
        "mould": one.window.mould,
    }


def _likely(likely: LikelyDay) -> dict[str, str | None]:
    return {
        "day": _day(likely.day),
        "earliest": _day(likely.earliest),
        "latest": _day(likely.latest),
    }


def _day(day: date | None) -> str | None:
    return day.isoformat() if day else None


def keep_plan(
    folder: SeasonFolder, plan: SeasonPlan, *, language: str, workbooks: Iterable[bytes] = ()
) -> Path:
    """Keep a plan in its season's folder over the one before it.

    `workbooks` are those of ours that may stand beside it: the new one, and while that is being
    written the one before.
    """
    path = folder.plan / _NAME
    raw = _raw(plan, language=language)
    raw[_WORKBOOKS] = sorted(map(digest, workbooks))
    write_safely(path, _text(raw))
    return path


def is_kept(folder: SeasonFolder, plan: SeasonPlan, *, language: str) -> bool:
    """Say whether this very plan is the one that is kept."""
    try:
        kept = _kept(folder)
        kept.pop(_WORKBOOKS, None)
    except _UNREADABLE:
        return False
    return bool(kept == _raw(plan, language=language))


def is_workbook_of_ours(folder: SeasonFolder, workbook: bytes) -> bool:
    """Say whether a workbook is as it was written with the kept plan.

    Plans kept before this was noted say nothing of theirs: then it counts as such.
    """
    try:
        ours: list[str] = _kept(folder)[_WORKBOOKS]
        return digest(workbook) in ours
    except _UNREADABLE:
        return True


def fields_in_walking_order(folder: SeasonFolder, round_name: str) -> tuple[str, ...] | None:
    """Read from the kept plan which fields a round's scouts walk, in walking order.

    None where there is no plan that can be read.
    """
    try:
        rounds = [one for one in _kept_rounds(folder) if one["round"] == round_name and one["day"]]
        rounds.sort(key=lambda one: (one["day"], one["number"]))
        return tuple(str(one["field"]) for one in rounds)
    except _UNREADABLE:
        return None


def planned_days(folder: SeasonFolder) -> Mapping[tuple[str, str], date]:
    """Read from the kept plan the day of every planned walk, by field ID and round.

    Empty where there is no plan that can be read.
    """
    try:
        return {
            (str(one["field"]), str(one["round"])): date.fromisoformat(one["day"])
            for one in _kept_rounds(folder)
            if one["day"]
        }
    except _UNREADABLE:
        return {}


def planned_span(folder: SeasonFolder) -> int:
    """Read from the kept plan how many days it lays out; the usual number without one."""
    try:
        kept = _kept(folder)
        first, last = (date.fromisoformat(kept[name]) for name in ("as_of", "through"))
        return max(1, (last - first).days + 1)
    except _UNREADABLE:
        return USUAL_DAYS


def _kept_rounds(folder: SeasonFolder) -> list[dict[str, Any]]:
    return list(_kept(folder)["rounds"])


def _kept(folder: SeasonFolder) -> dict[str, Any]:
    kept: dict[str, Any] = json.loads((folder.plan / _NAME).read_bytes())
    return kept
