"""Every kind of typing mistake, with the code that must find it."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from fieldbook.forms.rounds import Form, Round
from fieldbook.problems import Weight, weight_of
from fieldbook.rules import Values
from fieldbook.workbook.plan import EntryValue


@dataclass(frozen=True, kw_only=True, eq=False)
class Mistake:
    """One kind of mistake.

    ``to`` are the cells as typed, None for one left out; ``code`` must be found at column ``at``.
    It can be made in rows where the columns ``filled`` hold something and ``empty`` nothing;
    ``again`` are columns that repeat what the field's first row has; ``rounds`` names the rounds
    and ``fields`` the fields it makes sense in, all if empty. ``down`` is how many rows below get
    the same cells; what must be found is then at the first of these.
    """

    name: str
    code: str
    sheet: str
    at: str
    to: Values
    filled: tuple[str, ...] = ()
    empty: tuple[str, ...] = ()
    again: tuple[str, ...] = ()
    rounds: tuple[str, ...] = ()
    fields: tuple[str, ...] = ()
    down: int = 0

    def fits(self, round_: Round, form: Form) -> bool:
        """Say whether a form has what the mistake needs."""
        named = not self.rounds or round_.name in self.rounds
        return named and form.has(self.sheet, self.at, *self.to, *self.filled)

    def fits_row(self, row: Values) -> bool:
        """Say whether a filled row can be spoiled this way."""
        is_filled = all(row.get(name) is not None for name in (*self.filled, *self._left_out))
        return bool(row) and is_filled and all(row.get(name) is None for name in self._empty)

    @property
    def _empty(self) -> tuple[str, ...]:
        """A row that says "Yes, it is true" already would confirm this one as well."""
        return (*self.empty, "answer") if weight_of(self.code) is Weight.ASK else self.empty

    @property
    def _left_out(self) -> Iterator[str]:
        return (name for name, value in self.to.items() if value is None and name not in self.empty)


def _typed(name: str, code: str, place: str, value: EntryValue | None, **more: object) -> Mistake:
    """Make a mistake in one cell, named "sheet.column"."""
    sheet, column = place.split(".")
    return Mistake(
        name=name,
        code=code,
        sheet=sheet,
        at=column,
        to={column: value},
        **more,  # type: ignore[arg-type]
    )


_GAPS = ("base_blank", "inside_blank", "tip_unset", "tip_aborted")


_NO_GAPS = dict.fromkeys(_GAPS, None)


MISTAKES: tuple[Mistake, ...] = (
    _typed("an odd number of rows", "rows-odd", "ears.rows_around", 15),
    _typed("a word beside the number", "not-a-number", "ears.rows_around", "16 rows"),
    _typed("the unit beside the number", "not-a-number", "stalks.bag_grain_lb", "3.4 lb"),
    _typed("a percent sign", "not-a-number", "ears.pale_tip_pct", "40 %"),
    _typed("a cross for a count", "not-a-number", "ears.kernels_set", "x", filled=("rows_around",)),
    _typed("about so many", "not-a-number", "stops.ears", "~30"),
    _typed("the letter O for a zero", "not-a-number", "stops.ears", "3O"),
    _typed("a decimal comma", "not-a-number", "stalks.bag_moisture_pct", "22,5"),
    _typed("a fraction that became a date", "date-for-number", "stops.silked", date(2026, 2, 1)),
    _typed("a number kept as text", "number-as-text", "stops.silked", "12"),
    _typed("more than there can be", "out-of-range", "stops.silked", 25),
    _typed("over a hundred percent", "out-of-range", "ears.pale_tip_pct", 140),
    _typed("a minus sign", "out-of-range", "stops.ears", -28),
    _typed("a digit too many", "out-of-range", "ears.rows_around", 166),
    _typed("a share for percent", "out-of-range", "stalks.bag_moisture_pct", 0.22),
    _typed("grams for pounds", "out-of-range", "stalks.bag_grain_lb", 1540),
    _typed("centimeters for inches", "out-of-range", "ears.ear_length_in", 18.5),
    _typed("millimeters for inches", "out-of-range", "ears.kernel_depth_in", 12),
    _typed("half an ear", "not-whole", "stops.ears", 28.5),
    _typed("half a plant", "not-whole", "leaves.with_it", 1.5, filled=("with_it",)),
    _typed("a rare number of rows, not confirmed", "unusual", "ears.rows_around", 24),
    Mistake(
        name="far too many ears",
        code="unusual",
        sheet="stops",
        at="ears",
        to={"ears": 58, "plants": None},
    ),
    _typed("meters for feet", "unusual", "stops.length_ft", 5.3),
    _typed("a digit lost", "unusual", "stops.ears", 3),
    _typed("a stage that does not exist", "not-on-list", "fields.stage", "R7"),
    _typed("a short name for a disease", "not-on-list", "leaves.disease", "GLS"),
    _typed("last year's date", "date-other-season", "fields.visit_date", date(2025, 8, 5)),
    _typed("a day before planting", "date-before-planting", "fields.visit_date", date(2026, 3, 2)),
    _typed("a day to come", "date-in-future", "fields.visit_date", date(2026, 12, 30)),
    _typed("a date in two readings", "not-a-date", "fields.visit_date", "8/5"),
    _typed(
        "a date in letters",
        "date-as-text",
        "fields.visit_date",
        "5 Aug 2026",
        rounds=("kernel-count",),
    ),
    _typed("no date", "date-missing", "fields.visit_date", None),
    _typed(
        "the count of ears forgotten",
        "ears-without-count",
        "stops.ears",
        None,
        rounds=("kernel-count",),
    ),
    _typed(
        "rows without kernels",
        "part-missing",
        "ears.kernels_set",
        None,
        filled=("rows_around",),
        rounds=("kernel-count",),
    ),
    _typed(
        "plants with a disease that nobody named",
        "part-missing",
        "leaves.disease",
        None,
        filled=("with_it",),
    ),
    _typed("a bag whose moisture nobody took", "part-missing", "stalks.bag_moisture_pct", None),
    Mistake(
        name="beetles without their kind",
        code="part-missing",
        sheet="stops",
        at="beetles_on",
        to={"beetles": 4, "beetles_on": None},
    ),
    Mistake(
        name="plants with a pest that nobody named",
        code="part-missing",
        sheet="stops",
        at="pest",
        to={"pest": None, "pest_plants": 3},
    ),
    _typed(
        "kernels counted at silking",
        "stage-too-early",
        "fields.stage",
        "R1",
        rounds=("kernel-count",),
    ),
    _typed(
        "black layer in July", "stage-outside-round", "fields.stage", "R6", rounds=("pollination",)
    ),
    _typed(
        "tassel stage with silks everywhere",
        "silks-against-stage",
        "fields.stage",
        "VT",
        rounds=("pollination",),
    ),
    Mistake(
        name="no anther open after silking",
        code="tassel-against-stage",
        sheet="stops",
        at="tassel",
        to={"tassel": "not-yet"},
        rounds=("pollination",),
    ),
    Mistake(
        name="more ears than plants, not confirmed",
        code="ears-over-plants",
        sheet="stops",
        at="ears",
        to={"ears": 34, "plants": 29},
        filled=("ears", "plants"),
    ),
    Mistake(
        name="more barren plants than plants",
        code="barren-over-plants",
        sheet="stops",
        at="barren",
        to={"plants": 30, "barren": 36, "ears": 25},
        filled=("plants",),
    ),
    Mistake(
        name="a longitude without its minus",
        code="longitude-sign",
        sheet="stops",
        at="longitude",
        to={"latitude": 41.731, "longitude": 93.602},
        fields=("D14",),
    ),
    Mistake(
        name="a stop in another county",
        code="stop-far-away",
        sheet="stops",
        at="longitude",
        to={"latitude": 42.9, "longitude": -93.6},
    ),
    Mistake(
        name="more rows lost than there are",
        code="lost-over-rows",
        sheet="ears",
        at="lost_rows",
        to={"rows_around": 14, "lost_rows": 16},
        filled=("kernels_set",),
    ),
    Mistake(
        name="one row counted twice",
        code="rings-impossible",
        sheet="ears",
        at="kernels_set",
        to={"kernels_set": 78, "tip_unset": 5},
        filled=("rows_around",),
    ),
    Mistake(
        name="a very long row",
        code="rings-many",
        sheet="ears",
        at="kernels_set",
        to={**_NO_GAPS, "kernels_set": 50, "tip_unset": 8, "rows_around": 12},
        filled=("rows_around", "tip_unset", "tip_aborted"),
        rounds=("kernel-count",),
    ),
    Mistake(
        name="more kernels than an ear holds",
        code="kernels-many",
        sheet="ears",
        at="rows_around",
        to={**_NO_GAPS, "rows_around": 22, "kernels_set": 52},
        filled=("rows_around", "tip_unset", "tip_aborted"),
        rounds=("kernel-count",),
    ),
    Mistake(
        name="no other gaps, and gaps",
        code="gaps-contradict",
        sheet="ears",
        at="no_other_gaps",
        to={"no_other_gaps": "yes", "base_blank": 3},
    ),
    Mistake(
        name="a bare cob with kernels",
        code="bare-contradicts",
        sheet="ears",
        at="bare_cob",
        to={"bare_cob": "yes", "kernels_set": 31},
        filled=("rows_around",),
    ),
    Mistake(
        name="all silks fallen, and not",
        code="all-fallen-contradicts",
        sheet="ears",
        at="all_fallen",
        to={"all_fallen": "yes", "fallen_tip_pct": 40.0},
    ),
    Mistake(
        name="fallen silks that are still pale",
        code="silks-over-all",
        sheet="ears",
        at="fallen_tip_pct",
        to={"fallen_tip_pct": 100.0, "pale_tip_pct": 40.0},
        empty=("all_fallen",),
    ),
    Mistake(
        name="more sick plants than were seen",
        code="part-over-whole",
        sheet="leaves",
        at="with_it",
        to={"disease": "common-rust", "looked": 20, "with_it": 26},
    ),
    Mistake(
        name="more plants sick high up than sick",
        code="part-over-whole",
        sheet="leaves",
        at="high",
        to={"disease": "common-rust", "looked": 20, "with_it": 4, "high": 9},
    ),
    Mistake(
        name="no disease, yet plants with it",
        code="none-contradicts",
        sheet="leaves",
        at="disease",
        to={"disease": "none", "looked": 20, "with_it": 4, "high": 0},
        empty=("severity_pct",),
    ),
    Mistake(
        name="a sick leaf on no sick plant",
        code="severity-without-plants",
        sheet="leaves",
        at="severity_pct",
        to={"disease": "eyespot", "looked": 20, "with_it": 0, "severity_pct": 12.0},
        empty=("high",),
    ),
    Mistake(
        name="more stalks failed than were tried",
        code="part-over-whole",
        sheet="stalks",
        at="failed",
        to={"tried": 20, "failed": 31},
    ),
    Mistake(
        name="more mouldy ears than were opened",
        code="part-over-whole",
        sheet="stalks",
        at="ears_mouldy",
        to={"ears_opened": 20, "ears_mouldy": 22, "mould": "pink-tip"},
    ),
    Mistake(
        name="no mould, yet mouldy ears",
        code="none-contradicts",
        sheet="stalks",
        at="mould",
        to={"mould": "none", "ears_mouldy": 3},
    ),
    Mistake(
        name="ounces for pounds",
        code="bag-weight-odd",
        sheet="stalks",
        at="bag_grain_lb",
        to={"bag_ears": 10, "bag_grain_lb": 52.0},
    ),
    Mistake(
        name="ounces for pounds, one ear",
        code="kernel-weight-odd",
        sheet="ears",
        at="grain_weight_lb",
        to={"rows_around": 16, "kernels_set": 34, "grain_weight_lb": 0.68},
        filled=("moisture_pct",),
    ),
    _typed("the unit beside a load", "not-a-number", "harvest.wet_lb", "51,240 lb"),
    _typed("a load's moisture without its point", "out-of-range", "harvest.moisture_pct", 185),
    _typed("test weight in kilograms", "out-of-range", "harvest.test_weight_lb_bu", 73.4),
    _typed("a load whose moisture nobody copied", "part-missing", "harvest.moisture_pct", None),
    _typed("a load whose weight nobody copied", "part-missing", "harvest.wet_lb", None),
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
    _typed(
        "the area of two fields",
        "harvest-acres-over",
        "fields.acres_cut",
        95.0,
        filled=("acres_cut",),
        fields=("D14",),
    ),
    _typed(
        "an area without its last digit",
        "harvest-yield-odd",
        "fields.acres_cut",
        11.0,
        filled=("acres_cut",),
        fields=("B21",),
    ),
    _typed("no area at all", "out-of-range", "fields.acres_cut", 0, filled=("acres_cut",)),
    _typed(
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
)
