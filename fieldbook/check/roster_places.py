"""Where the fields of a roster lie: one far from all the others has a slip in its place."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from statistics import median

from fieldbook.agronomy.lengths import miles_between
from fieldbook.check.rows import Draft
from fieldbook.figures import shipped_figures
from fieldbook.problems import Param, Problem, problem
from fieldbook.units import DISTANCE, System
from fieldbook.words import number_words

_FEWEST = 3  # of two fields, nobody can tell which one is in the wrong place
Spot = tuple[float, float]


@dataclass(frozen=True, kw_only=True)
class _Placed:
    """A field's row and its latitude and longitude."""

    draft: Draft
    spot: Spot


def far_fields(drafts: Iterable[Draft], units: System) -> Iterator[Problem]:
    """Tell of fields that lie far from the middle of all, each by one of its rows.

    The middle is the median of latitudes and of longitudes, which one wrong place doesn't move far.
    """
    placed = [
        _Placed(draft=draft, spot=(draft.values["latitude"], draft.values["longitude"]))
        for draft in drafts
        if draft.has("latitude", "longitude")
    ]
    if len(placed) < _FEWEST:
        return
    middle = median(one.spot[0] for one in placed), median(one.spot[1] for one in placed)
    far_miles = shipped_figures().number("checks.field_far_miles")
    for one in placed:
        miles = miles_between(one.spot, middle)
        if miles > far_miles:
            yield _far(one, middle, miles, far_miles, units)


def _far(one: _Placed, middle: Spot, miles: float, far_miles: float, units: System) -> Problem:
    name = f"{one.draft.values['field_id']} {one.draft.values['field']}"
    latitude, longitude = one.spot
    words: dict[str, Param] = {
        "field": name,
        "distance": DISTANCE.about(miles, units),
    }
    for column, meant in (
        ("longitude", (latitude, -longitude)),
        ("latitude", (-latitude, longitude)),
    ):
        if miles_between(meant, middle) <= far_miles:
            typed, place = one.draft.typed(column), one.draft.place(column)
            suggested = number_words(-one.draft.values[column])
            return problem("roster-sign", place, typed=typed, suggested=suggested, **words)
    return problem("roster-far-away", one.draft.place("longitude"), **words)
