"""The demo season, made once for all tests that look at it: it takes most of a minute."""

from pathlib import Path

import pytest
from examples import make_demo


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make the demo season."""
    folder = tmp_path_factory.mktemp("examples") / "demo"
    make_demo(folder)
    return folder
