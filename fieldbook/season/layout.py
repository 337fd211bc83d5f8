"""Where to stop: places drawn before anybody walks in, off the edges, spread over the field.

The draw is random but seeded by season, field and round, so that a book made again is the same
book, a second visit comes back to the same places, and nobody can choose good-looking corn.
"""

import hashlib
import math
import random
from dataclasses import dataclass

from fieldbook.agronomy.lengths import (
    FT_PER_DEGREE,
    SQ_FT_PER_AC,
    feet_and_inches,
    row_length_ft,
    row_length_m,
)
from fieldbook.check.roster import Field
from fieldbook.forms.stops import standard_length_ft
from fieldbook.units import ROW_LENGTH, ROW_WIDTH, System
from fieldbook.words import say
from fieldbook.workbook.plan import StopPlan

_EDGE_FT = 100.0
_EDGE_SHARE = 0.2
_PACE_FT = 2.5


@dataclass(frozen=True, kw_only=True)
class Spot:
    """A place as feet along the rows and feet across them, from one corner."""

    along_ft: float
    across_ft: float


def draw_spots(acres: float, stops: int, seed: str) -> tuple[Spot, ...]:
    """Draw one spot in each of `stops` strips across a square field, in walking order.

    The outline of a field is not in the roster, so a square of its acres stands for it; what the
    scout finds there may be moved, and is then typed in.
    """
    draw = random.Random(hashlib.sha256(seed.encode()).digest())
    side = math.sqrt(acres * SQ_FT_PER_AC)
    edge = min(_EDGE_FT, _EDGE_SHARE * side)
    strips = list(range(stops))
    draw.shuffle(strips)
    span = (side - 2 * edge) / stops
    return tuple(
        Spot(
            along_ft=edge + span * (strip + draw.random()),
            across_ft=edge + span * (order + draw.random()),
        )
        for order, strip in enumerate(strips)
    )


def plan_stops(
    field: Field, stops: int, *, seed: str, units: System, language: str
) -> tuple[StopPlan, ...]:
    """Lay out a field's stops, each with where to go and what length to measure."""
    spots = draw_spots(field.acres, stops, seed) if stops else ()
    return tuple(
        StopPlan(
            stop=number,
            go_to=_go_to(field, spot, language),
            measure=measure_words(field.row_width_in, units, language),
            standard_length_ft=standard_length_ft(field.row_width_in, units),
        )
        for number, spot in enumerate(spots, start=1)
    )


def measure_words(row_width_in: float, units: System, language: str) -> str:
    """Say the length of row to measure, for example "17 ft 5 in"."""
    if units is System.METRIC:
        meters = row_length_m(ROW_WIDTH.shown(row_width_in, units) / 100)
        return ROW_LENGTH.amount(f"{meters:.2f}", units).said(language)
    feet, inches = feet_and_inches(row_length_ft(row_width_in))
    return say("{feet} ft {inches} in", language, feet=feet, inches=inches)


def planned_places(field: Field, stops: int, *, seed: str) -> tuple[tuple[float, float], ...]:
    """Return latitude and longitude of a field's stops as laid out; none without the field's."""
    if field.latitude is None or field.longitude is None or not stops:
        return ()
    spots = draw_spots(field.acres, stops, seed)
    return tuple(_place(field.acres, (field.latitude, field.longitude), spot) for spot in spots)


def _go_to(field: Field, spot: Spot, language: str) -> str:
    if field.latitude is None or field.longitude is None:
        along, across = (max(1, round(ft / _PACE_FT)) for ft in (spot.along_ft, spot.across_ft))
        return say("Paces: {along} along, {across} across", language, along=along, across=across)
    latitude, longitude = _place(field.acres, (field.latitude, field.longitude), spot)
    return f"{latitude:.5f}, {longitude:.5f}"


def _place(acres: float, middle: tuple[float, float], spot: Spot) -> tuple[float, float]:
    latitude, longitude = middle
    side = math.sqrt(acres * SQ_FT_PER_AC)
    north = (spot.along_ft - side / 2) / FT_PER_DEGREE
    shrink = math.cos(math.radians(latitude))
    east = (spot.across_ft - side / 2) / (FT_PER_DEGREE * shrink)
    return latitude + north, longitude + east
