"""How far readings lie apart, against an independent library, and the limits of stages."""

from datetime import date

import pytest
from scipy import stats

from fieldbook.agronomy.differ import Middle, paired_z, welch_z
from fieldbook.agronomy.stage_limits import day_limits, heat_limits_f
from fieldbook.agronomy.stages import Needs

_ROWS = [16.0, 14, 16, 18, 16, 16, 14, 18]
_MORE = [18.0, 18, 16, 20, 18, 18, 16, 22, 18, 16]


def normal_score(p_two_sided: float) -> float:
    """Return the normal score of a chance."""
    return float(stats.norm.isf(p_two_sided / 2))


def test_two_samples_differ_as_welch_says() -> None:
    """The score is that of Welch's test to 2 %, and it has a sign."""
    wanted = normal_score(stats.ttest_ind(_MORE, _ROWS, equal_var=False).pvalue)
    assert welch_z(_MORE, _ROWS, floor_sd=0.1) == pytest.approx(wanted, rel=0.02)
    assert welch_z(_ROWS, _MORE, floor_sd=0.1) == pytest.approx(-wanted, rel=0.02)


def test_pairs_differ_as_student_says() -> None:
    """Few pairs count for less than their t value: 3 of them at t = 4.3 are not sure at all."""
    differences = [1.0, 2.0, 3.5]
    wanted = normal_score(stats.ttest_1samp(differences, 0).pvalue)
    assert paired_z(differences, floor_sd=0.1) == pytest.approx(wanted, rel=0.03)
    assert wanted < 2


def test_a_floor_keeps_readings_that_happen_to_agree_from_being_sure() -> None:
    """Ears that are all alike would make any other mean infinitely far."""
    assert welch_z([17.0] * 8, [16.0] * 8, floor_sd=1.0) == pytest.approx(1.86, abs=0.02)


def test_one_value_has_no_spread() -> None:
    """Two values at least."""
    with pytest.raises(ValueError, match="two values"):
        paired_z([1.0], floor_sd=1.0)


def test_the_middle_is_that_of_a_normal_sample_and_robust() -> None:
    """The spread agrees with an independent one, and a far value changes next to nothing."""
    values = [34.0, 36, 37, 38, 38, 39, 40, 41, 44]
    middle = Middle.of(values, floor_sd=0.1)
    assert middle.value == 38
    assert middle.sd == pytest.approx(stats.median_abs_deviation(values, scale="normal"), rel=1e-3)
    assert Middle.of([*values[:-1], 440], floor_sd=0.1) == middle
    assert Middle.of([38.0] * 9, floor_sd=2.0).score(32) == -3


_NEEDS = Needs(silk_f=1400, black_layer_f=2700)


def test_limits_of_a_stage_reach_from_its_start_to_its_end() -> None:
    """Dough: a fifth under what its start needs, a quarter over what dent needs."""
    least, most = heat_limits_f("R4", _NEEDS, date(2026, 4, 28))
    assert least == pytest.approx(0.8 * (1400 + 0.5 * 1300))
    assert most == pytest.approx(1.25 * (1400 + 0.8 * 1300))


def test_late_planting_needs_less_heat() -> None:
    """The limits move with what late corn needs."""
    early, late = (heat_limits_f("R5", _NEEDS, date(2026, *day)) for day in ((4, 28), (6, 1)))
    assert late < early


def test_the_ends_of_the_season_are_open() -> None:
    """Before tassel from the day of planting on, and black layer for ever."""
    assert heat_limits_f("V", _NEEDS, date(2026, 4, 28))[0] == 0
    assert heat_limits_f("R6", _NEEDS, date(2026, 4, 28))[1] is None
    assert day_limits("VT") == (0, 130)
    assert day_limits("R4") == (40 + 24, 130 + 42)
    assert day_limits("R6")[1] is None
