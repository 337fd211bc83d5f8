"""Names printed in a book against the roster's: which of them make it another field."""

from dataclasses import replace

import pytest
from seasons import ROWS

from fieldbook.check.printed import PrintedVisit, is_of_field, own_visits, printed_problems
from fieldbook.check.roster import Roster, check_roster
from fieldbook.forms.roster import RosterRow
from fieldbook.problems import Problem, Weight, sentence
from fieldbook.units import System
from fieldbook.workbook.read import read_roster
from fieldbook.workbook.roster import write_roster

LONG, SHORT, BARN = ROWS


def roster_of(*rows: RosterRow) -> Roster:
    """Write a roster and read it back."""
    data = write_roster(rows, year=2026, units=System.US, language="en", paper="letter")
    sheet = read_roster(data, "roster.xlsx").sheet
    assert sheet is not None
    return check_roster(sheet, "roster.xlsx", System.US, "en")[0]


def visit(row: RosterRow, number: int = 1) -> PrintedVisit:
    """Return a visit as printed from a row of the roster."""
    assert row.field_id
    assert row.field
    assert row.grower
    return PrintedVisit(
        visit_id=f"{row.field_id}.KC{number}",
        field_id=row.field_id,
        field=row.field,
        grower=row.grower,
    )


def told(roster: Roster, *visits: PrintedVisit) -> list[Problem]:
    """Return what is told of visits."""
    return list(printed_problems(visits, roster))


def exchanged(one: RosterRow, other: RosterRow) -> tuple[RosterRow, RosterRow]:
    """Exchange the IDs of two rows."""
    return replace(one, field_id=other.field_id), replace(other, field_id=one.field_id)


def test_the_same_names_are_the_same_field() -> None:
    """Case, spaces and the way accents are stored make no other name."""
    row = replace(LONG, field="Peña  Alta", grower="ODA fenwick")
    printed = replace(LONG, field="Pen\u0303a alta", grower="Oda Fenwick ")
    assert told(roster_of(row), visit(printed)) == []
    assert is_of_field(visit(printed), roster_of(row))


def test_a_field_that_the_roster_lacks_is_no_matter_of_names() -> None:
    """That is told as an unknown field, elsewhere."""
    assert told(roster_of(SHORT), visit(LONG)) == []
    assert is_of_field(visit(LONG), roster_of(SHORT))


def test_exchanged_ids_of_two_growers_name_the_field_that_was_printed() -> None:
    """Neither field gets the other's counts, and each message says whose they are."""
    roster = roster_of(*exchanged(LONG, BARN), SHORT)
    visits = [visit(LONG), visit(LONG, 2), visit(SHORT), visit(BARN)]
    found = told(roster, *visits)
    assert [(one.code, one.place.field_id) for one in found] == [
        ("field-exchanged", "A1"),
        ("field-exchanged", "B7"),
    ]
    assert {one.weight for one in found} == {Weight.ERROR}
    assert sentence(found[0]).startswith(
        "Books of A1 (A1.KC1, A1.KC2) were printed for 'Long eighty' of Oda Fenwick. In the "
        "roster A1 is now 'Behind the barn' of Tamar O'Neill & Sons, and those names stand at B7"
    )
    assert own_visits(visits, roster) == [visit(SHORT)]


def test_exchanged_ids_of_one_grower_are_an_exchange_too() -> None:
    """The grower is the same, the counts would still be another field's."""
    roster = roster_of(*exchanged(LONG, SHORT))
    assert [one.code for one in told(roster, visit(LONG), visit(SHORT))] == ["field-exchanged"] * 2


def test_fields_of_one_name_of_two_growers_are_told_apart() -> None:
    """Every second farm has a home field: the grower's name says which."""
    home, other = replace(LONG, field="Home"), replace(BARN, field="Home")
    roster = roster_of(*exchanged(home, other))
    assert [one.code for one in told(roster, visit(home))] == ["field-exchanged"]
    assert own_visits([visit(home)], roster) == []


def test_both_names_new_are_another_field() -> None:
    """No field of the roster has them; the counts are left out until somebody says."""
    roster = roster_of(replace(LONG, field="Creek", grower="Ilse Roth", grower_id="G9"))
    (found,) = told(roster, visit(LONG))
    assert (found.code, found.weight) == ("field-of-other-names", Weight.ERROR)
    assert not is_of_field(visit(LONG), roster)


CHANGED = [
    ({"field": "Long ninety"}, "field-renamed", Weight.NOTE),
    ({"grower": "Ilse Roth", "grower_id": "G9"}, "field-grower-changed", Weight.ASK),
]


@pytest.mark.parametrize(("changes", "code", "weight"), CHANGED)
def test_one_new_name_is_told_and_the_counts_stand(
    changes: dict[str, str], code: str, weight: Weight
) -> None:
    """A field may get a name or an owner; a new owner is asked about."""
    roster = roster_of(replace(LONG, **changes))  # type: ignore[arg-type]
    (found,) = told(roster, visit(LONG))
    assert (found.code, found.weight) == (code, weight)
    assert is_of_field(visit(LONG), roster)


@pytest.mark.parametrize(
    "changes",
    [
        {"field": "Creek", "formerly": "Long eighty"},
        {"grower": "Ilse Roth", "formerly": "oda fenwick"},
        {"field": "Creek", "grower": "Ilse Roth", "formerly": "Long eighty; Oda Fenwick"},
    ],
)
def test_a_name_under_formerly_settles_it(changes: dict[str, str]) -> None:
    """What the roster says of former names is believed, and nothing is told any more."""
    roster = roster_of(replace(LONG, **changes))  # type: ignore[arg-type]
    assert told(roster, visit(LONG)) == []
    assert is_of_field(visit(LONG), roster)


def test_a_former_name_of_one_does_not_settle_the_other() -> None:
    """Both names are new and one is explained: then only the other is told."""
    row = replace(LONG, field="Creek", grower="Ilse Roth", formerly="Long eighty")
    assert [one.code for one in told(roster_of(row), visit(LONG))] == ["field-grower-changed"]


def test_former_names_of_any_row_of_a_field_count() -> None:
    """A field with two plantings may say it in either row."""
    rows = (
        replace(LONG, field="Creek"),
        replace(LONG, field="Creek", hybrid="Tamsin 104", formerly="Long eighty"),
    )
    assert told(roster_of(*rows), visit(LONG)) == []
