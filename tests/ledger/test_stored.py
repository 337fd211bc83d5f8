"""Records of the ledger's rows, made in a quicker way than by hand."""

from typing import Any

import pytest
import sqlalchemy as sa

from fieldbook.ledger import tables
from fieldbook.ledger.names import LAYOUT, ledger_sheets
from fieldbook.ledger.stored import stored_record
from fieldbook.ledger.tables import METADATA, layout_number
from fieldbook.schema import Kind, Sheet


@pytest.mark.parametrize("sheet", ledger_sheets(), ids=lambda sheet: sheet.name)
@pytest.mark.parametrize("is_filled", [True, False])
def test_a_stored_record_equals_one_made_the_usual_way(sheet: Sheet, is_filled: bool) -> None:
    """Whether its row is full or empty; what is empty reads as None."""
    keys = {column.name: 1 for column in sheet.keys}
    value: Any = {Kind.WHOLE: 4, Kind.NUMBER: 4.5}
    entries = {
        column.name: value.get(column.kind, "x") if is_filled else None for column in sheet.entries
    }
    found = stored_record(sheet.record, {**keys, **entries}.items())
    assert found == sheet.record(**keys, **entries)
    assert repr(found) == repr(sheet.record(**keys, **entries))


@pytest.mark.parametrize(
    "column",
    [
        sa.Column("fresh", sa.String()),
        sa.Column("field", sa.Integer, nullable=False),
        sa.Column("field", sa.String()),
    ],
    ids=["one more", "another kind", "may be empty"],
)
def test_the_number_of_the_tables_follows_their_columns(
    monkeypatch: pytest.MonkeyPatch, column: sa.Column[Any]
) -> None:
    """Any change of a column gives another number; the same columns, made anew, the same one."""
    copy = sa.MetaData()
    for table in METADATA.sorted_tables:
        table.to_metadata(copy)
    monkeypatch.setattr(tables, "METADATA", copy)
    assert layout_number.__wrapped__() == layout_number()
    copy.tables["visits"].append_column(column, replace_existing=True)
    assert layout_number.__wrapped__() != layout_number()
    assert 0 < layout_number() < 2**31


def test_the_layout_has_the_number_of_the_tables() -> None:
    """Columns have changed? Write the number that they come to now into the names."""
    assert layout_number() == LAYOUT
