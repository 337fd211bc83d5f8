"""Limits as people read them: short in every unit, and never wider than what is accepted."""

import pytest

from fieldbook.forms.roster import ROSTER_FORM
from fieldbook.forms.rounds import ROUNDS
from fieldbook.schema import Limits
from fieldbook.units import AREA, DISTANCE, HEAT, ROW_WIDTH, TEMPERATURE, System, Unit

SHOWN = [
    (AREA, 0.1, True, 0.0405),
    (AREA, 5000, False, 2020),
    (HEAT, 800, True, 445),
    (HEAT, 2000, False, 1110),
    (ROW_WIDTH, 5, True, 12.7),
    (TEMPERATURE, 32, True, 0),
]


@pytest.mark.parametrize(("unit", "stored", "is_least", "shown"), SHOWN)
def test_a_converted_limit_is_told_in_few_digits(
    unit: Unit, stored: float, is_least: bool, shown: float
) -> None:
    """Three digits, towards the inside; in the stored unit it is as declared."""
    assert unit.shown_limit(stored, System.METRIC, is_least=is_least) == shown
    assert unit.shown_limit(stored, System.US, is_least=is_least) == stored


def test_an_amount_is_told_in_the_readers_unit() -> None:
    """Twelve miles are 19 km (1.609344 km a mile, exact); a tenth is kept where it is asked for."""
    assert DISTANCE.about(12, System.US).said("en") == "12 miles"
    assert DISTANCE.about(12, System.METRIC).said("en") == "19 km"
    assert DISTANCE.about(12, System.METRIC, 1).said("en") == "19.3 km"
    assert DISTANCE.about(12, System.US).said("es") == "12 millas"


@pytest.mark.parametrize("units", System)
def test_no_declared_limit_is_told_longer_or_wider_than_it_is(units: System) -> None:
    """In both systems: what lies outside a limit never lies within the words for it."""
    for unit, limits in _declared(units):
        ends = (limits.least, True), (limits.most, False)
        usual = (limits.usual_least, True), (limits.usual_most, False)
        for stored, is_least in (*ends, *usual):
            if stored is None:
                continue
            shown = unit.shown_limit(stored, units, is_least=is_least)
            exact = unit.shown(stored, units)
            slack = 1e-9 * abs(exact)
            assert shown >= exact - slack if is_least else shown <= exact + slack
            assert shown == pytest.approx(exact, rel=0.012)
            if shown != stored:
                assert shown == float(f"{shown:.3g}")


def _declared(units: System) -> list[tuple[Unit, Limits]]:
    forms = [ROSTER_FORM, *(one for made in ROUNDS.values() for one in made.form(full=True).sheets)]
    columns = (column for form in forms for column in form.sheet.columns)
    return [(one.unit, limits) for one in columns if (limits := one.limits_in(units))]
