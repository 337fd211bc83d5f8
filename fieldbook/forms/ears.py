"""The Ears sheet: one row an ear, counted in rings from the butt."""

from dataclasses import dataclass
from typing import Any

from fieldbook.cross_rules import (
    AtLeastWith,
    AtMost,
    NeedsAlso,
    NotTogether,
    ProductAtMost,
    SumAtMost,
)
from fieldbook.forms.answers import ANSWER_HELP, ANSWER_LABEL, ANSWERS
from fieldbook.forms.moulds import MOULD_HELP, MOULDS, NO_MOULD
from fieldbook.forms.stalks import MOISTURE
from fieldbook.rules import Even
from fieldbook.schema import (
    Choice,
    Kind,
    Limits,
    Sheet,
    choice,
    key,
    number,
    text,
    tick,
    whole,
)
from fieldbook.units import EAR_LENGTH, GRAIN_WEIGHT, KERNEL_DEPTH, PERCENT

PATTERNS = (
    Choice(key="even", label="Even"),
    Choice(key="one-sided", label="One-sided"),
    Choice(key="scattered", label="Scattered"),
)

_RINGS = Limits(least=0, most=80, why="an ear has up to about 55 kernels in one row")
_SHARE = Limits(least=0, most=100, why="a share lies between 0 and 100 %")
_FALLEN = ("fallen_base_pct", "fallen_middle_pct", "fallen_tip_pct")
_NEARLY_ALL_PCT = 90
_PARTS = ("base_blank", "kernels_set", "inside_blank", "tip_unset", "tip_aborted")


def _silks_fallen(third: str) -> Any:
    return number(
        f"Fallen, {third}",
        unit=PERCENT,
        width=9,
        limits=_SHARE,
        help=f"Husk back from the butt, shake gently: silks fallen from the {third} third.",
    )


@dataclass(frozen=True, kw_only=True)
class Ear:
    """One ear: rows around, and the kernels along one typical row from the butt."""

    field_id: str = key("Field", width=8)
    stop: int = key("Stop", kind=Kind.WHOLE, width=6)
    ear: int = key("Ear", kind=Kind.WHOLE, width=6)
    rows_around: int | None = whole(
        "Rows around",
        width=10,
        limits=Limits(
            least=4,
            most=40,
            usual_least=10,
            usual_most=22,
            why="most ears have 12 to 20 rows",
        ),
        picks=(16, 14, 18, 12, 20, 10, 22, 8, 24, 26, 28, 6, 4),
        help="Kernel rows around the middle of the ear. They come in pairs.",
    )
    lost_rows: int | None = whole(
        "Lost rows",
        width=8,
        limits=Limits(least=0, most=20, why="only some of the rows can be lost"),
        help="Rows that are missing along most of the ear.",
    )
    base_blank: int | None = whole(
        "Base bare", width=8, limits=_RINGS, help="Missing kernels at the butt, along one row."
    )
    kernels_set: int | None = whole(
        "Kernels in row",
        width=10,
        limits=_RINGS,
        help="Kernels along one row. Leave out the jumbled ones at the butt "
        "and those smaller than half.",
    )
    opposite_set: int | None = whole(
        "Opposite row",
        width=9,
        limits=_RINGS,
        help="When the ear is not even: kernels along the row on the other side.",
    )
    inside_blank: int | None = whole(
        "Gaps inside", width=8, limits=_RINGS, help="Missing kernels between set ones."
    )
    tip_unset: int | None = whole(
        "Tip bare",
        width=8,
        limits=_RINGS,
        help="Missing kernels at the tip, cob smooth and flat: never set.",
    )
    tip_aborted: int | None = whole(
        "Tip shrunken",
        width=10,
        limits=_RINGS,
        help="Shrunken kernels at the tip: set first, lost later.",
    )
    no_other_gaps: str | None = tick(
        "No other gaps", width=9, help="Pick Yes when you looked and nothing else is missing."
    )
    pattern: str | None = choice(
        "Pattern", PATTERNS, width=11, help="How the missing kernels lie on the ear."
    )
    bare_cob: str | None = tick("Bare cob", width=8, help="Pick Yes for a cob without kernels.")
    ear_length_in: float | None = number(
        "Ear length",
        unit=EAR_LENGTH,
        width=8,
        limits=Limits(
            least=1,
            most=16,
            usual_least=3,
            usual_most=11,
            why="most ears are a hand long or a little more",
        ),
        help="Whole cob, butt to tip.",
    )
    fallen_base_pct: float | None = _silks_fallen("butt")
    fallen_middle_pct: float | None = _silks_fallen("middle")
    fallen_tip_pct: float | None = _silks_fallen("tip")
    all_fallen: str | None = tick(
        "All over 90 %",
        width=9,
        help="Pick Yes when nearly all silks fell along the whole ear; then type no shares.",
    )
    pale_tip_pct: float | None = number(
        "Pale at tip",
        unit=PERCENT,
        width=8,
        limits=_SHARE,
        help="Silks from the tip that are still green or pale, of all silks from the tip.",
    )
    kernel_depth_in: float | None = number(
        "Kernel depth",
        unit=KERNEL_DEPTH,
        width=8,
        limits=Limits(
            least=0.1, most=0.8, usual_least=0.3, usual_most=0.6, why="half an inch is usual"
        ),
        help="From the cob to the dent, at the middle of the ear.",
    )
    mould: str | None = choice("Mould", MOULDS, width=19, help=MOULD_HELP)
    mould_pct: float | None = number(
        "Mouldy", unit=PERCENT, width=8, limits=_SHARE, help="Of the ear's kernels."
    )
    grain_weight_lb: float | None = number(
        "Grain",
        unit=GRAIN_WEIGHT,
        width=8,
        limits=Limits(
            least=0.02,
            most=1.2,
            usual_least=0.1,
            usual_most=0.7,
            why="an ear gives about a third of a pound",
        ),
        help="Shelled grain of this ear.",
    )
    moisture_pct: float | None = number(
        "Moisture", unit=PERCENT, width=9, limits=MOISTURE, help="Of that grain, by the meter."
    )
    answer: str | None = choice(ANSWER_LABEL, ANSWERS, width=15, help=ANSWER_HELP)
    remark: str | None = text("Remark", width=18, help="Anything worth telling.")


EARS = Sheet(
    name="ears",
    label="Ears",
    hint="Take every fifth ear, whatever it looks like. Empty means not looked at.",
    record=Ear,
    rules=(
        Even(column="rows_around", code="rows-odd"),
        AtMost(column="lost_rows", other="rows_around", code="lost-over-rows"),
        SumAtMost(columns=_PARTS, most=80, code="rings-impossible"),
        NotTogether(
            column="no_other_gaps",
            choice="yes",
            others=("base_blank", "inside_blank"),
            code="gaps-contradict",
        ),
        NotTogether(
            column="bare_cob",
            choice="yes",
            others=("kernels_set", "opposite_set"),
            code="bare-contradicts",
        ),
        NotTogether(
            column="mould", choice=NO_MOULD, others=("mould_pct",), code="none-contradicts"
        ),
        AtLeastWith(
            column="all_fallen",
            choice="yes",
            others=_FALLEN,
            least=_NEARLY_ALL_PCT,
            code="all-fallen-contradicts",
        ),
        SumAtMost(columns=("fallen_tip_pct", "pale_tip_pct"), most=100, code="silks-over-all"),
        SumAtMost(columns=_PARTS, most=55, code="rings-many"),
        ProductAtMost(column="rows_around", other="kernels_set", most=1000, code="kernels-many"),
        NeedsAlso(column="rows_around", needs="kernels_set"),
        NeedsAlso(column="kernels_set", needs="rows_around"),
        NeedsAlso(column="mould_pct", needs="mould"),
        NeedsAlso(column="grain_weight_lb", needs="moisture_pct"),
    ),
)
