"""Missing kernels along the ear: counts, losses by place, average ear, field pattern."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldbook.agronomy.ears import (
    EarRings,
    average_ear,
    field_pattern,
    kernel_set_pct,
    losses,
)

FULL = EarRings(base=0, set=40, inside=0, tip_unset=0, tip_aborted=0)
BASE_GAP = EarRings(base=8, set=32, inside=0, tip_unset=0, tip_aborted=0)
TIP_GAP = EarRings(base=0, set=30, inside=0, tip_unset=10, tip_aborted=0)
SHRUNKEN = EarRings(base=0, set=30, inside=0, tip_unset=2, tip_aborted=8)
PEPPERED = EarRings(base=0, set=30, inside=10, tip_unset=0, tip_aborted=0)

parts = st.integers(0, 20)
whole_ears = st.builds(
    EarRings, base=parts, set=parts, inside=parts, tip_unset=parts, tip_aborted=parts
)


def test_rings_need_every_part() -> None:
    """An ear has a ring count, and a kernel set, only when nothing was left unlooked at."""
    ear = EarRings(base=2, set=30, inside=1, tip_unset=4, tip_aborted=3)
    assert ear.rings == 40
    assert ear.kernel_set_pct == 75
    half_looked = EarRings(set=30, tip_unset=4)
    assert half_looked.rings is None
    assert half_looked.kernel_set_pct is None


def test_nothing_is_not_zero() -> None:
    """An ear without a single place has no kernel set, not one of zero."""
    empty = EarRings(base=0, set=0, inside=0, tip_unset=0, tip_aborted=0)
    assert empty.rings == 0
    assert empty.kernel_set_pct is None
    assert average_ear([empty]) is None


def test_negative_places_are_refused() -> None:
    """Nobody counts fewer than no places."""
    with pytest.raises(ValueError, match="negative"):
        EarRings(base=-1)


def test_losses_are_over_the_ears_looked_at() -> None:
    """Each place has its own number of ears behind it."""
    found = losses([EarRings(base=4, tip_unset=2), EarRings(base=0), EarRings(tip_unset=6)])
    assert (found.base.mean, found.base.n) == (2, 2)
    assert (found.tip_unset.mean, found.tip_unset.n) == (4, 2)
    assert (found.inside.mean, found.inside.n) == (None, 0)


def test_kernel_set_of_a_field() -> None:
    """The field's kernel set is the mean over complete ears."""
    found = kernel_set_pct([FULL, TIP_GAP, EarRings(set=10)])
    assert (found.mean, found.n) == (87.5, 2)


def test_average_ear_lies_butt_to_tip() -> None:
    """A bare base shows at the start, and shrunken kernels lie below a bare tip."""
    ear = EarRings(base=1, set=2, inside=0, tip_unset=1, tip_aborted=1)
    found = average_ear([ear])
    assert found is not None
    assert found.never_set == pytest.approx((1, 0, 0, 0, 1))
    assert found.set == pytest.approx((0, 1, 1, 0, 0))
    assert found.aborted == pytest.approx((0, 0, 0, 1, 0))


def test_average_ear_stretches_ears_alike() -> None:
    """Ears of any length with the same shares draw the same picture."""
    long_ear = EarRings(base=0, set=30, inside=10, tip_unset=10, tip_aborted=0)
    short_ear = EarRings(base=0, set=15, inside=5, tip_unset=5, tip_aborted=0)
    long_one, short_one = average_ear([long_ear], 20), average_ear([short_ear], 20)
    assert long_one is not None
    assert short_one is not None
    assert long_one.set == pytest.approx(short_one.set)
    assert long_one.scattered == pytest.approx((0.25,) * 16 + (0,) * 4)


@given(ears=st.lists(whole_ears, min_size=1, max_size=8), positions=st.integers(1, 60))
def test_shares_of_the_average_ear(ears: list[EarRings], positions: int) -> None:
    """At each position the four shares make one, and each keeps its total over the ear."""
    complete = [ear for ear in ears if ear.rings]
    found = average_ear(ears, positions)
    if not complete:
        assert found is None
        return
    assert found is not None
    assert found.ears == len(complete)
    columns = zip(found.set, found.never_set, found.aborted, found.scattered, strict=True)
    for shares in columns:
        assert sum(shares) == pytest.approx(1)
        assert min(shares) >= -1e-12
    kept = [(ear.set or 0) / (ear.rings or 1) for ear in complete]
    assert sum(found.set) / positions == pytest.approx(sum(kept) / len(kept))


def test_average_ear_takes_the_middle_ring_count() -> None:
    """Unless told otherwise the picture has as many positions as the middle ear."""
    found = average_ear([FULL, FULL, EarRings(base=0, set=9, inside=0, tip_unset=0, tip_aborted=0)])
    assert found is not None
    assert len(found.set) == 40


@pytest.mark.parametrize(
    ("ears", "name"),
    [
        ([FULL] * 5, "none"),
        ([BASE_GAP] * 2 + [FULL] * 4, "base"),
        ([TIP_GAP] * 3 + [FULL] * 3, "tip-unset"),
        ([SHRUNKEN] * 3 + [FULL] * 3, "tip-aborted"),
        ([PEPPERED] * 4 + [TIP_GAP], "scattered"),
        ([BASE_GAP] + [FULL] * 3, "mixed"),
        ([BASE_GAP] * 2 + [TIP_GAP] * 2, "mixed"),
    ],
)
def test_field_pattern(ears: list[EarRings], name: str) -> None:
    """A pattern is named when a third of the ears show it and no other is as common."""
    found = field_pattern(ears)
    assert found is not None
    assert found.name == name


def test_common_bare_tip_is_no_pattern() -> None:
    """A bare tip of about an inch is on most ears and names nothing; one place more does."""
    common = EarRings(base=0, set=35, inside=0, tip_unset=5, tip_aborted=0)
    longer = EarRings(base=0, set=34, inside=0, tip_unset=6, tip_aborted=0)
    names = [one.name for one in (field_pattern([common]), field_pattern([longer])) if one]
    assert names == ["none", "tip-unset"]


def test_pattern_needs_ears_looked_at() -> None:
    """Ears of which only kernels were counted say nothing about a pattern."""
    assert field_pattern([EarRings(set=30)]) is None
    found = field_pattern([EarRings(set=30), BASE_GAP])
    assert found is not None
    assert (found.ears, found.shares["base"]) == (1, 1)
