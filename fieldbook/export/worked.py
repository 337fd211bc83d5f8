"""The worked-out columns: where the JSON of `results` has each figure, and what it means.

A key is a path through one field's record, for example ``yield.range_bu_ac.0`` for the first of
a pair; a list stands for its length.
"""

from datetime import date
from typing import Any

from fieldbook.export.columns import Origin, TableColumn
from fieldbook.forms.stages import STAGES
from fieldbook.forms.stops import INTERIOR, PLACES
from fieldbook.schema import Choice, Kind
from fieldbook.units import COUNT, GRAIN_WEIGHT, PER_AREA, YIELD, Unit

_LEFT_OUT = (
    *(place for place in PLACES if place.key != INTERIOR),
    Choice(key="no-count", label="Ears not counted"),
    Choice(key="no-kernels", label="Kernels not counted"),
)
_BASES = (
    Choice(key="seen", label="Seen"),
    Choice(key="heat units", label="Heat units"),
    Choice(key="days after silking", label="Days after silking"),
    Choice(key="silks counted", label="Silks counted"),
)


def worked_column(
    name: str,
    json_key: str,
    label: str,
    kind: Kind,
    meaning: str,
    *,
    unit: Unit = COUNT,
    choices: tuple[Choice, ...] = (),
) -> TableColumn:
    """Declare a worked-out column by where the JSON has it."""
    return TableColumn(
        name=name,
        label=label,
        kind=kind,
        meaning=meaning,
        origin=Origin.WORKED_OUT,
        unit=unit,
        choices=choices,
        json_key=json_key,
    )


def whole_column(name: str, json_key: str, label: str, meaning: str) -> TableColumn:
    """Declare a count."""
    return worked_column(name, json_key, label, Kind.WHOLE, meaning)


def number_column(
    name: str, json_key: str, label: str, meaning: str, unit: Unit = COUNT
) -> TableColumn:
    """Declare a number."""
    return worked_column(name, json_key, label, Kind.NUMBER, meaning, unit=unit)


def yield_column(name: str, json_key: str, label: str, meaning: str) -> TableColumn:
    """Declare a yield or a difference of yields; the name gets its unit."""
    return number_column(f"{name}_bu_ac", json_key, label, meaning, YIELD)


def day_column(name: str, json_key: str, label: str, meaning: str) -> TableColumn:
    """Declare a date."""
    return worked_column(name, json_key, label, Kind.DAY, meaning)


STAGE_COLUMNS = (
    worked_column("stage", "stage", "Stage", Kind.CHOICE, "The stage.", choices=STAGES),
    day_column(
        "reached", "date", "Reached", "The day, seen or likely; empty where only a range is known."
    ),
    day_column("earliest", "earliest", "Earliest", "Early end of the spread over past years."),
    day_column("latest", "latest", "Latest", "Late end of the spread over past years."),
    worked_column(
        "basis", "basis", "Known from", Kind.CHOICE, "What the day rests on.", choices=_BASES
    ),
    worked_column(
        "passed", "passed", "Passed", Kind.TICK, "True where the day is not ahead any more."
    ),
    whole_column("years", "years", "Past years", "Past years behind the spread."),
    worked_column(
        "anchor_stage",
        "anchor_stage",
        "Starts from",
        Kind.CHOICE,
        "The stage that the forecast starts from.",
        choices=STAGES,
    ),
    day_column("anchor_date", "anchor_date", "Start day", "The day of that stage."),
)
STOP_COLUMNS = (
    number_column(
        "ears_per_ac",
        "ears_per_ac",
        "Ears an area",
        "Harvestable ears. Here and in the next columns: only for the visit that gives the yield.",
        PER_AREA,
    ),
    number_column("plants_per_ac", "plants_per_ac", "Plants an area", "All plants.", PER_AREA),
    number_column(
        "kernels_per_ear", "kernels_per_ear", "Kernels an ear", "Mean of this stop's ears."
    ),
    whole_column("ears_used", "ears_used", "Ears used", "Ears in that mean."),
    yield_column("stop_yield", "yield_bu_ac", "Yield here", "At the likely kernel weight."),
    worked_column(
        "left_out",
        "left_out",
        "Left out",
        Kind.CHOICE,
        "Why the stop is not in the field's yield; empty where it is.",
        choices=_LEFT_OUT,
    ),
)
BAG_COLUMNS = (
    number_column(
        "grain_per_ear_lb",
        "grain_lb_per_ear",
        "Grain an ear",
        "Of the bag. Here and in the next columns: only for the visit with the weighed yield.",
        GRAIN_WEIGHT,
    ),
    yield_column("bag_yield", "yield_bu_ac", "Yield here", "From the bag, at market moisture."),
    worked_column(
        "left_out",
        "left_out",
        "Left out",
        Kind.CHOICE,
        "Why the stop is not in the weighed yield; empty where it is.",
        choices=_LEFT_OUT,
    ),
)


def worked_value(record: Any, column: TableColumn) -> Any:
    """Find a column's value in a record of the JSON; None where a part of it is missing."""
    found = record
    for step in column.json_key.split("."):
        if found is None:
            return None
        found = found[int(step)] if isinstance(found, list) else found[step]
    if isinstance(found, list):
        return len(found)
    return date.fromisoformat(found) if found and column.kind is Kind.DAY else found
