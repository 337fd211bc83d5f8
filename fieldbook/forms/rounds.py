"""The rounds: which sheets and columns a book has, in the order the hands work."""

from collections.abc import Mapping
from dataclasses import dataclass

from fieldbook.forms.ears import EARS
from fieldbook.forms.fields import FIELDS
from fieldbook.forms.harvest import HARVEST_SHEET, LOADS_A_FIELD
from fieldbook.forms.layout import SheetForm
from fieldbook.forms.leaves import LEAVES
from fieldbook.forms.photos import PHOTOS, PHOTOS_A_FIELD
from fieldbook.forms.stalks import STALKS
from fieldbook.forms.stops import STOPS
from fieldbook.schema import Sheet


@dataclass(frozen=True, kw_only=True)
class Form:
    """One form of a round: its sheets, and how many numbered rows a field gets on them."""

    sheets: tuple[SheetForm, ...]
    rows: Mapping[str, int]

    def has(self, sheet: str, *columns: str) -> bool:
        """Say whether the form has a sheet with all these columns."""
        return any(
            form.sheet.name == sheet and set(columns) <= set(form.names) for form in self.sheets
        )


@dataclass(frozen=True, kw_only=True)
class Round:
    """One kind of scouting round, the stages that it is for, and its two forms."""

    name: str
    label: str
    code: str
    form_version: int
    stages: tuple[str, ...]
    quick: Form
    full: Form

    def form(self, *, full: bool) -> Form:
        """Return the quick form or the full one."""
        return self.full if full else self.quick


def _sheet(sheet: Sheet, names: str) -> SheetForm:
    return SheetForm(sheet=sheet, names=tuple(names.split()))


_PHOTOS = _sheet(PHOTOS, "picture at_stop remark")
_LEAVES = _sheet(LEAVES, "disease looked with_it high answer remark")
_LEAVES_FULL = _sheet(LEAVES, "disease looked with_it high highest_leaf severity_pct answer remark")

_SEEN = _sheet(FIELDS, "field grower visit_date stage silked scout answer remark")

ROADSIDE = Round(
    name="roadside",
    label="Roadside look",
    code="RS",
    form_version=1,
    stages=("V", "VT", "R1"),
    quick=Form(sheets=(_SEEN,), rows={}),
    full=Form(sheets=(_SEEN, _sheet(PHOTOS, "picture remark")), rows={"photo": PHOTOS_A_FIELD}),
)

_WALKED = _sheet(FIELDS, "field grower may_enter visit_date stage scout answer remark")

POLLINATION = Round(
    name="pollination",
    label="Pollination",
    code="PL",
    form_version=1,
    stages=("VT", "R1", "R2"),
    quick=Form(
        sheets=(
            _WALKED,
            _sheet(
                STOPS,
                "go_to silked tassel silk_length_in beetles beetles_on pest pest_plants"
                " answer remark",
            ),
            _sheet(
                EARS,
                "all_fallen fallen_base_pct fallen_middle_pct fallen_tip_pct pale_tip_pct"
                " answer remark",
            ),
            _LEAVES,
            _PHOTOS,
        ),
        rows={"stop": 4, "ear": 5, "line": 2, "photo": PHOTOS_A_FIELD},
    ),
    full=Form(
        sheets=(
            _WALKED,
            _sheet(
                STOPS,
                "go_to place silked tassel silk_length_in silk_colour beetles beetles_on"
                " pest pest_plants lowest_green_leaf leaf_rolling stop_stage"
                " latitude longitude answer remark",
            ),
            _sheet(
                EARS,
                "all_fallen fallen_base_pct fallen_middle_pct fallen_tip_pct pale_tip_pct"
                " ear_length_in answer remark",
            ),
            _LEAVES_FULL,
            _PHOTOS,
        ),
        rows={"stop": 4, "ear": 5, "line": 3, "photo": PHOTOS_A_FIELD},
    ),
)

_FILLING = _sheet(
    FIELDS, "field grower may_enter visit_date stage milk_line grain_fill scout answer remark"
)

_COUNTED_STOPS = _sheet(
    STOPS,
    "go_to measure place length_ft ears plants barren lowest_green_leaf"
    " latitude longitude answer remark",
)

KERNEL_COUNT = Round(
    name="kernel-count",
    label="Kernel count",
    code="KC",
    form_version=2,
    stages=("R3", "R4", "R5", "R6"),
    quick=Form(
        sheets=(
            _FILLING,
            _sheet(STOPS, "go_to measure place length_ft ears plants answer remark"),
            _sheet(
                EARS,
                "rows_around kernels_set tip_unset tip_aborted no_other_gaps answer remark",
            ),
            _LEAVES,
            _PHOTOS,
        ),
        rows={"stop": 5, "ear": 3, "line": 2, "photo": PHOTOS_A_FIELD},
    ),
    full=Form(
        sheets=(
            _FILLING,
            _COUNTED_STOPS,
            _sheet(
                EARS,
                "rows_around lost_rows base_blank kernels_set opposite_set inside_blank"
                " tip_unset tip_aborted no_other_gaps pattern bare_cob ear_length_in"
                " answer remark",
            ),
            _LEAVES_FULL,
            _PHOTOS,
        ),
        rows={"stop": 5, "ear": 5, "line": 3, "photo": PHOTOS_A_FIELD},
    ),
)

RIPENING = Round(
    name="ripening",
    label="Ripening",
    code="RP",
    form_version=1,
    stages=("R5", "R6"),
    quick=Form(
        sheets=(
            _FILLING,
            _sheet(STOPS, "go_to measure place length_ft ears answer remark"),
            _sheet(EARS, "kernel_depth_in mould mould_pct answer remark"),
            _sheet(
                STALKS,
                "tried failed ears_opened ears_mouldy mould bag_ears bag_grain_lb"
                " bag_moisture_pct answer remark",
            ),
            _PHOTOS,
        ),
        rows={"stop": 5, "ear": 3, "photo": PHOTOS_A_FIELD},
    ),
    full=Form(
        sheets=(
            _FILLING,
            _COUNTED_STOPS,
            _sheet(
                EARS,
                "rows_around kernels_set ear_length_in kernel_depth_in grain_weight_lb"
                " moisture_pct mould mould_pct answer remark",
            ),
            _sheet(
                STALKS,
                "tried failed root_lodged stalk_lodged dropped_ears ears_opened ears_mouldy"
                " mould bag_ears bag_grain_lb bag_moisture_pct answer remark",
            ),
            _PHOTOS,
        ),
        rows={"stop": 5, "ear": 5, "photo": PHOTOS_A_FIELD},
    ),
)

_CUT = _sheet(FIELDS, "field grower visit_date acres_cut scout answer remark")
_LOADS = _sheet(HARVEST_SHEET, "ticket wet_lb wet_bu moisture_pct test_weight_lb_bu answer remark")
_HARVESTED = Form(sheets=(_CUT, _LOADS), rows={"load": LOADS_A_FIELD})

HARVEST = Round(
    name="harvest",
    label="Harvest",
    code="HV",
    form_version=2,
    stages=("R6",),
    quick=_HARVESTED,
    full=_HARVESTED,
)

ROUNDS: dict[str, Round] = {
    round_.name: round_ for round_ in (ROADSIDE, POLLINATION, KERNEL_COUNT, RIPENING, HARVEST)
}
