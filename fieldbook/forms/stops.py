"""The Stops sheet: one row a measured piece of row."""

from dataclasses import dataclass

from fieldbook.forms.answers import ANSWER_HELP, ANSWER_LABEL, ANSWERS
from fieldbook.rules import AtMost
from fieldbook.schema import (
    Choice,
    Kind,
    Limits,
    Sheet,
    choice,
    key,
    number,
    printed,
    text,
    whole,
)
from fieldbook.units import DEGREES, ROW_LENGTH

INTERIOR = "interior"
PLACES = (
    Choice(key=INTERIOR, label="Interior"),
    Choice(key="end-rows", label="End rows"),
    Choice(key="edge", label="Edge"),
    Choice(key="low-ground", label="Low ground"),
    Choice(key="replant", label="Replant"),
)
OFF_FIELD_FIGURE = tuple(place.key for place in PLACES if place.key != INTERIOR)


@dataclass(frozen=True, kw_only=True)
class Stop:
    """The plants and ears on one measured piece of row."""

    field_id: str = key("Field", width=8)
    stop: int = key("Stop", kind=Kind.WHOLE, width=6)
    go_to: str | None = printed("Go to", width=28)
    measure: str | None = printed("Measure", width=12)
    place: str | None = choice(
        "Place",
        PLACES,
        width=13,
        help="Where in the field this stop lies. Empty counts as interior.",
    )
    length_ft: float | None = number(
        "Length",
        unit=ROW_LENGTH,
        width=9,
        limits=Limits(
            least=3,
            most=300,
            usual_least=8.7,
            usual_most=105,
            why="one measured piece of row is some steps long",
        ),
        help="Only if you measured another length of row than the printed one.",
    )
    ears: int | None = whole(
        "Ears",
        width=8,
        per_area=True,
        limits=Limits(
            least=0,
            most=150,
            usual_least=8,
            usual_most=45,
            why="ears stand about a hand apart",
        ),
        help="Harvestable ears on the measured length. Not nubbins, not dropped ears.",
    )
    plants: int | None = whole(
        "Plants",
        width=8,
        per_area=True,
        limits=Limits(
            least=0,
            most=150,
            usual_least=10,
            usual_most=45,
            why="plants stand about a hand apart",
        ),
        help="All plants on the same length.",
    )
    barren: int | None = whole(
        "Barren",
        width=8,
        per_area=True,
        limits=Limits(least=0, most=150, why="plants are counted, so zero or more"),
        help="Plants without an ear that will make grain.",
    )
    latitude: float | None = number(
        "Latitude",
        unit=DEGREES,
        width=11,
        limits=Limits(least=-90, most=90, why="a latitude lies between -90 and 90 degrees"),
        help="Only if you stand elsewhere than the printed place.",
    )
    longitude: float | None = number(
        "Longitude",
        unit=DEGREES,
        width=11,
        limits=Limits(least=-180, most=180, why="a longitude lies between -180 and 180 degrees"),
        help="Only if you stand elsewhere. West is minus.",
    )
    answer: str | None = choice(ANSWER_LABEL, ANSWERS, width=15, help=ANSWER_HELP)
    remark: str | None = text("Remark", width=18, help="Anything worth telling.")


STOPS = Sheet(
    name="stops",
    label="Stops",
    hint="Choose the plants before looking at the ears. Empty means not looked at.",
    record=Stop,
    rules=(
        AtMost(column="barren", other="plants", code="barren-over-plants"),
        AtMost(column="ears", other="plants", code="ears-over-plants"),
    ),
)
