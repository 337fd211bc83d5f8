"""Planted causes: what each does to the ears of a field, and how varied the fields are."""

from statistics import fmean, pstdev

import pytest

from fieldbook.simulate.causes import (
    CLIPPED,
    ENDED,
    LATE,
    NOTHING,
    SHORT,
    STOPPED,
    THREE_LATE,
    Planted,
    count_silks,
    plant,
    read_ears,
)
from fieldbook.simulate.rings import Rings

COUNT = 40


def ears(cause: str) -> list[tuple[Planted, list[Rings]]]:
    made = [(plant([cause], seed=str(number)), str(number)) for number in range(COUNT)]
    return [(one, [e.rings for e in read_ears(one, seed=seed) if e.rings]) for one, seed in made]


def lost(rings: Rings, *parts: str) -> float:
    return sum(getattr(rings, part) for part in parts) / sum(vars(rings).values())


def field_mean(cause: str, *parts: str) -> float:
    return fmean(lost(ear, *parts) for _, found in ears(cause) for ear in found)


def test_fields_are_drawn_over_the_whole_ranges() -> None:
    """Silks, receptivity and ears of many fields fill the published ranges evenly."""
    fields = [plant([NOTHING], seed=str(number)) for number in range(400)]
    ranges = {
        "plant_sd_d": (1, 2.2),
        "span_d": (3, 8),
        "first_position": (0.15, 0.38),
        "base_lag_d": (0, 1),
        "receptive_d": (5, 10),
        "rings": (33, 50),
    }
    for name, (low, high) in ranges.items():
        drawn = [getattr(one, name) for one in fields]
        assert low <= min(drawn) < low + 0.05 * (high - low)
        assert high - 0.05 * (high - low) < max(drawn) <= high
        assert fmean(drawn) == pytest.approx((low + high) / 2, abs=0.06 * (high - low))


def test_same_seed_makes_the_same_field() -> None:
    """A field, its ears and its silk counts come from the seed alone."""
    one, same, other = (plant([LATE], seed=seed) for seed in ("a", "a", "b"))
    assert one == same
    assert one != other
    assert read_ears(one, seed="a") == read_ears(same, seed="a")
    assert read_ears(one, seed="a") != read_ears(one, seed="b")
    assert count_silks(one, seed="a") == count_silks(same, seed="a")


def test_planted_days_lie_in_their_ranges() -> None:
    """Pollen from day 8-11, last on day 1-4, silks stopped on 2-4, shortage on 8-20."""
    ranges = {LATE: (8, 11), ENDED: (1, 4), STOPPED: (2, 4), CLIPPED: (2, 3), SHORT: (8, 20)}
    for cause, (low, high) in ranges.items():
        drawn = {plant([cause], seed=str(number)).day_of(cause) for number in range(300)}
        assert min(drawn) == low
        assert high <= max(drawn) <= high + (cause == STOPPED)
    with pytest.raises(ValueError, match="not planted"):
        plant([NOTHING], seed="0").day_of(SHORT)


def test_an_ordinary_field_has_full_ears() -> None:
    """Without a cause less than an inch is bare at the tip and hardly a ring elsewhere."""
    assert field_mean(NOTHING, "tip_unset", "tip_aborted") < 0.12
    assert field_mean(NOTHING, "base_blank", "inside_blank") < 0.05


def test_pollen_three_days_late_leaves_hardly_a_gap() -> None:
    """Silks wait a week: three days without pollen cost less than two rings of a hundred more."""
    parts = "base_blank", "inside_blank"
    assert field_mean(THREE_LATE, *parts) < field_mean(NOTHING, *parts) + 0.02


def test_late_pollen_bares_the_base_and_an_early_end_the_tip() -> None:
    """Late pollen takes the lower part of the ear, pollen that ends early the upper part."""
    late, ended = (field_mean(one, "base_blank") for one in (LATE, ENDED))
    assert late > 0.15
    assert late > 3 * ended
    late, ended = (field_mean(one, "tip_unset") for one in (LATE, ENDED))
    assert ended > 0.2
    assert ended > 3 * late


def test_silks_stop_at_the_same_ring_on_all_plants() -> None:
    """Edges of silks that stopped lie closer together than those of pollen that ended."""
    spreads = {
        cause: fmean(pstdev([lost(ear, "tip_unset") for ear in found]) for _, found in ears(cause))
        for cause in (ENDED, STOPPED)
    }
    assert spreads[STOPPED] < 0.5 * spreads[ENDED]


def test_clipping_scatters_and_shortage_aborts() -> None:
    """Clipped silks leave gaps inside; a shortage leaves remnants at the tip and none inside."""
    assert field_mean(CLIPPED, "inside_blank") > 0.15
    assert field_mean(SHORT, "tip_aborted") > 0.1
    assert field_mean(SHORT, "inside_blank") < 0.03


def test_silk_counts_rise_around_the_silking_date() -> None:
    """The second count has more plants with silks, and half of them lie between or near."""
    counts = [count_silks(plant([NOTHING], seed=str(n)), seed=str(n)) for n in range(COUNT)]
    for (first, few, of), (second, many, _) in counts:
        assert first < second
        assert few < many <= of
    assert fmean(few / of for (_, few, of), _ in counts) < 0.5
    assert fmean(many / of for _, (_, many, of) in counts) > 0.7
