"""The worker processes of a test run: copies of one process that has loaded the reader.

Where its caller has threads, as every process of pytest-xdist has, the product starts a new Python
for each worker, which loads everything once more. Here one new process loads it once for all tests,
and each worker is a copy of that: as much apart from its caller and as limited, but soon there.
What a test says of new processes themselves asks for `new_processes`.
"""

import multiprocessing
import sys
from collections.abc import Iterator
from multiprocessing.context import BaseContext

import pytest

LOADED = ("fieldbook.season.intake", "fieldbook.mail.message", "fieldbook.workbook.write")
_context = multiprocessing.get_context


def _copying(method: str | None = None) -> BaseContext:
    """Give the context in which a new process is a copy of the one that has loaded all."""
    return _context("forkserver" if method == "spawn" else method)


@pytest.fixture(scope="session", autouse=sys.platform == "linux")
def copies() -> Iterator[None]:
    """Let workers be copies of one process; it takes little of the memory that they may have."""
    multiprocessing.set_forkserver_preload([*LOADED])
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(multiprocessing, "get_context", _copying)
        yield


@pytest.fixture
def new_processes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let workers be new processes, as where nobody tests."""
    monkeypatch.setattr(multiprocessing, "get_context", _context)
