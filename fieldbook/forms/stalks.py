"""The Stalks sheet: twenty stalks tried, twenty ears opened and a bag of grain at each stop."""

from dataclasses import dataclass

from fieldbook.cross_rules import AtMost, NeedsAlso, NotTogether
from fieldbook.forms.answers import ANSWER_HELP, ANSWER_LABEL, ANSWERS
from fieldbook.forms.moulds import MOULD_HELP, MOULDS, NO_MOULD
from fieldbook.schema import Kind, Limits, Sheet, choice, key, number, text, whole
from fieldbook.units import GRAIN_WEIGHT, PERCENT

_STALKS = Limits(least=0, most=200, usual_most=50, why="about 20 stalks are tried at a stop")
_EARS = Limits(least=0, most=200, usual_most=50, why="about 20 ears are opened at a stop")
MOISTURE = Limits(
    least=5, most=60, usual_least=10, usual_most=40, why="grain at harvest holds 15 to 35 % water"
)


@dataclass(frozen=True, kw_only=True)
class Stalk:
    """Stalks, opened ears and a bag of grain at one stop."""

    field_id: str = key("Field", width=8)
    stop: int = key("Stop", kind=Kind.WHOLE, width=6)
    tried: int | None = whole(
        "Tried", width=7, limits=_STALKS, help="Stalks pinched, or pushed about 30 degrees."
    )
    failed: int | None = whole(
        "Failed", width=8, limits=_STALKS, help="Of these, stalks that gave way."
    )
    root_lodged: int | None = whole(
        "Root lodged", width=9, limits=_STALKS, help="Of these, plants that lean from the roots."
    )
    stalk_lodged: int | None = whole(
        "Stalk lodged", width=9, limits=_STALKS, help="Of these, plants broken below the ear."
    )
    dropped_ears: int | None = whole(
        "Ears dropped", width=9, limits=_EARS, help="Ears on the ground beside these plants."
    )
    ears_opened: int | None = whole(
        "Ears opened", width=9, limits=_EARS, help="Ears husked to look for mould."
    )
    ears_mouldy: int | None = whole(
        "With mould", width=9, limits=_EARS, help="Of these, ears with any mould."
    )
    mould: str | None = choice("Mould", MOULDS, width=19, help=MOULD_HELP)
    bag_ears: int | None = whole(
        "Ears in bag",
        width=8,
        limits=Limits(least=1, most=100, usual_most=40, why="a bag holds some ears"),
        help="Harvestable ears shelled into one bag.",
    )
    bag_grain_lb: float | None = number(
        "Grain in bag",
        unit=GRAIN_WEIGHT,
        width=9,
        limits=Limits(least=0.05, most=80, why="an ear gives about a third of a pound"),
        help="Shelled grain of these ears.",
    )
    bag_moisture_pct: float | None = number(
        "Moisture", unit=PERCENT, width=9, limits=MOISTURE, help="Of that grain, by the meter."
    )
    answer: str | None = choice(ANSWER_LABEL, ANSWERS, width=15, help=ANSWER_HELP)
    remark: str | None = text("Remark", width=18, help="Anything worth telling.")


STALKS = Sheet(
    name="stalks",
    label="Stalks",
    hint="Take the plants as they stand. Mouldy dust is harmful: wear a mask (N95).",
    record=Stalk,
    rules=(
        AtMost(column="failed", other="tried", code="part-over-whole"),
        AtMost(column="root_lodged", other="tried", code="part-over-whole"),
        AtMost(column="stalk_lodged", other="tried", code="part-over-whole"),
        AtMost(column="ears_mouldy", other="ears_opened", code="part-over-whole"),
        NotTogether(
            column="mould", choice=NO_MOULD, others=("ears_mouldy",), code="none-contradicts"
        ),
        NeedsAlso(column="failed", needs="tried"),
        NeedsAlso(column="ears_mouldy", needs="ears_opened"),
        NeedsAlso(column="bag_grain_lb", needs="bag_ears"),
        NeedsAlso(column="bag_grain_lb", needs="bag_moisture_pct"),
    ),
)
