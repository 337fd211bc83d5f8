"""Plain tables as a workbook: what is written is what is read, and nothing becomes a formula."""

import io
from datetime import date, datetime
from pathlib import Path

import pytest
from openpyxl import load_workbook

from fieldbook.workbook.table_book import TableColumn, TableSheet, TableValue, write_tables

COLUMNS = (TableColumn(head="What", width=20), TableColumn(head="Value", width=12))


def made(*rows: tuple[TableValue, ...]) -> bytes:
    sheet = TableSheet(title="Facts", heading="All facts", columns=COLUMNS, rows=rows)
    return write_tables([sheet], title="Book", year=2026, paper="a4")


def test_values_keep_their_kind() -> None:
    """Text, numbers and dates come back as such; a missing value is an empty cell."""
    rows = (
        ("a", 1),
        ("b", 2.5),
        ("c", date(2026, 7, 6)),
        ("=1+1", "http://x.example"),
        ("d", None),
    )
    sheet = load_workbook(io.BytesIO(made(*rows)))["Facts"]
    assert sheet["A1"].value == "All facts"
    assert [cell.value for cell in sheet[2]] == ["What", "Value"]
    found = [tuple(cell.value for cell in row) for row in sheet.iter_rows(min_row=3)]
    assert found == [
        ("a", 1),
        ("b", 2.5),
        ("c", datetime(2026, 7, 6)),
        ("=1+1", "http://x.example"),
        ("d", None),
    ]
    assert sheet["A6"].data_type == "s"
    assert sheet["B6"].hyperlink is None


def test_a_table_can_be_filtered_and_scrolled() -> None:
    """The head stays in sight, the filter spans the table, and no cell is locked."""
    sheet = load_workbook(io.BytesIO(made(("a", 1), ("b", 2))))["Facts"]
    assert sheet.auto_filter.ref == "A2:B4"
    assert sheet.freeze_panes == "A3"
    assert not sheet.protection.sheet


def test_the_same_table_is_the_same_bytes() -> None:
    """No clock goes into the file."""
    assert made(("a", 1)) == made(("a", 1))


def test_a_row_of_another_length_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A value too many is an error, not a lost value; no half-written file is left anywhere."""
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    with pytest.raises(ValueError, match="argument 2"):
        made(("a", 1), ("a", 1, 2))
    assert not list(tmp_path.iterdir())
