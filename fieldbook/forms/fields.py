"""The Fields sheet: one row a field visit."""

from dataclasses import dataclass
from datetime import date

from fieldbook.forms.answers import ANSWER_HELP, ANSWER_LABEL, ANSWERS
from fieldbook.forms.stages import MILK_LINES, STAGES
from fieldbook.schema import Choice, Limits, Sheet, choice, day, key, number, printed, text, whole
from fieldbook.units import AREA, OF_PLANTS

PLANTS_LOOKED_AT = 20
GRAIN_FILL = (
    Choice(key="average", label="Average"),
    Choice(key="good", label="Good"),
    Choice(key="poor", label="Poor"),
)


@dataclass(frozen=True, kw_only=True)
class Visit:
    """What is said of a field as a whole at one visit."""

    field_id: str = key("Field", width=8)
    field: str | None = printed("Name", width=13)
    grower: str | None = printed("Grower", width=13)
    may_enter: str | None = printed("May walk", width=16)
    visit_date: date | None = day(
        "Visit date",
        width=12,
        needed=True,
        help="The day you walked this field, or on which it was cut, as a date.",
    )
    stage: str | None = choice(
        "Stage",
        STAGES,
        width=14,
        help="The stage that at least half of the plants have reached.",
    )
    silked: int | None = whole(
        "Silked",
        unit=OF_PLANTS,
        width=8,
        limits=Limits(least=0, most=PLANTS_LOOKED_AT, why="20 plants are looked at"),
        help="Of 20 plants, how many show silks.",
    )
    milk_line: str | None = choice(
        "Milk line",
        MILK_LINES,
        width=14,
        help="At dent: how far the solid starch has come down the kernel. Break an ear to see.",
    )
    grain_fill: str | None = choice(
        "Grain fill",
        GRAIN_FILL,
        width=10,
        help="How kernels fill: good, average or poor. Empty counts as average.",
    )
    acres_cut: float | None = number(
        "Area cut",
        unit=AREA,
        width=9,
        limits=Limits(least=0.1, most=5000, why="a harvest comes from a real area"),
        help="The area that these loads came from. Empty: the area of the roster.",
    )
    scout: str | None = text("Walked by", width=10, help="Only if it was somebody else.")
    answer: str | None = choice(ANSWER_LABEL, ANSWERS, width=15, help=ANSWER_HELP)
    remark: str | None = text("Remark", width=12, help="Anything the grower should know.")


FIELDS = Sheet(
    name="fields",
    label="Fields",
    hint="One row a field. Fill the framed cells; the others are locked.",
    record=Visit,
)
