"""Invented leaves, stalks and moulds: how they go in general, and the story of each field."""

import random
import statistics
from collections.abc import Sequence
from datetime import date, timedelta

import pytest
from truths import BY_ID, WEATHERS, after_silk, all_truths, ears, mean, truth

from fieldbook.simulate.canopy import failing_stalks
from fieldbook.simulate.field import (
    FieldTruth,
    LeafState,
    look_at_leaves,
    see_stop,
    try_stalks,
)

_TRUTHS = all_truths()


def _leaves(field: FieldTruth, day: date, *, stops: int = 20) -> Sequence[LeafState]:
    draw = random.Random("leaves")
    return [one for stop in range(30, 30 + stops) for one in look_at_leaves(field, stop, day, draw)]


def _share(states: Sequence[LeafState], part: str, *, stops: int = 20) -> float:
    return sum(getattr(state, part) for state in states) / (20 * stops)


def test_disease_only_grows() -> None:
    """Day by day more plants have it, higher up, on more of the ear leaf; never the other way."""
    for field in _TRUTHS:
        start = field.plot.planted
        for epidemic in field.leaves:
            days = [start + timedelta(days=past) for past in range(30, 150)]
            for course in (epidemic.incidence, epidemic.high_share, epidemic.severity_pct):
                found = [course(day) for day in days]
                assert found == sorted(found)
                assert found[-1] > found[0]


def test_clean_field_shows_nothing() -> None:
    """D14 has no leaf disease on any visit."""
    field = truth("D14")
    for days in (-5, 5, 25, 40):
        assert not _leaves(field, after_silk(field, days))


def test_parts_of_a_leaf_row_fit_together() -> None:
    """Plants with it are of those looked at, high ones of those with it; ten plants when asked."""
    field = truth("D16")
    day = field.stage_days["VT"]
    for state in _leaves(field, day):
        assert 0 <= state.high <= state.with_it <= state.looked == 20
    (state,) = look_at_leaves(field, 31, day, random.Random(1), plants=10)
    assert state.looked == 10


@pytest.mark.parametrize("name", WEATHERS)
@pytest.mark.parametrize("field_id", ["D16", "F61"])
def test_gray_leaf_spot_is_over_the_line_at_tassel(field_id: str, name: str) -> None:
    """Over half of the plants have it on the third leaf below the ear leaf when tassels come."""
    field = truth(field_id, name)
    seen = _leaves(field, field.stage_days["VT"])
    assert {state.disease for state in seen} == {"gray-leaf-spot"}
    assert _share(seen, "high") > 0.55


def test_residue_history_and_rating_go_with_the_gray_leaf_spot_fields() -> None:
    """D16 stands on a susceptible hybrid; F61 on an intermediate one with every further risk."""
    assert BY_ID["D16"].row.gray_leaf_spot_rating == "susceptible"
    row = BY_ID["F61"].row
    assert row.gray_leaf_spot_rating == "intermediate"
    assert row.previous_crop == "corn"
    assert (row.residue_pct or 0) >= 35
    assert row.disease_history


@pytest.mark.parametrize("name", WEATHERS)
def test_northern_blight_stays_low(name: str) -> None:
    """K42: some plants have it three weeks after silk, next to none of them high up."""
    field = truth("K42", name)
    seen = _leaves(field, after_silk(field, 24))
    assert {state.disease for state in seen} == {"northern-leaf-blight"}
    assert 0.02 < _share(seen, "with_it") < 0.3
    assert _share(seen, "high") < 0.05


@pytest.mark.parametrize("name", WEATHERS)
def test_common_rust_is_everywhere(name: str) -> None:
    """K43: nearly every plant has it at silking, with little of the ear leaf."""
    field = truth("K43", name)
    seen = _leaves(field, after_silk(field, 5))
    assert _share(seen, "with_it") > 0.85
    assert statistics.fmean(state.severity_pct for state in seen) < 6


@pytest.mark.parametrize("name", WEATHERS)
def test_tar_spot_climbs_from_visit_to_visit(name: str) -> None:
    """H51: under a quarter of the plants at silking, rising at each of four weekly visits."""
    field = truth("H51", name)
    shares = [
        _share(_leaves(field, after_silk(field, days)), "with_it") for days in (0, 12, 24, 36)
    ]
    assert shares[0] < 0.25
    assert shares == sorted(shares)
    assert shares[3] > shares[0] + 0.3


@pytest.mark.parametrize("name", WEATHERS)
def test_southern_rust_comes_after_the_milk_stage(name: str) -> None:
    """H52: next to nothing at silking, more than half of the plants at dent or soon after."""
    field = truth("H52", name)
    assert _share(_leaves(field, field.half_silked), "with_it") < 0.1
    late = field.stage_days["R5"] + timedelta(days=10)
    assert _share(_leaves(field, late), "with_it") > 0.5


def test_unknown_disease_is_told_as_unknown() -> None:
    """H53: the scout's key for it is 'unknown'."""
    field = truth("H53")
    assert {state.disease for state in _leaves(field, after_silk(field, 25))} == {"unknown"}


def _failed_share(field: FieldTruth, day: date) -> float:
    draw = random.Random("stalks")
    return statistics.fmean(try_stalks(field, stop, day, draw).failed for stop in range(30, 130))


def _harvest_look(field: FieldTruth) -> date:
    return field.stage_days["R6"] + timedelta(days=8)


@pytest.mark.parametrize("name", WEATHERS)
def test_stalks_fail_where_the_story_says_so(name: str) -> None:
    """Before harvest: F62 well over 10 %, F63 within 7-16 %, the good field under 10 %."""
    found = {
        field_id: _failed_share(truth(field_id, name), _harvest_look(truth(field_id, name))) / 20
        for field_id in ("F62", "F63", "D14")
    }
    assert found["F62"] > 0.15
    assert 0.07 < found["F63"] < 0.16
    assert found["D14"] < 0.08


def test_failing_stalks_rise_from_dent_on() -> None:
    """Few fail at dent, more at black layer, most two weeks later."""
    field = truth("F62")
    days = (field.stage_days["R5"], field.stage_days["R6"], _harvest_look(field))
    shares = [failing_stalks(field.plot, field.growth, day) for day in days]
    assert shares == sorted(shares)
    assert shares[0] < 0.3 * shares[2]


def test_stalk_row_fits_together() -> None:
    """What failed, lodged and is mouldy is of the 20; the bag is only filled with ripe grain."""
    field, draw = truth("F62"), random.Random(1)
    for stop in range(1, 30):
        row = try_stalks(field, stop, _harvest_look(field), draw)
        assert row.tried == row.ears_opened == 20
        assert row.stalk_lodged <= row.failed <= 20
        assert (row.mould == "none") == (row.ears_mouldy == 0)
        assert row.bag_grain_lb is not None
        assert 2 < row.bag_grain_lb < 8
    early = try_stalks(field, 1, field.stage_days["R5"], draw)
    assert (early.bag_ears, early.bag_grain_lb, early.bag_moisture_pct) == (None, None, None)


@pytest.mark.parametrize("name", WEATHERS)
@pytest.mark.parametrize(("field_id", "mould"), [("Q71", "pink-tip"), ("B23", "olive-powder")])
def test_mould_is_the_story_s_and_the_good_field_has_little(
    field_id: str, mould: str, name: str
) -> None:
    """Two weeks after black layer: 5 % of the ears and more, mostly of the one kind."""
    field, good = truth(field_id, name), truth("D14", name)
    pulled = ears(field, field.stage_days["R6"] + timedelta(days=14), count=1000)
    found = [ear.mould for ear in pulled if ear.mould != "none"]
    assert len(found) > 0.05 * len(pulled)
    assert found.count(mould) > 0.6 * len(found)
    clean = ears(good, good.stage_days["R6"] + timedelta(days=14), count=1000)
    assert sum(ear.mould != "none" for ear in clean) < 0.05 * len(clean)


def test_mould_shows_late() -> None:
    """No mould is seen at the milk stage, and a mouldy ear always has a share."""
    field = truth("Q71")
    assert all(ear.mould == "none" for ear in ears(field, field.stage_days["R3"], count=100))
    late = ears(field, field.stage_days["R6"] + timedelta(days=14))
    assert all((ear.mould_pct is None) == (ear.mould == "none") for ear in late)
    assert mean(late, lambda ear: ear.mould_pct) > 1


def test_short_nitrogen_fires_leaves_from_below() -> None:
    """T04: at dent the lowest green leaf stands higher than in the good field."""
    order = ["below-6", "below-5", "below-4", "below-3", "below-2", "below-1", "ear-leaf"]

    def fired(field_id: str) -> float:
        field, draw = truth(field_id), random.Random(1)
        day = field.stage_days["R5"]
        seen = [see_stop(field, stop, day, draw).lowest_green_leaf for stop in range(30, 70)]
        return statistics.fmean(order.index(leaf) for leaf in seen)

    assert fired("T04") > fired("D14") + 2
