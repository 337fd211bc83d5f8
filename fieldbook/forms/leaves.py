"""The Leaves sheet: what twenty plants at a stop show, one row a disease."""

from dataclasses import dataclass

from fieldbook.cross_rules import AtMost, NeedsAlso, NotTogether
from fieldbook.forms.answers import ANSWER_HELP, ANSWER_LABEL, ANSWERS
from fieldbook.schema import Choice, Kind, Limits, Sheet, choice, key, number, text, whole
from fieldbook.units import PERCENT

NO_DISEASE = "none"
GRAY_LEAF_SPOT, NORTHERN_BLIGHT = "gray-leaf-spot", "northern-leaf-blight"
DISEASES = (
    Choice(key=NO_DISEASE, label="None seen"),
    Choice(key=GRAY_LEAF_SPOT, label="Gray leaf spot"),
    Choice(key=NORTHERN_BLIGHT, label="Northern leaf blight"),
    Choice(key="common-rust", label="Common rust"),
    Choice(key="southern-rust", label="Southern rust"),
    Choice(key="tar-spot", label="Tar spot"),
    Choice(key="eyespot", label="Eyespot"),
    Choice(key="anthracnose", label="Anthracnose"),
    Choice(key="physoderma", label="Physoderma"),
    Choice(key="diplodia-streak", label="Diplodia streak"),
    Choice(key="bacterial-streak", label="Bacterial streak"),
    Choice(key="goss-wilt", label="Goss's wilt"),
    Choice(key="unknown", label="Not sure"),
)
HEIGHTS = (
    Choice(key="ear-leaf", label="Ear leaf"),
    Choice(key="below-1", label="1 below"),
    Choice(key="below-2", label="2 below"),
    Choice(key="below-3", label="3 below"),
    Choice(key="lower", label="Lower"),
    Choice(key="above-1", label="1 above"),
    Choice(key="above-2", label="2 or more above"),
)
_PLANTS = Limits(least=0, most=200, usual_most=50, why="about 20 plants are looked at")


@dataclass(frozen=True, kw_only=True)
class Leaf:
    """One disease at one stop, counted over the plants looked at."""

    field_id: str = key("Field", width=8)
    stop: int = key("Stop", kind=Kind.WHOLE, width=6)
    line: int = key("Line", kind=Kind.WHOLE, width=6)
    disease: str | None = choice(
        "Disease",
        DISEASES,
        width=21,
        help="None seen: pick that, so that we know you looked. "
        "Not sure: pick that and send a sample to a plant clinic.",
    )
    looked: int | None = whole(
        "Plants seen", width=9, limits=_PLANTS, help="Plants that you looked at here, mostly 20."
    )
    with_it: int | None = whole(
        "With it", width=8, limits=_PLANTS, help="Of these, plants with at least one lesion."
    )
    high: int | None = whole(
        "High up",
        width=8,
        limits=_PLANTS,
        help="Of these, plants with lesions on the third leaf below the ear leaf, or higher.",
    )
    highest_leaf: str | None = choice(
        "Highest leaf", HEIGHTS, width=16, help="The highest leaf with it, on most plants."
    )
    severity_pct: float | None = number(
        "Ear leaf",
        unit=PERCENT,
        width=8,
        limits=Limits(least=0, most=100, usual_most=60, why="a share of the leaf's area"),
        help="How much of the ear leaf's area is diseased, on average.",
    )
    answer: str | None = choice(ANSWER_LABEL, ANSWERS, width=15, help=ANSWER_HELP)
    remark: str | None = text("Remark", width=18, help="Anything worth telling.")


LEAVES = Sheet(
    name="leaves",
    label="Leaves",
    hint="One row a disease. Nothing found: pick None seen. Empty means not looked at.",
    record=Leaf,
    rules=(
        AtMost(column="with_it", other="looked", code="part-over-whole"),
        AtMost(column="high", other="with_it", code="part-over-whole"),
        NotTogether(
            column="disease",
            choice=NO_DISEASE,
            others=("with_it", "high", "severity_pct"),
            code="none-contradicts",
        ),
        NeedsAlso(column="with_it", needs="disease"),
        NeedsAlso(column="with_it", needs="looked"),
        NeedsAlso(column="disease", needs="looked"),
    ),
)
