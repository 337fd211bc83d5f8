"""How often Python looks for dead objects that hold each other."""

import gc
from collections.abc import Iterator
from contextlib import contextmanager

_NEW_OBJECTS = 20_000  # between two looks; Python's own number is 700


@contextmanager
def seldom_collected() -> Iterator[None]:
    """Let Python look seldom for dead objects that hold each other, while this lasts.

    A book is thousands of cells and readings, none of which hold each other: they go as soon as
    nobody needs them, and each look at those that are needed finds nothing.
    """
    young, *older = gc.get_threshold()
    gc.set_threshold(max(young, _NEW_OBJECTS), *older)
    try:
        yield
    finally:
        gc.set_threshold(young, *older)


@contextmanager
def collected_at_the_end() -> Iterator[None]:
    """Let nobody look while this lasts, and then only among what is new.

    A page that is printed leaves so much that, every few pages, all that is loaded would be looked
    through: most of a page's time again. Whoever has turned looking off keeps it off.
    """
    if not gc.isenabled():
        yield
        return
    gc.disable()
    try:
        yield
    finally:
        gc.enable()
        gc.collect(0)
