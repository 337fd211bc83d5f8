"""Fixtures that every test may use."""

import os
import shutil
from collections.abc import Generator
from pathlib import Path
from typing import TypeVar

import pytest
from browser import Browser, browser_session
from cluster import DaskCluster, cluster_session
from database import Postgres, postgres_session
from forked import copies, new_processes
from hypothesis import settings
from office import Office, office_session
from parts import chromium_missing, cluster_missing, need, office_missing, postgres_missing
from seasons import small_season

from fieldbook.season.season import Season

settings.register_profile("ci", derandomize=True, deadline=None, max_examples=50)
settings.load_profile("ci")

T = TypeVar("T")

__all__ = [
    "browser_session",
    "cluster_session",
    "copies",
    "new_processes",
    "office_session",
    "postgres_session",
]
MEMORY = Path("/dev/shm")  # a folder that lies in memory, where Linux has one
ROOM = 2 * 2**30  # bytes; a run of all tests takes less than a quarter of that


def pytest_configure(config: pytest.Config) -> None:
    """Keep the tests' folders in memory where there is room: seasons wait for their disk often."""
    if config.option.basetemp is None and MEMORY.is_dir() and shutil.disk_usage(MEMORY).free > ROOM:
        os.environ.setdefault("PYTEST_DEBUG_TEMPROOT", str(MEMORY))


def given(request: pytest.FixtureRequest, missing: str | None, name: str, kind: type[T]) -> T:
    """Give the one driver of this run, or skip with what to install."""
    need(missing)
    driver = request.getfixturevalue(name)
    assert isinstance(driver, kind)
    return driver


@pytest.fixture
def office(request: pytest.FixtureRequest) -> Office:
    """Give the one LibreOffice of this run, or skip with what to install."""
    return given(request, office_missing(), "office_session", Office)


@pytest.fixture
def browser(request: pytest.FixtureRequest) -> Browser:
    """Give the one Chromium of this run, or skip with what to install."""
    return given(request, chromium_missing(), "browser_session", Browser)


@pytest.fixture
def cluster(request: pytest.FixtureRequest) -> DaskCluster:
    """Give the one Dask cluster of this run, or skip with what to install."""
    return given(request, cluster_missing(), "cluster_session", DaskCluster)


@pytest.fixture
def postgres(request: pytest.FixtureRequest) -> Postgres:
    """Give the one PostgreSQL server of this run, or skip with what to install."""
    return given(request, postgres_missing(), "postgres_session", Postgres)


@pytest.fixture
def season(tmp_path: Path) -> Season:
    """Make a small season folder of three fields."""
    return small_season(tmp_path / "season")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(
    item: pytest.Item, call: pytest.CallInfo[None]
) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Where every part is said to be there, a test that skips has failed."""
    report = yield
    all_parts = os.environ.get("SILKBOOK_ALL_PARTS") == "1"
    if all_parts and report.skipped and not hasattr(report, "wasxfail"):
        report.outcome = "failed"
        report.longrepr = f"{item.nodeid} skipped, which no test may do here: {call.excinfo}"
    return report
