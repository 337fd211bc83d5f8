"""Checks of where a stop lies: at its field, or in another county."""

import math
from collections.abc import Iterator

from fieldbook.agronomy.lengths import miles_between
from fieldbook.check.context import Context
from fieldbook.check.roster import Field
from fieldbook.check.rows import Draft, Finding
from fieldbook.check.visit import Located, VisitCheck, VisitDraft
from fieldbook.problems import problem
from fieldbook.units import DISTANCE, System

_FAR_MILES = 1.0


def stop_places(visit: VisitDraft, context: Context) -> Iterator[Located]:
    """Find stops that stand far from the field, or on the wrong side of the world."""
    field = context.field_of(visit.slip)
    if field is None or field.latitude is None or field.longitude is None:
        return
    there = (field.latitude, field.longitude)
    for key, draft in visit.rows.get("stops", {}).items():
        if draft.stands("latitude", "longitude"):
            finding = _place_finding(draft, field, there, visit.name, context.units)
            if finding:
                yield "stops", key, finding


def _place_finding(
    draft: Draft, field: Field, there: tuple[float, float], name: str, units: System
) -> Finding | None:
    marks = ("latitude", "longitude")
    here = (draft.values["latitude"], draft.values["longitude"])
    miles = miles_between(here, there)
    reach = _FAR_MILES + math.sqrt(field.acres / 640)
    if miles <= reach:
        return None
    place = draft.place("longitude")
    if miles_between((here[0], -here[1]), there) <= reach:
        typed, suggested = draft.typed("longitude"), -here[1]
        found = problem("longitude-sign", place, field=name, typed=typed, suggested=suggested)
        return Finding(problem=found, marks=marks)
    distance = DISTANCE.about(miles, units)
    found = problem("stop-far-away", place, distance=distance, field=name)
    return Finding(problem=found, marks=marks)


PLACE_CHECKS: tuple[VisitCheck, ...] = (stop_places,)
