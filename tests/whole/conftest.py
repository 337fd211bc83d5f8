"""The demo season, made once, without PDF files, for all tests that look at it."""

import os
from pathlib import Path

import pytest
from examples import make_demo

from fieldbook.ledger.folder import SeasonFolder, season_lock

_PATIENCE_S = 600.0


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make the demo season, or take the one that another process of this run has made."""
    base = tmp_path_factory.getbasetemp()
    shared = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "demo-of-all"
    shared.mkdir(exist_ok=True)
    with season_lock(SeasonFolder(shared), wait_s=_PATIENCE_S):
        if not (shared / "made").exists():
            make_demo(shared / "demo", pdf=False)
            (shared / "made").touch()
    return shared / "demo"
