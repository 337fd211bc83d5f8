"""Every kind of typing mistake, with the code that must find it.

Here stand those of a harvest and those that only other rows or the roster show. The order of all
decides which rows are drawn for each.
"""

from datetime import date

from fieldbook.simulate.cell_kinds import IN_ONE_CELL
from fieldbook.simulate.mistake import Mistake, typed
from fieldbook.simulate.row_kinds import IN_ONE_ROW

MISTAKES: tuple[Mistake, ...] = (
    *IN_ONE_CELL,
    *IN_ONE_ROW,
    typed("the unit beside a load", "not-a-number", "harvest.wet_lb", "51,240 lb"),
    typed("a load's moisture without its point", "out-of-range", "harvest.moisture_pct", 185),
    typed("test weight in kilograms", "out-of-range", "harvest.test_weight_lb_bu", 73.4),
    typed("a load whose moisture nobody copied", "part-missing", "harvest.moisture_pct", None),
    typed("a load whose weight nobody copied", "part-missing", "harvest.wet_lb", None),
    Mistake(
        name="bushels of another ticket",
        code="harvest-weights-differ",
        sheet="harvest",
        at="wet_bu",
        to={"wet_bu": 310.0},
        filled=("wet_lb", "moisture_pct"),
    ),
    Mistake(
        name="one ticket twice",
        code="harvest-ticket-twice",
        sheet="harvest",
        at="ticket",
        to={},
        filled=("ticket",),
        again=("ticket",),
    ),
    typed(
        "the area of two fields",
        "harvest-acres-over",
        "fields.acres_cut",
        95.0,
        filled=("acres_cut",),
        fields=("D14",),
    ),
    typed(
        "an area without its last digit",
        "harvest-yield-odd",
        "fields.acres_cut",
        11.0,
        filled=("acres_cut",),
        fields=("B21",),
    ),
    typed("no area at all", "out-of-range", "fields.acres_cut", 0, filled=("acres_cut",)),
    typed(
        "day and month exchanged",
        "date-exchanged",
        "fields.visit_date",
        date(2026, 5, 8),
        rounds=("kernel-count",),
        fields=("D14", "D15", "D16"),
    ),
    Mistake(
        name="a row dragged down over five ears",
        code="rows-copied",
        sheet="ears",
        at="kernels_set",
        to={},
        filled=("rows_around", "kernels_set", "tip_unset", "tip_aborted"),
        rounds=("kernel-count",),
        down=5,
    ),
    Mistake(
        name="13 for 31 kernels",
        code="ear-far-off",
        sheet="ears",
        at="kernels_set",
        to={"kernels_set": 13},
        filled=("rows_around", "tip_unset", "tip_aborted", "no_other_gaps"),
        rounds=("kernel-count",),
        fields=("D14", "D15", "D16"),
    ),
    Mistake(
        name="53 for 35 kernels",
        code="ear-far-off",
        sheet="ears",
        at="kernels_set",
        to={"kernels_set": 53, "tip_unset": 1, "tip_aborted": 0},
        filled=("rows_around", "tip_unset", "tip_aborted", "no_other_gaps"),
        rounds=("kernel-count",),
        fields=("D14", "D15", "D16"),
    ),
    typed(
        "a load without its last two digits",
        "harvest-load-light",
        "harvest.wet_lb",
        512.0,
        filled=("wet_lb", "moisture_pct"),
        fields=("D14",),
    ),
)
