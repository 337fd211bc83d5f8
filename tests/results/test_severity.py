"""The published trials are compared with only where the severity of the ear leaf was read."""

from dataclasses import replace
from pathlib import Path

import pytest
from report import factory
from seasons import NOW, small_season

from fieldbook.agronomy.fungicide import SeverityClass
from fieldbook.agronomy.leaves import LeafCount
from fieldbook.results.leaves import fungicide
from fieldbook.settings.figures import season_figures

MANY = [(18, 16), (17, 15), (18, 17)]
GRAY = "gray-leaf-spot"


def compared(path: Path, rows: list[LeafCount]) -> SeverityClass | None:
    """Return the class of published trials that a visit's leaves are held against."""
    season = small_season(path)
    asked = fungicide(
        season.roster.fields["A1"],
        (),
        "R1",
        factory.leaves(rows),
        factory.NO_OUTLOOK,
        season.settings,
        as_of=NOW.date(),
        figures=season_figures(season.settings),
    )
    return asked.severity


@pytest.mark.parametrize("unread", [0, 1, 3])
def test_one_stop_that_was_not_read_ends_the_comparison(tmp_path: Path, unread: int) -> None:
    """A disease that was looked for and not seen has a severity of none, and saves nothing."""
    rows = factory.leaf(GRAY, MANY, severity_pct=12.0)
    rows[:unread] = [replace(row, severity_pct=None) for row in rows[:unread]]
    found = compared(tmp_path / "s", rows)
    assert (found is None) is bool(unread)
    assert found is None or found.from_pct <= 12 < (found.to_pct or 100)
