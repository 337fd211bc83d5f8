"""Books saved again by LibreOffice: what it writes passes, and is read as before."""

from pathlib import Path
from typing import Any

import pytest
from office import Edit, Office

from hostile.books import passed, real_book, refusal, values

pytestmark = pytest.mark.office


@pytest.fixture
def book(tmp_path: Path) -> Path:
    path = tmp_path / "book.xlsx"
    path.write_bytes(real_book())
    return path


def entered(data: bytes) -> dict[str, list[list[Any]]]:
    """Return all values except those of formulas, which an app computes and we do not."""
    formulas = passed(data).formulas
    return {
        title: [
            ["" if f"{chr(65 + column)}{number}" in formulas.get(title, ()) else value
             for column, value in enumerate(row)]
            for number, row in enumerate(rows, start=1)
        ]
        for title, rows in values(data)
    }  # fmt: skip


@pytest.mark.parametrize("suffix", ["ods", "xlsx"])
def test_saved_again(office: Office, book: Path, tmp_path: Path, suffix: str) -> None:
    """Formulas and hidden rows are found in the same cells, and all values come back equal."""
    saved = office.convert(book, tmp_path / f"again.{suffix}").read_bytes()
    before, after = passed(real_book()), passed(saved)
    assert after.kind == suffix
    assert after.formulas == before.formulas
    assert after.hidden_rows == before.hidden_rows
    assert after.notes == ()
    assert entered(saved) == entered(real_book())


def test_error_in_a_cell(office: Office, book: Path, tmp_path: Path) -> None:
    """A formula that fails is found as an error in both formats."""
    edit = Edit("Stops", "G5", "=1/0")
    for suffix in ("ods", "xlsx"):
        saved = office.fill(book, [edit], tmp_path / f"failed.{suffix}").read_bytes()
        assert "G5" in passed(saved).errors["Stops"]
        assert "G5" in passed(saved).formulas["Stops"]


def test_password_and_old_format(office: Office, book: Path, tmp_path: Path) -> None:
    """A password in either format, and the old format, are each called by name."""
    for suffix in ("ods", "xlsx"):
        locked = office.convert(book, tmp_path / f"locked.{suffix}", password="husk")
        assert refusal(locked.read_bytes()) == "file-protected"
    assert refusal(office.convert(book, tmp_path / "old.xls").read_bytes()) == "file-old-xls"
