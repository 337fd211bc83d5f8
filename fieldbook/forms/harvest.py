"""The Harvest sheet: one row a load or a sum of several, as the scale tickets tell it."""

from dataclasses import dataclass

from fieldbook.cross_rules import NeedsAlso
from fieldbook.forms.answers import ANSWER_HELP, ANSWER_LABEL, ANSWERS
from fieldbook.forms.stalks import MOISTURE
from fieldbook.schema import Kind, Limits, Sheet, choice, key, number, text
from fieldbook.units import BUSHELS, GRAIN_WEIGHT, LB_PER_BU_CORN, PERCENT, TEST_WEIGHT

LOADS_A_FIELD = 8
_MOST_LB = 1e8
_WHY = "a row is a truck or a field's whole harvest"


@dataclass(frozen=True, kw_only=True)
class Load:
    """Grain over the scale, as wet as it came: its weight, or the wet bushels printed."""

    field_id: str = key("Field", width=8)
    load: int = key("Load", kind=Kind.WHOLE, width=6)
    ticket: str | None = text("Ticket", width=12, help="The number on the scale ticket.")
    wet_lb: float | None = number(
        "Net weight",
        unit=GRAIN_WEIGHT,
        width=11,
        limits=Limits(least=1, most=_MOST_LB, usual_least=100, why=_WHY),
        help="Grain alone, without the truck, as wet as it came.",
    )
    wet_bu: float | None = number(
        "Wet grain",
        unit=BUSHELS,
        width=12,
        limits=Limits(least=1 / LB_PER_BU_CORN, most=_MOST_LB / LB_PER_BU_CORN, why=_WHY),
        help="Only where the ticket has no net weight: grain before any shrink for moisture.",
    )
    moisture_pct: float | None = number(
        "Moisture", unit=PERCENT, width=9, limits=MOISTURE, help="As the ticket prints it."
    )
    test_weight_lb_bu: float | None = number(
        "Test weight",
        unit=TEST_WEIGHT,
        width=11,
        limits=Limits(
            least=35, most=70, usual_least=48, usual_most=63, why="corn weighs about 56 lb a bushel"
        ),
        help="As the ticket prints it.",
    )
    answer: str | None = choice(ANSWER_LABEL, ANSWERS, width=15, help=ANSWER_HELP)
    remark: str | None = text("Remark", width=18, help="Anything worth telling.")


HARVEST_SHEET = Sheet(
    name="harvest",
    label="Harvest",
    hint="One row a ticket, or one for the sum of several tickets. Type what is printed.",
    record=Load,
    rules=(
        NeedsAlso(column="wet_lb", needs="moisture_pct"),
        NeedsAlso(column="wet_bu", needs="moisture_pct"),
    ),
)
