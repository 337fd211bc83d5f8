"""What a scout sees while a planted field flowers: tassels, silks and beetles, with errors."""

from collections import Counter
from statistics import fmean

from fieldbook.simulate.causes import CLIPPED, ENDED, LATE, NOTHING, plant
from fieldbook.simulate.looks import Look, look_at_stops

COUNT = 60


def looks(cause: str, day: int) -> list[Look]:
    return [
        one
        for number in range(COUNT)
        for one in look_at_stops(plant([cause], seed=str(number)), day, seed=str(number))
    ]


def tassels(cause: str, day: int) -> dict[str, float]:
    found = looks(cause, day)
    return {name: many / len(found) for name, many in Counter(o.tassel for o in found).items()}


def test_tassels_follow_the_pollen_that_is_there() -> None:
    """Late pollen: shut at silking. Ended: finished by day 6. Else they shed around silking."""
    assert tassels(LATE, 2)["not-yet"] > 0.7
    assert tassels(ENDED, 6)["finished"] > 0.7
    usual = tassels(NOTHING, 2)
    assert usual.get("not-yet", 0) + usual.get("finished", 0) < 0.3


def test_tassels_do_not_always_tell() -> None:
    """In some fields heat killed the pollen, and the tassels of late pollen shed as usual."""
    assert 0.05 < 1 - tassels(LATE, 2)["not-yet"] < 0.3
    assert tassels(ENDED, 6)["finished"] < 0.95


def test_clipped_silks_are_short_and_have_beetles() -> None:
    """Silks are shorter and beetles more than without clipping; both overlap with usual fields."""
    for what in ("silk_length_in", "beetles"):
        clipped, usual = (
            [getattr(one, what) for one in looks(cause, 5) if getattr(one, what) is not None]
            for cause in (CLIPPED, NOTHING)
        )
        higher, lower = (clipped, usual) if what == "beetles" else (usual, clipped)
        assert fmean(higher) > 1.3 * fmean(lower)
        assert max(lower) > min(higher)


def test_late_pollen_leaves_long_silks() -> None:
    """Silks grow until pollen reaches them."""
    late, usual = (
        fmean(one.silk_length_in or 0 for one in looks(cause, 7)) for cause in (LATE, NOTHING)
    )
    assert late > 2 * usual


def test_no_silks_before_silking() -> None:
    """Nothing is measured where most ears have no silks yet."""
    assert all(one.silk_length_in is None for one in looks(NOTHING, -6))


def test_looks_come_from_the_seed_alone() -> None:
    """The same field looks the same on the same day, and not on every other seed."""
    field = plant([CLIPPED], seed="a")
    assert look_at_stops(field, 3, seed="a") == look_at_stops(field, 3, seed="a")
    assert look_at_stops(field, 3, seed="a") != look_at_stops(field, 3, seed="b")
