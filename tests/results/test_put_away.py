"""Results that are put away are what was put, and few are in memory at once."""

import tracemalloc
from dataclasses import replace

import pytest
from report import factory

from fieldbook.results.put_away import PutAway


def test_results_come_back_as_they_were() -> None:
    """In the order that is asked for, as often as they are asked for, and in slices."""
    first, second = factory.full(), factory.full(field_id="D16")
    with PutAway() as place:
        place.put(second)
        place.put(first)
        kept = place.in_order([first.field_id, second.field_id])
        assert list(kept) == [first, second] == list(kept)
        assert len(kept) == 2
        assert kept[-1] == second
        assert list(kept[1:]) == [second]
        assert second in kept
        with pytest.raises(KeyError):
            place.get("D17")


def test_a_season_of_any_size_takes_little_memory() -> None:
    """A thousand fields lie on the disk; going through them reads one at a time."""
    one = factory.full(field_id="F0")
    names = [f"F{number}" for number in range(1000)]
    with PutAway() as place:
        tracemalloc.start()
        try:
            for name in names:
                place.put(replace(one, field_id=name))
            small = tracemalloc.get_traced_memory()[0]
            fields = place.in_order(names)
            assert sum(field.field_id.startswith("F") for field in fields) == len(names)
            assert tracemalloc.get_traced_memory()[1] < 4 * 2**20
        finally:
            tracemalloc.stop()
        assert small < 2**20
        assert place.get("F0") == one


def test_nothing_is_left_of_them() -> None:
    """The file goes with the block that opened it."""
    with PutAway() as place:
        place.put(factory.full())
    with pytest.raises(ValueError, match="closed"):
        place.get(factory.full().field_id)
