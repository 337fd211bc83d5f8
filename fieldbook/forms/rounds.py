"""The rounds: which sheets and columns a book has, in the order the hands work."""

from dataclasses import dataclass

from fieldbook.forms.ears import EARS
from fieldbook.forms.fields import FIELDS
from fieldbook.forms.layout import SheetForm
from fieldbook.forms.stops import STOPS


@dataclass(frozen=True, kw_only=True)
class Round:
    """One kind of scouting round and its two forms."""

    name: str
    label: str
    code: str
    form_version: int
    quick: tuple[SheetForm, ...]
    full: tuple[SheetForm, ...]
    stops: int
    quick_ears: int
    full_ears: int

    def sheets(self, *, full: bool) -> tuple[SheetForm, ...]:
        """Return the sheets of one form."""
        return self.full if full else self.quick

    def ears(self, *, full: bool) -> int:
        """Return how many ears are pulled at a stop."""
        return self.full_ears if full else self.quick_ears


_VISIT = SheetForm(
    sheet=FIELDS,
    names=(
        "field",
        "grower",
        "may_enter",
        "visit_date",
        "stage",
        "grain_fill",
        "scout",
        "answer",
        "remark",
    ),
)

KERNEL_COUNT = Round(
    name="kernel-count",
    label="Kernel count",
    code="KC",
    form_version=1,
    stops=5,
    quick_ears=3,
    full_ears=5,
    quick=(
        _VISIT,
        SheetForm(
            sheet=STOPS,
            names=("go_to", "measure", "place", "length_ft", "ears", "plants", "answer", "remark"),
        ),
        SheetForm(
            sheet=EARS,
            names=(
                "rows_around",
                "kernels_set",
                "tip_unset",
                "tip_aborted",
                "no_other_gaps",
                "answer",
                "remark",
            ),
        ),
    ),
    full=(
        _VISIT,
        SheetForm(
            sheet=STOPS,
            names=(
                "go_to",
                "measure",
                "place",
                "length_ft",
                "ears",
                "plants",
                "barren",
                "latitude",
                "longitude",
                "answer",
                "remark",
            ),
        ),
        SheetForm(
            sheet=EARS,
            names=(
                "rows_around",
                "lost_rows",
                "base_blank",
                "kernels_set",
                "opposite_set",
                "inside_blank",
                "tip_unset",
                "tip_aborted",
                "no_other_gaps",
                "pattern",
                "bare_cob",
                "ear_length_in",
                "answer",
                "remark",
            ),
        ),
    ),
)

ROUNDS: dict[str, Round] = {round_.name: round_ for round_ in (KERNEL_COUNT,)}
