"""The two ways in which a check knows a ledger: a short look, and the ledger itself."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TypeVar

import pytest

from fieldbook.ledger.folder import SeasonFolder
from fieldbook.ledger.ledger import Ledger

T = TypeVar("T")


@contextmanager
def _no_glance(_: SeasonFolder) -> Iterator[None]:
    """Give no short look, so that the ledger itself is opened."""
    yield None


def _no_ledger(*_: object, **__: object) -> None:
    """Stand where the ledger itself is opened."""
    raise AssertionError("the ledger itself was opened")


def both_ways(monkeypatch: pytest.MonkeyPatch, tell: Callable[[], T]) -> T:
    """Return what is told by a short look alone; the ledger itself must tell the same."""
    with monkeypatch.context() as patched:
        patched.setattr("fieldbook.season.foresight.glanced", _no_glance)
        wanted = tell()
    with monkeypatch.context() as patched:
        patched.setattr(Ledger, "__init__", _no_ledger)
        found = tell()
    assert found == wanted
    return found
