"""How a mistake is made: in which row, which cells, and what stays as it was."""

import random

import pytest

from fieldbook.simulate.mistake import Mistake
from fieldbook.simulate.mistakes import Planted, plant
from fieldbook.workbook.plan import EntryValue

Row = tuple[str | int, ...]
ENTRIES: dict[tuple[str, Row, str], EntryValue] = {
    ("ears", (field, ear), name): value
    for field in ("A1", "B7")
    for ear in (1, 2, 3, 4)
    for name, value in (("rows_around", 10 + 2 * ear), ("kernels_set", 30 + ear))
}


def planted(field_id: str = "A1", seed: int = 7, **more: object) -> Planted | None:
    made = Mistake(
        name="x",
        code="rows-odd",
        sheet="ears",
        at="rows_around",
        **{"to": {}, **more},  # type: ignore[arg-type]
    )
    return plant(ENTRIES, made, field_id, random.Random(seed))


def changed(found: Planted | None) -> dict[tuple[Row, str], EntryValue | None]:
    """Return the cells that are not as they were."""
    assert found is not None
    names = ENTRIES.keys() | found.entries.keys()
    return {
        (key, column): found.entries.get((sheet, key, column))
        for sheet, key, column in names
        if found.entries.get((sheet, key, column)) != ENTRIES.get((sheet, key, column))
    }


@pytest.mark.parametrize("value", [15, None])
def test_one_cell_of_the_row_told_is_changed(value: int | None):
    """A value is typed over, and None is left out of the entries."""
    found = planted(to={"rows_around": value})
    assert found is not None
    assert changed(found) == {(found.key, "rows_around"): value}
    assert (("ears", found.key, "rows_around") in found.entries) == (value is not None)


@pytest.mark.parametrize("seed", range(20))
def test_what_repeats_the_first_row_is_never_made_in_it(seed: int):
    """Any other row gets its cell."""
    found = planted(seed=seed, again=("rows_around",))
    assert found is not None
    assert found.key != ("A1", 1)
    assert changed(found) == {(found.key, "rows_around"): 12}


def test_a_row_is_dragged_over_those_below():
    """Two rows below are as the one above; what must be found is at the first of them."""
    found = planted(down=2)
    assert found is not None
    at = int(found.key[1])
    assert at in (2, 3)
    for ear in (at, at + 1):
        key = ("A1", ear)
        assert found.entries["ears", key, "rows_around"] == 10 + 2 * (at - 1)
        assert found.entries["ears", key, "kernels_set"] == 30 + at - 1
    assert {key for key, _ in changed(found)} == {("A1", at), ("A1", at + 1)}


@pytest.mark.parametrize(
    "more",
    [
        {"fields": ("B7",)},
        {"field_id": "C3"},
        {"down": 4},
        {"filled": ("remark",)},
        {"sheet": "stops"},
    ],
)
def test_where_no_row_fits_nothing_is_planted(more: dict[str, object]):
    """Another field, no row, too few rows below, a cell that is empty."""
    if "sheet" in more:
        made = Mistake(name="x", code="rows-odd", at="stop", to={}, **more)  # type: ignore[arg-type]
        assert plant(ENTRIES, made, "A1", random.Random(7)) is None
        return
    assert planted(**more) is None  # type: ignore[arg-type]
