"""Where the stops of a count were: as typed by the scout, else as the book laid them out."""

from collections.abc import Sequence
from dataclasses import replace

from fieldbook.check.roster import Field
from fieldbook.forms.rounds import KERNEL_COUNT
from fieldbook.ledger.stored import StoredVisit
from fieldbook.results.yield_result import StopResult
from fieldbook.season.layout import planned_places
from fieldbook.settings.settings import Settings


def with_places(
    stops: Sequence[StopResult], visit: StoredVisit, field: Field, settings: Settings
) -> tuple[StopResult, ...]:
    """Give each stop of a count its place.

    Where a book had other stops than the field usually gets, the planned places are not known.
    """
    read = {one.stop: one for one in visit.records["stops"]}
    planned = _planned(max((stop.stop for stop in stops), default=0), field, settings)
    made = []
    for stop in stops:
        row = read.get(stop.stop)
        latitude, longitude = (row.latitude, row.longitude) if row else (None, None)
        is_typed = latitude is not None and longitude is not None
        if not is_typed:
            latitude, longitude = planned.get(stop.stop, (None, None))
        made.append(replace(stop, latitude=latitude, longitude=longitude, place_typed=is_typed))
    return tuple(made)


def _planned(last: int, field: Field, settings: Settings) -> dict[int, tuple[float, float]]:
    usual = field.stops_wanted or KERNEL_COUNT.quick.rows["stop"]
    if last > usual:
        return {}
    seed = f"{settings.season_id}/{field.field_id}/{KERNEL_COUNT.name}"
    return dict(enumerate(planned_places(field, usual, seed=seed), start=1))
