"""Honest books of fields at random are asked little by the checks that compare readings."""

from pathlib import Path

import pytest
from honest import LEGS, Asked, honest_seasons

from fieldbook.problems import line

_NEVER = (
    "stage-backwards",
    "stage-ahead-of-later",
    "stage-before-heat",
    "stage-behind-heat",
    "date-exchanged",
    "visits-differ",
    "rows-copied",
    "counts-rounded",
)


def assert_asked_little(asked: Asked) -> None:
    """Hold what was asked of honest books against the lines that the checks are to keep."""
    assert [line(found) for found in asked.of(*_NEVER)] == []
    assert len(asked.of("ear-far-off")) <= asked.ears / 100


def test_honest_books_are_asked_little(tmp_path: Path) -> None:
    """A season of twelve fields: no stage, date, visit or run of rows, and few ears."""
    asked = honest_seasons(tmp_path, seeds=["small"], fields=12, full=True)
    assert asked.visits == 12 * len(LEGS)
    assert asked.ears > 500
    assert_asked_little(asked)


@pytest.mark.slow
@pytest.mark.parametrize("full", [False, True], ids=["quick", "full"])
def test_a_hundred_honest_fields_are_asked_little(tmp_path: Path, *, full: bool) -> None:
    """Five seasons of twenty fields, every round."""
    seeds = [f"season-{number}" for number in range(5)]
    assert_asked_little(honest_seasons(tmp_path, seeds=seeds, fields=20, full=full))
