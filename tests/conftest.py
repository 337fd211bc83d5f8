"""Fixtures that every test may use."""

from pathlib import Path

import pytest
from hypothesis import settings
from office import Office, office_session
from parts import need, office_missing
from seasons import small_season

from fieldbook.season.season import Season

settings.register_profile("ci", derandomize=True, deadline=None, max_examples=50)
settings.load_profile("ci")

__all__ = ["office_session"]


@pytest.fixture
def office(request: pytest.FixtureRequest) -> Office:
    """Give the one LibreOffice of this run, or skip with what to install."""
    need(office_missing())
    driver = request.getfixturevalue("office_session")
    assert isinstance(driver, Office)
    return driver


@pytest.fixture
def season(tmp_path: Path) -> Season:
    """Make a small season folder of three fields."""
    return small_season(tmp_path / "season")
