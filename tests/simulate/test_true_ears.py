"""Invented pollen, silks and ears: what they do in general, and the story of each field."""

import random
import statistics
from dataclasses import replace
from datetime import timedelta

import pytest
from truths import BY_ID, WEATHERS, after_silk, all_truths, ears, mean, regrown, truth

from fieldbook.simulate.field import EarState, FieldTruth, see_stop, true_yield_bu_ac
from fieldbook.simulate.place import Trouble

_TRUTHS = all_truths()
_COUNTED = 26  # days after half silk: a kernel count


def _rings(ear: EarState) -> int:
    gaps = ear.base_blank + ear.inside_blank + ear.tip_unset + ear.tip_aborted
    return gaps + ear.kernels_set


def _counted(field_id: str, name: str = "one") -> list[EarState]:
    field = truth(field_id, name)
    return ears(field, after_silk(field, _COUNTED))


def _silks(field: FieldTruth, days: int) -> list[float]:
    draw = random.Random("silks")
    day = after_silk(field, days)
    lengths = [see_stop(field, stop, day, draw).silk_length_in for stop in range(30, 70)]
    return [length for length in lengths if length is not None]


def test_rings_of_an_ear_are_all_told() -> None:
    """The parts sum to a plausible ring count, rows are even, kernels fit the rows."""
    for field_id in ("D14", "T03", "K41", "L31"):
        for ear in _counted(field_id):
            assert 20 <= _rings(ear) <= 60
            assert ear.rows_around % 2 == 0
            assert ear.kernels <= ear.rows_around * max(ear.kernels_set, ear.opposite_set or 0)


@pytest.mark.parametrize("name", WEATHERS)
def test_good_field_has_full_ears(name: str) -> None:
    """A good ear: 400-680 kernels on the mean, no bare butt, a tip gap of at most six rings."""
    pulled = _counted("D14", name)
    assert 400 <= mean(pulled, lambda ear: ear.kernels) <= 680
    assert mean(pulled, lambda ear: ear.base_blank) < 0.5
    assert mean(pulled, lambda ear: ear.tip_unset + ear.tip_aborted) < 6
    assert sum(ear.pattern == "even" for ear in pulled) > 0.95 * len(pulled)


def test_silks_take_four_to_eight_days_from_base_to_tip() -> None:
    """First to last silk of an ear within the measured 4-8 days; plants differ by 1.5-3 days."""
    for field in _TRUTHS:
        assert 4 <= field.pollination.span_d <= 8
        assert 1.5 <= field.pollination.silk_sd_d <= 3


def test_pollen_falls_for_seven_to_sixteen_days_around_silking() -> None:
    """A field without trouble sheds before and after its day of half silk, 7-16 days in all."""
    for name in WEATHERS:
        field = truth("D14", name)
        assert 7 <= (field.last_pollen - field.first_pollen).days <= 16
        assert field.first_pollen < field.half_silked < field.last_pollen
        assert field.first_silk < field.half_silked


def test_silks_fall_from_the_base_first_and_in_the_end_all_over() -> None:
    """At four days after half silk the base is ahead of the tip; at ten nearly all have fallen."""
    field = truth("D14")
    early = ears(field, after_silk(field, 4))
    base, middle, tip = (
        mean(early, lambda ear, part=part: getattr(ear, f"fallen_{part}_pct"))
        for part in ("base", "middle", "tip")
    )
    assert base > middle + 5
    assert middle > tip + 5
    late = ears(field, after_silk(field, 11))
    assert mean(late, lambda ear: ear.fallen_tip_pct) > 85
    assert sum(ear.all_fallen == "yes" for ear in late) > 0.5 * len(late)
    assert mean(early, lambda ear: ear.pale_tip_pct) > mean(late, lambda ear: ear.pale_tip_pct) + 30


def test_shares_of_tip_silks_never_pass_a_hundred() -> None:
    """Fallen and pale silks of the tip are parts of the same silks, on every day."""
    for days in range(0, 17, 2):
        for ear in ears(truth("Q71"), after_silk(truth("Q71"), days), count=60):
            if ear.fallen_tip_pct is not None and ear.pale_tip_pct is not None:
                assert ear.fallen_tip_pct + ear.pale_tip_pct <= 100


def test_nothing_is_set_before_silks_are_out() -> None:
    """A week before the first silk no kernel is set, no silk falls and no tassel sheds."""
    field = truth("D14")
    day = field.first_silk - timedelta(days=7)
    pulled = ears(field, day, count=60)
    assert all(ear.kernels_set == 0 and ear.fallen_base_pct is None for ear in pulled)
    assert see_stop(field, 30, day, random.Random(1)).silked == 0


def test_shrunken_tips_show_only_later() -> None:
    """At blister the kernels that will be lost still count as set; at dough they are gone."""
    field = truth("T04")
    early = ears(field, field.stage_days["R2"] - timedelta(days=2))
    late = ears(field, after_silk(field, _COUNTED))
    assert mean(early, lambda ear: ear.tip_aborted) < 1
    kernels = mean(late, lambda ear: ear.kernels_set)
    assert mean(early, lambda ear: ear.kernels_set) > kernels + 3


def test_ears_grow_long_after_silking() -> None:
    """At silking an ear has under 60 % of the length that it has three weeks later."""
    field = truth("D14")
    early, late = (ears(field, after_silk(field, days)) for days in (0, 22))
    length = mean(late, lambda ear: ear.ear_length_in)
    assert 5.5 < length < 8.5
    assert mean(early, lambda ear: ear.ear_length_in) < 0.6 * length


def test_tassel_readings_come_in_order() -> None:
    """Not yet, middle, whole spike, branches, finished: one way, all of them seen."""
    field = truth("D14")
    draw = random.Random(1)
    days = [field.stage_days["VT"] + timedelta(days=past) for past in range(16)]
    seen = [see_stop(field, 31, day, draw).tassel for day in days]
    order = ["not-yet", "middle", "whole-spike", "branches", "finished"]
    assert list(dict.fromkeys(seen)) == order


def test_half_of_the_plants_are_silked_on_the_day_of_silking() -> None:
    """Over 40 stops: few plants four days before, half on the day, nearly all five days after."""
    field, draw = truth("D14"), random.Random(9)
    shares = [
        statistics.fmean(
            see_stop(field, stop, after_silk(field, days), draw).silked / 20
            for stop in range(30, 70)
        )
        for days in (-4, 0, 5)
    ]
    assert shares[0] < 0.15
    assert 0.4 < shares[1] < 0.6
    assert shares[2] > 0.9


@pytest.mark.parametrize("name", WEATHERS)
def test_pollen_late_leaves_bare_butts(name: str) -> None:
    """T03: some bare rings at the butt of about half of the ears; waiting silks grow long."""
    pulled = _counted("T03", name)
    assert mean(pulled, lambda ear: ear.base_blank) > 3
    assert sum(ear.base_blank >= 2 for ear in pulled) > 0.45 * len(pulled)
    good = statistics.fmean(_silks(truth("D14", name), 6))
    assert statistics.fmean(_silks(truth("T03", name), 6)) > good + 1


def test_a_few_days_late_pollen_leaves_no_gap() -> None:
    """Silks wait: pollen three days late costs next to nothing, nine days late much."""

    def set_share(late_d: float) -> float:
        plot = replace(BY_ID["D14"], trouble=Trouble(pollen_late_d=late_d))
        return regrown(plot).pollination.mean_set()

    assert set_share(3) > 0.97
    assert set_share(14) < 0.7


@pytest.mark.parametrize("name", WEATHERS)
def test_drought_at_the_end_leaves_tips_never_set(name: str) -> None:
    """D15: more tip rings never set than in the good field, with a full base."""
    pulled, good = _counted("D15", name), _counted("D14", name)
    unset = mean(pulled, lambda ear: ear.tip_unset)
    assert unset > 2.5 + mean(good, lambda ear: ear.tip_unset)
    assert mean(pulled, lambda ear: ear.base_blank) < 1


@pytest.mark.parametrize("name", WEATHERS)
def test_short_nitrogen_shrinks_tips(name: str) -> None:
    """T04: pollinated and then lost: more shrunken tip than never-set tip, silks had all fallen."""
    pulled = _counted("T04", name)
    aborted = mean(pulled, lambda ear: ear.tip_aborted)
    assert aborted > 4
    assert aborted > 1.5 * mean(pulled, lambda ear: ear.tip_unset)
    field = truth("T04", name)
    fallen = mean(ears(field, after_silk(field, 13)), lambda ear: ear.fallen_tip_pct)
    assert fallen > 85


@pytest.mark.parametrize("name", WEATHERS)
def test_clipped_silks_leave_scattered_gaps(name: str) -> None:
    """L31: gaps between kernels on most ears; silks shorter and beetles more than elsewhere."""
    pulled = _counted("L31", name)
    assert sum(ear.pattern == "scattered" for ear in pulled) > 0.5 * len(pulled)
    assert mean(pulled, lambda ear: ear.inside_blank) > 5
    field, draw = truth("L31", name), random.Random(1)
    seen = [see_stop(field, stop, after_silk(field, 3), draw) for stop in range(30, 60)]
    assert statistics.fmean(stop.beetles for stop in seen) > 2
    good = statistics.fmean(_silks(truth("D14", name), 3))
    assert statistics.fmean(_silks(field, 3)) < 0.65 * good


def test_one_sided_ears_differ_between_their_sides() -> None:
    """L32: on about half of the ears the opposite row lost a third or more; elsewhere on none."""
    pulled = _counted("L32")
    uneven = [ear for ear in pulled if ear.pattern == "one-sided"]
    assert 0.4 < len(uneven) / len(pulled) < 0.7
    assert all(ear.opposite_set is not None for ear in uneven)
    assert all((ear.opposite_set or 0) <= 0.72 * ear.kernels_set for ear in uneven)
    assert not any(ear.pattern == "one-sided" for ear in _counted("D14"))


@pytest.mark.parametrize("name", WEATHERS)
def test_failed_pollination_leaves_bare_cobs_and_poor_set(name: str) -> None:
    """K41: under 60 % of the rings set, cobs without a kernel among them."""
    pulled = _counted("K41", name)
    share = mean(pulled, lambda ear: ear.kernels_set / _rings(ear))
    assert share < 0.6
    field = truth("K41", name)
    assert true_yield_bu_ac(field) < 0.5 * true_yield_bu_ac(truth("D14", name))
    bare = [ear for ear in pulled if ear.bare_cob == "yes"]
    assert all(ear.kernels_set == 0 for ear in bare)
    assert any(
        ear.bare_cob for ear in ears(field, after_silk(field, _COUNTED), count=1500, first_stop=100)
    )


def test_low_ground_edges_and_replanted_stops_are_the_worse_ones() -> None:
    """Stops of T05, Q72 and L33 that are not interior have fewer ears than the field's others."""
    for field_id, stop, place in (
        ("T05", 4, "low-ground"),
        ("Q72", 1, "edge"),
        ("Q72", 5, "end-rows"),
        ("L33", 3, "replant"),
    ):
        field, draw = truth(field_id), random.Random(1)
        day = after_silk(field, _COUNTED)
        here = [see_stop(field, stop, day, draw) for _ in range(30)]
        others = [see_stop(field, other, day, draw) for other in range(30, 90)]
        assert {one.place for one in here} == {place}
        assert {one.place for one in others} == {"interior"}
        ears_here = statistics.fmean(one.ears for one in here)
        assert ears_here < statistics.fmean(one.ears for one in others)


def test_replanted_stop_is_behind_the_field() -> None:
    """L33: on the field's day of silk the replanted patch has no silks yet."""
    field = truth("L33")
    assert see_stop(field, 3, after_silk(field, 4), random.Random(1)).silked == 0


def test_late_silks_stay_pale_at_the_tip() -> None:
    """Q71: at ten days after half silk more pale silks than in the good field."""
    pale, good = (
        mean(ears(truth(name), after_silk(truth(name), 10)), lambda ear: ear.pale_tip_pct)
        for name in ("Q71", "D14")
    )
    assert pale > good + 5


def test_grain_of_an_ear_weighs_what_its_kernels_do() -> None:
    """At harvest time: 0.2-0.6 lb an ear on the good field, none before black layer."""
    field = truth("D14")
    ripe = field.stage_days["R6"]
    pulled = ears(field, ripe + timedelta(days=12))
    assert 0.2 < mean(pulled, lambda ear: ear.grain_weight_lb) < 0.6
    moisture = mean(pulled, lambda ear: ear.moisture_pct)
    assert abs(moisture - field.growth.moisture_pct(ripe + timedelta(days=12))) < 0.5
    before = ears(field, ripe - timedelta(days=5), count=20)
    assert all(ear.grain_weight_lb is None for ear in before)
