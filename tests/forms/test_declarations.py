"""The declarations hold together: nothing names a column, a code or a word that is not there."""

import string

import pytest

from fieldbook.agronomy import clipping, leafrules, leaves, stalks, tassel
from fieldbook.cross_rules import SumAtMost
from fieldbook.forms.layout import SheetForm
from fieldbook.forms.leaves import DISEASES, HEIGHTS
from fieldbook.forms.moulds import MOULDS, NO_MOULD
from fieldbook.forms.roster import ROSTER_FORM
from fieldbook.forms.rounds import ROUNDS, Round
from fieldbook.forms.stops import BEETLES_ON, TASSELS
from fieldbook.ledger.folder import digest
from fieldbook.problems import catalogue
from fieldbook.schema import Role
from fieldbook.units import System

FORMS = [
    pytest.param(form, id=f"{round_.name}-{kind}-{form.sheet.name}")
    for round_ in ROUNDS.values()
    for kind, whole in (("quick", round_.quick), ("full", round_.full))
    for form in whole.sheets
] + [pytest.param(ROSTER_FORM, id="roster")]


@pytest.mark.parametrize("form", FORMS)
def test_labels_of_a_sheet_differ(form: SheetForm) -> None:
    """A reader can find every column by its label alone."""
    labels = [column.label.casefold() for column in form.columns]
    assert len(labels) == len(set(labels))


@pytest.mark.parametrize("form", FORMS)
def test_rules_speak_of_shown_columns(form: SheetForm) -> None:
    """No row rule of a form names a column that the form leaves out."""
    shown = {column.name for column in form.columns}
    for rule in form.rules(System.US):
        assert set(rule.marks) <= shown
        assert catalogue()[rule.code].look, rule.code


@pytest.mark.parametrize("form", FORMS)
def test_titles_and_lists_fit_every_spreadsheet_app(form: SheetForm) -> None:
    """A label fits the 32 characters of a prompt's title, a help text its 255."""
    for column in form.columns:
        assert len(column.label) <= 32
        assert len(column.help) <= 255
        assert '"' not in column.label
        for choice in column.choices:
            assert '"' not in choice.label
            assert len(choice.label) <= column.width + 2


@pytest.mark.parametrize("form", [param for param in FORMS if "quick" in str(param.id)])
def test_the_quick_form_fits_a_tablet(form: SheetForm) -> None:
    """All columns of the quick form fit about 1,250 pixels, a 10-inch tablet on its side."""
    look_and_link = 24 + 7
    live = 8 * ("ears" in form.names) + 9 * ("kernels_set" in form.names)
    assert sum(column.width for column in form.columns) + look_and_link + live <= 172


def test_every_limit_has_a_reason() -> None:
    """A scout who is refused a number is told why."""
    for param in FORMS:
        form: SheetForm = param.values[0]  # type: ignore[assignment]
        for column in form.entries:
            if column.limits:
                assert column.limits.why, column.name
                assert column.limits.least < column.limits.most


def test_a_quick_form_keeps_the_sum_rules_of_its_columns() -> None:
    """Where a form leaves parts out, a sum rule still watches over the rest."""
    ears = next(form for form in ROUNDS["kernel-count"].quick.sheets if form.sheet.name == "ears")
    sums = [rule for rule in ears.rules(System.US) if isinstance(rule, SumAtMost)]
    assert {rule.columns for rule in sums} == {("kernels_set", "tip_unset", "tip_aborted")}


def test_keys_number_the_rows_of_a_visit() -> None:
    """Five stops with three ears each make fifteen rows, in the order of the walk."""
    ears = next(form for form in ROUNDS["kernel-count"].quick.sheets if form.sheet.name == "ears")
    rows = list(ears.sheet.planned_rows({"stop": 5, "ear": 3}))
    assert len(rows) == 15
    assert rows[:4] == [(1, 1), (1, 2), (1, 3), (2, 1)]


def test_a_round_without_stops_has_one_row_a_field() -> None:
    """The roadside look asks for one row a field and nothing else."""
    (fields,) = ROUNDS["roadside"].quick.sheets
    assert list(fields.sheet.planned_rows({})) == [()]


def test_records_carry_every_declared_column() -> None:
    """A sheet's record class can be made from its keys alone; all else may be missing."""
    for param in FORMS:
        sheet = param.values[0].sheet  # type: ignore[union-attr]
        keys = {column.name: None for column in sheet.columns if column.role is Role.KEY}
        assert sheet.record(**keys)


def test_lists_speak_the_language_of_the_figures() -> None:
    """Every disease, height, mould, beetle and tassel of a list is known to what computes."""
    diseases = {choice.key for choice in DISEASES} - {leaves.NONE, leaves.UNKNOWN}
    ruled = {*leafrules.RULED, *leafrules.NO_NUMERIC_RULE, *leafrules.NEVER_RAISE}
    assert diseases == ruled
    assert {choice.key for choice in HEIGHTS} == set(leaves.HIGHEST_FIRST)
    assert {choice.key for choice in BEETLES_ON} == set(clipping.BEETLES_ON)
    assert {choice.key for choice in TASSELS} == set(tassel.READINGS)
    for choice in MOULDS:
        assert choice.key == NO_MOULD or stalks.mould(choice.key).look == choice.key


def test_catalogue_messages_are_plain_sentences() -> None:
    """Every message ends as a sentence and names its parameters in a way that can be filled."""
    for entry in catalogue().values():
        names = [name for _, name, _, _ in string.Formatter().parse(entry.message) if name]
        assert all(name.isidentifier() for name in names), entry.code
        assert entry.message.rstrip().endswith((".", "?", "}")), entry.code
        assert entry.title


AS_WRITTEN = {
    "roadside": (1, "89cf9e6d"),
    "pollination": (1, "858dcec7"),
    "kernel-count": (2, "63ea52c0"),
    "ripening": (1, "74e798c2"),
    "harvest": (2, "ccdf3cb1"),
}


@pytest.mark.parametrize("name", ROUNDS)
def test_a_form_that_changes_gets_a_new_version(name: str) -> None:
    """Books are read as the form of their version is, so a column that changes needs a new one.

    Where this fails, raise the round's `form_version` as "Change a form" in DEVELOPERS.md
    says; then write the new version and digest here.
    """
    round_ = ROUNDS[name]
    assert (round_.form_version, digest(columns_of(round_).encode())[:8]) == AS_WRITTEN[name]


def columns_of(round_: Round) -> str:
    """Write down what a book of either form asks: sheets, columns, their kinds and choices."""
    return "\n".join(
        f"{kind} {sheet.sheet.name}.{column.name} {column.kind} "
        f"{[choice.key for choice in column.choices]}"
        for kind, form in (("quick", round_.quick), ("full", round_.full))
        for sheet in form.sheets
        for column in sheet.columns
    )
