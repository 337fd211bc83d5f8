"""Missing kernels by place over ears, stops and field, and what they are worth at the most."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldbook.agronomy.ears import BASE, MIXED, NONE, SCATTERED, TIP_ABORTED, TIP_UNSET, EarRings
from fieldbook.agronomy.gaps import (
    ONE_SIDED,
    PLACES,
    WHOLE_EAR,
    Gaps,
    SeenEar,
    ear_gaps,
    ear_pattern,
    field_gaps,
    priced_gaps,
)


def rings(
    base: float = 0, kept: float = 40, inside: float = 0, unset: float = 0, aborted: float = 0
) -> EarRings:
    return EarRings(base=base, set=kept, inside=inside, tip_unset=unset, tip_aborted=aborted)


def ear(stop: int = 1, *, one_sided: bool | None = False, **parts: float) -> SeenEar:
    return SeenEar(stop=stop, rings=rings(**parts), rows_around=16, one_sided=one_sided)


def gaps(*ears: SeenEar, ears_per_ac: float | None = 30000) -> Gaps:
    found = field_gaps(ears, ears_per_ac=ears_per_ac, thousand_kernels_per_bu=90)
    assert found is not None
    return found


def test_places_of_an_ear() -> None:
    """Each kind of gap stands under its place, and what was not looked at stays unknown."""
    found = ear_gaps(ear(base=3, inside=2, unset=4, aborted=5))
    assert found == {
        BASE: 3,
        SCATTERED: 2,
        TIP_UNSET: 4,
        TIP_ABORTED: 5,
        ONE_SIDED: 0,
        WHOLE_EAR: 0,
    }
    assert ear_gaps(SeenEar(stop=1, rings=EarRings(set=30)))[BASE] is None


@pytest.mark.parametrize(
    ("lost_rows", "opposite", "one_sided", "missing"),
    [
        (0, 20, True, 10),
        (4, None, None, 10),
        (4, 20, True, 17.5),
        (0, 20, False, 0),
        (0, 50, True, 0),
    ],
)
def test_one_sided_loss_is_counted_around_the_ear(
    lost_rows: float, opposite: float | None, one_sided: bool | None, missing: float
) -> None:
    """Half the ear with 20 of 40 loses 10 rings all around; 4 of 16 rows lost are 10 as well."""
    one = SeenEar(
        stop=1,
        rings=rings(),
        rows_around=16,
        lost_rows=lost_rows,
        opposite_set=opposite,
        one_sided=one_sided,
    )
    assert ear_gaps(one)[ONE_SIDED] == pytest.approx(missing)


@pytest.mark.parametrize(
    ("unset", "aborted", "priced"),
    [(4, 0, (0, 0)), (7, 3, (2, 3)), (2, 6, (0, 3)), (0, 9, (0, 4)), (5, 0, (0, 0))],
)
def test_first_inch_of_bare_tip_is_free(
    unset: float, aborted: float, priced: tuple[float, float]
) -> None:
    """Five rings are free from the very tip down, whatever became of them."""
    found = priced_gaps(ear(unset=unset, aborted=aborted))
    assert (found[TIP_UNSET], found[TIP_ABORTED]) == priced


def test_free_inch_by_the_ear_itself() -> None:
    """An ear of 48 rings over 8 in has six rings to the inch."""
    one = SeenEar(stop=1, rings=rings(kept=38, unset=10), rows_around=16, length_in=8)
    assert priced_gaps(one)[TIP_UNSET] == 4


def test_field_is_the_mean_of_its_stops() -> None:
    """A stop with many ears does not outweigh one with few."""
    found = gaps(ear(1, base=6), ear(2, base=0), ear(2, base=0), ear(2, base=0))
    assert found.stops[1][BASE].rings == 6
    assert found.field[BASE].rings == 3
    assert found.field[BASE].ears == 4
    worth = 30 * 16 / 90
    assert found.field[BASE].bu_ac == pytest.approx(3 * worth)
    assert found.bu_ac == pytest.approx(3 * worth)


def test_bare_cobs_lose_what_the_others_hold() -> None:
    """One bare cob in four, the others with 36: nine rings on the average ear, and no base gap."""
    found = gaps(*(ear(kept=36, base=2) for _ in range(3)), SeenEar(stop=1, bare_cob=True))
    assert found.field[WHOLE_EAR].rings == pytest.approx(9)
    assert found.field[BASE].rings == pytest.approx(1.5)
    alone = gaps(SeenEar(stop=1, bare_cob=True))
    assert alone.field[WHOLE_EAR].rings is None
    assert alone.bu_ac is None


def test_a_bare_cob_is_no_look_at_the_base_of_the_others() -> None:
    """Where the other ears left a place open, it is not known, and never none."""
    bare = SeenEar(stop=1, bare_cob=True)
    found = gaps(*(ear(kept=36, base=None) for _ in range(3)), bare)
    base = found.field[BASE]
    assert (base.rings, base.bu_ac, base.ears) == (None, None, 0)
    assert found.field[WHOLE_EAR].rings == pytest.approx(9)
    assert gaps(ear(base=3), bare, ear(base=None)).field[BASE].rings == pytest.approx(1.5)


def test_bushels_need_their_parts() -> None:
    """Without ears per acre rings are still told, but no bushels."""
    found = gaps(ear(base=6), ears_per_ac=None)
    assert found.field[BASE].rings == 6
    assert found.bu_ac is None
    assert field_gaps([]) is None


ears = st.lists(
    st.builds(
        ear,
        st.integers(1, 4),
        base=st.integers(0, 20),
        kept=st.integers(1, 50),
        inside=st.integers(0, 10),
        unset=st.integers(0, 20),
        aborted=st.integers(0, 20),
    ),
    min_size=1,
    max_size=12,
)


@given(seen=ears)
def test_parts_add_up_and_price_less(seen: list[SeenEar]) -> None:
    """Priced rings never exceed those missing, and the bushels are the sum of the places."""
    found = gaps(*seen)
    total = 0.0
    for place in PLACES:
        loss = found.field[place]
        assert loss.rings is not None
        assert loss.priced_rings is not None
        assert loss.bu_ac is not None
        assert 0 <= loss.priced_rings <= loss.rings + 1e-9
        total += loss.bu_ac
    assert found.bu_ac == pytest.approx(total)


@given(seen=ears, more=st.integers(1, 10))
def test_a_larger_gap_costs_no_less(seen: list[SeenEar], more: int) -> None:
    """More missing at the base of every ear costs that many rings more."""
    worse = [
        SeenEar(
            stop=one.stop,
            rings=rings(base=(one.rings.base or 0) + more, kept=one.rings.set or 0),
            rows_around=16,
        )
        for one in seen
    ]
    grown = gaps(*worse).field[BASE].bu_ac
    before = gaps(*seen).field[BASE].bu_ac
    assert grown is not None
    assert before is not None
    assert grown == pytest.approx(before + more * 30 * 16 / 90)


@pytest.mark.parametrize(
    ("seen", "name"),
    [
        ([ear(one_sided=True), ear(), ear()], ONE_SIDED),
        ([ear(one_sided=True), ear(), ear(), ear()], MIXED),
        ([SeenEar(stop=1, bare_cob=True), SeenEar(stop=1, bare_cob=True), ear()], WHOLE_EAR),
        ([ear(base=5), ear(base=5), ear(one_sided=True)], BASE),
        ([ear(), ear()], NONE),
    ],
)
def test_pattern_among_all_places(seen: list[SeenEar], name: str) -> None:
    """One-sided and bare ears count as patterns too, by the same third."""
    found = ear_pattern(seen)
    assert found is not None
    assert found.name == name


def test_sides_not_looked_at_show_nothing() -> None:
    """Ears whose sides nobody compared are not one-sided."""
    found = ear_pattern([ear(base=5, one_sided=None)])
    assert found is not None
    assert (found.name, found.shares[ONE_SIDED]) == (BASE, 0)


def test_pattern_needs_something_looked_at() -> None:
    """Ears of which only the kernels are known show no pattern, not even none."""
    assert ear_pattern([SeenEar(stop=1, rings=EarRings(set=40))]) is None
