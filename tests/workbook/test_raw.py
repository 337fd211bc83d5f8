"""Values of a sheet as they are: which cells count as filled."""

from datetime import time

from fieldbook.entries import Mark
from fieldbook.workbook.raw import RawSheet

COLUMNS = (("rows", 0), ("kernels", 1), ("remark", 2))
LETTERS = {"rows": "A", "kernels": "B", "remark": "C"}


def sheet(*values: object, formulas: str = "", errors: str = "") -> RawSheet:
    """Make a sheet of one row."""
    return RawSheet(
        title="Ears",
        rows=[values],
        formulas=frozenset(formulas.split()),
        errors=frozenset(errors.split()),
        hidden=frozenset(),
    )


def test_a_formula_that_shows_nothing_is_in_its_cell_all_the_same() -> None:
    """A scout may have typed one over an entry; so may an error stand there without a value."""
    found = sheet("", 16.0, "", formulas="A1 Z1", errors="C1")
    assert found.typed(0, COLUMNS) == {"kernels": 16.0}
    assert found.marks(LETTERS) == {
        1: {"rows": Mark(is_formula=True), "remark": Mark(is_error=True)},
    }


def test_blank_cells_and_cells_beyond_the_row_are_not_there() -> None:
    """Nobody makes objects for them; nor for a text of which nothing can be seen."""
    assert sheet("", 14.0).typed(0, COLUMNS) == {"kernels": 14.0}
    assert sheet(" \t", 14.0, "\xa0").typed(0, COLUMNS) == {"kernels": 14.0}


def test_values_that_no_column_holds_are_texts() -> None:
    """A time of day, or a number without an end, is told as a text like any other."""
    found = sheet(float("inf"), time(6, 30)).typed(0, COLUMNS)
    assert found == {"rows": "inf", "kernels": "06:30:00"}


def test_minus_nothing_is_nothing() -> None:
    """A damaged file may hold it; parsers remember equal values, and say "0" of both."""
    (value,) = sheet(-0.0).typed(0, COLUMNS).values()
    assert str(value) == "0.0"
