"""How moments, problems and values are written in events and read back."""

import json
from collections.abc import Mapping
from dataclasses import asdict
from datetime import UTC, date, datetime
from functools import lru_cache
from typing import Any

from fieldbook.problems import Place, Problem, params_in, params_out


def utc_text(now: datetime) -> str:
    """Write a moment as events have it."""
    return now.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def value_out(value: Any) -> Any:
    """Write a stored value for JSON: a date becomes {"day": "2026-07-22"}."""
    return {"day": value.isoformat()} if isinstance(value, date) else value


def value_in(value: Any) -> Any:
    """Read a stored value back."""
    return date.fromisoformat(value["day"]) if isinstance(value, dict) else value


def value_text(value: Any) -> str:
    """Write a stored value as a line of JSON."""
    return str(value) if type(value) is int else json.dumps(value_out(value))


@lru_cache(maxsize=4096)
def text_value(text: str) -> Any:
    """Read a stored value back from a line of JSON; values repeat, as counts do."""
    return value_in(json.loads(text))


def problem_out(found: Problem) -> dict[str, Any]:
    """Write a problem for JSON: its code, the parts of its place that it has, its parameters."""
    place = {name: value for name, value in asdict(found.place).items() if value is not None}
    return {"code": found.code, "place": place, "params": params_out(found.params)}


def problem_in(raw: Mapping[str, Any]) -> Problem:
    """Read a problem back."""
    return Problem(code=raw["code"], place=Place(**raw["place"]), params=params_in(raw["params"]))
