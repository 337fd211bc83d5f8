"""Packed results are what was packed, and few are in memory at once."""

import tracemalloc

from report import factory

from fieldbook.results.packed import PackedResults, pack


def test_results_come_back_as_they_were() -> None:
    """In their order, as often as they are asked for, and in slices."""
    fields = [factory.full(), factory.full(field_id="D16")]
    kept = PackedResults(map(pack, fields))
    assert list(kept) == fields == list(kept)
    assert len(kept) == len(fields)
    assert kept[-1] == fields[-1]
    assert list(kept[1:]) == fields[1:]
    assert fields[1] in kept


def test_going_through_them_unpacks_one_at_a_time() -> None:
    """What a season of a thousand fields takes in memory is a small part of its results."""
    many = PackedResults(pack(factory.full(field_id=f"F{number}")) for number in range(200))
    tracemalloc.start()
    try:
        one = [many[0]]
        held = tracemalloc.get_traced_memory()[0]
        assert sum(field.field_id.startswith("F") for field in many) == len(many)
        assert tracemalloc.get_traced_memory()[1] < 10 * held
    finally:
        tracemalloc.stop()
    assert one[0].field_id == "F0"
