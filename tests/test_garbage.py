"""How often Python looks for dead objects: seldom while books are taken in, and as before then."""

import gc

import pytest

from fieldbook.garbage import seldom_collected


def test_python_looks_as_often_as_before_when_the_work_is_done_or_fails() -> None:
    """Whoever called has his own way of it."""
    before = gc.get_threshold()
    with seldom_collected():
        assert gc.get_threshold()[0] > before[0]
        assert gc.get_threshold()[1:] == before[1:]
    assert gc.get_threshold() == before
    with pytest.raises(ZeroDivisionError), seldom_collected():
        raise ZeroDivisionError
    assert gc.get_threshold() == before


def test_who_let_python_look_more_seldom_still_does() -> None:
    """A larger number than ours stays."""
    before = gc.get_threshold()
    gc.set_threshold(10**6, *before[1:])
    try:
        with seldom_collected():
            assert gc.get_threshold()[0] == 10**6
    finally:
        gc.set_threshold(*before)
