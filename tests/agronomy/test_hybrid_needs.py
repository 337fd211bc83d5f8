"""What hybrids need, late planting, grain fill by stage, drying."""

import datetime
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldbook.agronomy.stages import (
    R_STAGES,
    Needs,
    days_after_silk,
    dry_down_gdd_f,
    fill_fraction,
    hybrid_needs,
    late_days,
    late_planting,
    silk_from_maturity,
)
from fieldbook.figures import shipped_figures

days_of_2025 = st.dates(datetime.date(2025, 3, 1), datetime.date(2025, 7, 31))


def test_own_ratings_come_first() -> None:
    """A hybrid's own ratings are used as they are, whatever its maturity."""
    found = hybrid_needs(silk_gdd_f=1380, black_layer_gdd_f=2650, relative_maturity=100)
    assert found == Needs(silk_f=1380, black_layer_f=2650)
    assert found.fill_f == 1270


def test_ratings_from_emergence_get_emergence_added() -> None:
    """A rating that counts from emergence gets 115 units more, on both figures."""
    found = hybrid_needs(silk_gdd_f=1265, black_layer_gdd_f=2535, basis="emergence")
    assert found == Needs(silk_f=1380, black_layer_f=2650)


def test_maturity_alone_is_marked() -> None:
    """Needs read off relative maturity are known to be so, and count from planting."""
    found = hybrid_needs(relative_maturity=109, basis="emergence")
    assert found is not None
    assert (round(found.silk_f, 1), round(found.black_layer_f, 1)) == (1349.3, 2618.1)
    assert (found.silk_rated, found.black_layer_rated) == (False, False)


def test_maturity_fills_in_a_missing_rating() -> None:
    """One rating is kept and the other comes from the maturity."""
    found = hybrid_needs(black_layer_gdd_f=2700, relative_maturity=109)
    assert found is not None
    assert found.black_layer_f == 2700
    assert found.silk_f == silk_from_maturity(109)
    assert (found.silk_rated, found.black_layer_rated) == (False, True)


@given(relative_maturity=st.floats(75, 120))
def test_one_rating_alone_stands_for_a_maturity(relative_maturity: float) -> None:
    """With one rating and no maturity, the other is that of the maturity it belongs to."""
    whole = hybrid_needs(relative_maturity=relative_maturity)
    assert whole is not None
    from_ripe = hybrid_needs(black_layer_gdd_f=whole.black_layer_f)
    from_silk = hybrid_needs(silk_gdd_f=whole.silk_f)
    assert from_ripe is not None
    assert from_silk is not None
    assert from_ripe.silk_f == pytest.approx(whole.silk_f)
    assert from_silk.black_layer_f == pytest.approx(whole.black_layer_f)


def test_nothing_known_is_none() -> None:
    """A hybrid without rating or maturity has no needs."""
    assert hybrid_needs() is None


def test_impossible_needs_are_refused() -> None:
    """Black layer comes after silking, and heat counts from planting or emergence."""
    with pytest.raises(ValueError, match="more heat than silking"):
        hybrid_needs(silk_gdd_f=1400, black_layer_gdd_f=1400)
    with pytest.raises(ValueError, match="sowing"):
        hybrid_needs(relative_maturity=100, basis="sowing")


@pytest.mark.parametrize(
    ("planted", "days"),
    [((4, 10), 0), ((5, 1), 0), ((5, 2), 1), ((5, 31), 30), ((6, 15), 45), ((7, 1), 45)],
)
def test_late_days_are_capped(planted: tuple[int, int], days: int) -> None:
    """Late days count from May 1 and stop at mid June."""
    assert late_days(datetime.date(2025, *planted)) == days


@given(planted=days_of_2025)
def test_late_planting_takes_from_both_parts(planted: datetime.date) -> None:
    """Of 6.8 units a day, 1.6 come off before silking and the rest off grain fill."""
    needs = Needs(silk_f=1400, black_layer_f=2700, silk_rated=False)
    late = late_planting(needs, planted)
    days = late_days(planted)
    assert needs.silk_f - late.silk_f == pytest.approx(1.6 * days)
    assert needs.fill_f - late.fill_f == pytest.approx(5.2 * days)
    assert not late.silk_rated


def test_season_sets_the_late_rate() -> None:
    """Illinois reads the same paper as 6.5 a day: a season may say so."""
    figures = shipped_figures().changed({"late_planting.black_layer_gdd_f_per_day": 6.5})
    late = late_planting(
        Needs(silk_f=1400, black_layer_f=2700), datetime.date(2025, 5, 31), figures=figures
    )
    assert late.black_layer_f == 2505


def test_fractions_grow_with_the_stage() -> None:
    """Grain fill goes from nothing at R1 to all at R6, and R3 and R4 lie between the rows."""
    fractions = [fill_fraction(stage) for stage in R_STAGES]
    assert (fractions[0], fractions[-1]) == (0, 1)
    assert all(a < b for a, b in pairwise(fractions))
    assert fill_fraction("R3") == pytest.approx(1 / 3)
    assert fill_fraction("R4") == pytest.approx(1 / 2)


@pytest.mark.parametrize("stage", ["VT", "V8", "R0.5", "R7"])
def test_fractions_only_within_grain_fill(stage: str) -> None:
    """Before silking and after black layer there is no grain fill."""
    with pytest.raises(ValueError, match=stage):
        fill_fraction(stage)


def test_days_after_silk_start_at_none() -> None:
    """Silking is no days after itself, and other stages are not guessed."""
    assert days_after_silk("R1") == (0, 0)
    with pytest.raises(ValueError, match="VT"):
        days_after_silk("VT")


@pytest.mark.parametrize(
    ("to_pct", "from_pct", "heat"),
    [
        (20, 30, 375),
        (25, 30, 150),
        (22, 25, 135),
        (25, None, 210),
        (20, None, 435),
        (24, 23, 0),
        (30, 28, 0),
        (19.9, 30, None),
    ],
)
def test_heat_to_dry(to_pct: float, from_pct: float | None, heat: float | None) -> None:
    """30 units a point to 25 %, 45 to 20 %, from 32 % unless told; nothing below 20 %."""
    assert dry_down_gdd_f(to_pct, from_pct) == heat
