"""Values of a sheet as they are: which cells count as filled."""

from fieldbook.entries import Cell
from fieldbook.workbook.raw import RawSheet

COLUMNS = (("rows", 0, "A"), ("kernels", 1, "B"), ("remark", 2, "C"))


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
    found = sheet("", 16.0, "", formulas="A1", errors="C1").filled(0, COLUMNS)
    assert found == {
        "rows": Cell(None, "A1", is_formula=True),
        "kernels": Cell(16.0, "B1"),
        "remark": Cell(None, "C1", is_error=True),
    }


def test_blank_cells_and_cells_beyond_the_row_are_not_there() -> None:
    """Nobody makes objects for them."""
    assert sheet("", 14.0).filled(0, COLUMNS) == {"kernels": Cell(14.0, "B1")}
