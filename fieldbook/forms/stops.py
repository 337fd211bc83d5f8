"""The Stops sheet: one row a measured piece of row."""

from dataclasses import dataclass

from fieldbook.agronomy.lengths import row_length_ft
from fieldbook.cross_rules import AtMost, NeedsAlso
from fieldbook.forms.answers import ANSWER_HELP, ANSWER_LABEL, ANSWERS
from fieldbook.forms.fields import PLANTS_LOOKED_AT
from fieldbook.forms.stages import STAGES
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
from fieldbook.units import DEGREES, EAR_LENGTH, HA_PER_AC, OF_PLANTS, ROW_LENGTH, System

INTERIOR = "interior"
PLACES = (
    Choice(key=INTERIOR, label="Interior"),
    Choice(key="end-rows", label="End rows"),
    Choice(key="edge", label="Edge"),
    Choice(key="low-ground", label="Low ground"),
    Choice(key="replant", label="Replant"),
)
OFF_FIELD_FIGURE = tuple(place.key for place in PLACES if place.key != INTERIOR)
TASSELS = (
    Choice(key="branches", label="Side branches"),
    Choice(key="whole-spike", label="Whole main spike"),
    Choice(key="middle", label="Mid main spike"),
    Choice(key="finished", label="Finished"),
    Choice(key="not-yet", label="Not shedding yet"),
)
BEETLES_ON = (
    Choice(key="rootworm-ear", label="Rootworm, an ear"),
    Choice(key="japanese-ear", label="Japanese, an ear"),
    Choice(key="rootworm-plant", label="Rootworm, a plant"),
    Choice(key="japanese-plant", label="Japanese, a plant"),
)
PESTS = (
    Choice(key="earworm", label="Earworm"),
    Choice(key="western-bean-cutworm", label="Bean cutworm"),
    Choice(key="fall-armyworm", label="Fall armyworm"),
    Choice(key="aphids", label="Aphids"),
    Choice(key="mites", label="Mites"),
    Choice(key="stink-bugs", label="Stink bugs"),
    Choice(key="other", label="Other"),
)
GREEN_LEAVES = (
    *(Choice(key=f"below-{leaf}", label=f"{leaf} below ear") for leaf in range(5, 0, -1)),
    Choice(key="below-6", label="6 or more below"),
    Choice(key="ear-leaf", label="Ear leaf"),
)
ROLLING = (
    Choice(key="none", label="None"),
    Choice(key="morning", label="In the morning"),
    Choice(key="midday", label="At midday"),
    Choice(key="afternoon", label="In the afternoon"),
    Choice(key="all-day", label="All day"),
)
SILK_COLOURS = (
    Choice(key="green", label="Green"),
    Choice(key="pale", label="Pale"),
    Choice(key="brown-ends", label="Brown ends"),
    Choice(key="brown", label="Brown"),
)
_OF_20 = Limits(least=0, most=PLANTS_LOOKED_AT, why="20 plants are looked at")


@dataclass(frozen=True, kw_only=True)
class Stop:
    """The plants and ears on one measured piece of row."""

    field_id: str = key("Field", width=8)
    stop: int = key("Stop", kind=Kind.WHOLE, width=6)
    go_to: str | None = printed("Go to", width=19)
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
    silked: int | None = whole(
        "Silked", unit=OF_PLANTS, width=8, limits=_OF_20, help="Of 20 plants, how many show silks."
    )
    tassel: str | None = choice(
        "Tassel",
        TASSELS,
        width=16,
        help="Where anthers are open on most plants. Finished: no dust when you tap it.",
    )
    silk_length_in: float | None = number(
        "Silk length",
        unit=EAR_LENGTH,
        width=8,
        limits=Limits(
            least=0, most=14, usual_most=8, why="silks stop growing once they are pollinated"
        ),
        help="Out of the husk, on most ears. Clipped short: type what is left.",
    )
    beetles: float | None = number(
        "Beetles",
        width=7,
        limits=Limits(least=0, most=200, usual_most=25, why="a mean over some ears or plants"),
        help="Beetles on the silks, as a mean. None: type 0.",
    )
    beetles_on: str | None = choice(
        "Which, on what", BEETLES_ON, width=17, help="Which beetle, and counted on what."
    )
    pest: str | None = choice("Other pest", PESTS, width=13, help="The worst other one here.")
    pest_plants: int | None = whole(
        "With pest",
        unit=OF_PLANTS,
        width=8,
        limits=_OF_20,
        help="Of 20 plants, how many have it.",
    )
    lowest_green_leaf: str | None = choice(
        "Lowest green", GREEN_LEAVES, width=16, help="The lowest leaf that is still green."
    )
    leaf_rolling: str | None = choice(
        "Leaves rolled", ROLLING, width=17, help="When leaves are rolled, if they are."
    )
    silk_colour: str | None = choice(
        "Silks", SILK_COLOURS, width=13, help="The colour of most silks outside the husk."
    )
    stop_stage: str | None = choice(
        "Stage here", STAGES, width=15, help="Only if this stop differs from the field."
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
    remark: str | None = text("Remark", width=12, help="Anything worth telling.")


STOPS = Sheet(
    name="stops",
    label="Stops",
    hint="Choose the plants before looking at the ears. Empty means not looked at.",
    record=Stop,
    rules=(
        AtMost(column="barren", other="plants", code="barren-over-plants"),
        AtMost(column="ears", other="plants", code="ears-over-plants"),
        NeedsAlso(column="pest_plants", needs="pest"),
    ),
)


def standard_length_ft(row_width_in: float, units: System) -> float:
    """Return the length of row that a book asks for: 1/1000 ac, or 1/1000 ha in metric."""
    us = row_length_ft(row_width_in)
    return us / HA_PER_AC if units is System.METRIC else us
