"""Stages, maturities, frost and drying as pages print them, all read 2026-11-25."""

import datetime

import pytest
from printed import printed, slip

from fieldbook.agronomy.freeze import freeze_loss_pct
from fieldbook.agronomy.stages import (
    Needs,
    black_layer_from_maturity,
    days_after_silk,
    fill_fraction,
    fill_remaining_f,
    late_planting,
)
from fieldbook.figures import shipped_figures

# Carter 1991, in J. Lauer, University of Wisconsin, 5 September 1996,
# https://corn.agronomy.wisc.edu/WCM/W028.aspx
CARTER = [
    ("R1", 1000, 1100, 1200),
    ("R2", 800, 880, 960),
    ("R3.5", 600, 660, 720),
    ("R4.5", 400, 440, 480),
    ("R5", 200, 220, 240),
    ("R6", 0, 0, 0),
]

# High Plains Regional Climate Center, University of Nebraska,
# https://hprcc.unl.edu/archive/data/AWDN/crop_corn.txt: silks, black layer, stage, its heat
TWO_READINGS = "this source puts dough and first dent a step earlier than the Carter rows"
HIGH_PLAINS = [
    (1143.6, 2061.7, "R2", "1327.2"),
    (1200.0, 2400.0, "R2", "1440.0"),
    (1272.5, 2834.9, "R2", "1585.0"),
    (1143.6, 2061.7, "R5", "1878.1"),
    (1200.0, 2400.0, "R5", "2160.0"),
    (1272.5, 2834.9, "R5", "2522.4"),
    slip(1200.0, 2400.0, "R4", "1680.0", reason=TWO_READINGS),
    slip(1200.0, 2400.0, "R5", "1920.0", reason=f"{TWO_READINGS}: begin dent, not full dent"),
    # E. Nafziger, University of Illinois, 3 August 2007, from the Illinois Agronomy Handbook,
    # http://bulletin.ipm.illinois.edu/print.php?id=826
    slip(1400, 2700, "R4", "1925", reason=TWO_READINGS),
    slip(1400, 2700, "R5", "2450", reason="full dent by equal fifths is 2440"),
    # From memory: Neild and Newman, NCH-40
    (1400, 2700, "R2", "1660"),
]

# E. Nafziger 2007, as above, after Iowa State Special Report 48; Clemson University, 2025,
# https://blogs.clemson.edu/sccrops/growth-staging-corn-for-management-6-27
DAYS_AFTER_SILK = [("R2", 10, 14), ("R3", 18, 22), ("R4", 24, 28), ("R5", 35, 42), ("R6", 55, 65)]

# J. Lauer, University of Wisconsin, after Afuakwa and Crookston 1984,
# http://corn.agronomy.wisc.edu/WCM/W048.aspx
FREEZE_LOSS = [("R4", 55, 35), ("R5", 40, 25), ("R5.5", 12, 5), ("R6", 0, 0)]

# Single printed pairs of relative maturity and heat to black layer
MATURITIES = [
    # North Dakota State University, 19 August 2004, https://www.ag.ndsu.edu/archive/entomology/
    # ndsucpr/Years/2004/August/19/psci_19Aug04.htm
    (75, 1900),
    (95, 2300),
    # Dutcher, Nebraska, 2015,
    # https://farms.com/news/with-cooler-week-corn-maturity-forecasts-move-back-97411.aspx
    (105, 2450),
    # E. Nafziger 2007, as above
    (109, 2650),
    # C. Lee, University of Kentucky, 2016,
    # https://graincrops.blogspot.com/2016/05/corn-planting-dates-and-blacklayer.html
    (114, 2700),
]


@pytest.mark.parametrize(("stage", "early", "middle", "late"), CARTER)
def test_heat_to_black_layer(stage: str, early: float, middle: float, late: float) -> None:
    """Each maturity class of the table comes out exactly."""
    table = {1000: early, 1100: middle, 1200: late}
    assert {fill: fill_remaining_f(stage, fill) for fill in table} == pytest.approx(table, abs=1e-9)


@pytest.mark.parametrize(("stage", "early", "middle", "late"), CARTER)
def test_carter_rows_are_stored(stage: str, early: float, middle: float, late: float) -> None:
    """The stored rows are the printed ones."""
    place = [row[0] for row in CARTER].index(stage)
    known = shipped_figures()
    stored = [known.numbers(f"fill.{c}_class_gdd_f")[place] for c in ("early", "middle", "late")]
    assert stored == [early, middle, late]


@pytest.mark.parametrize(("silk_f", "black_layer_f", "stage", "heat"), HIGH_PLAINS)
def test_equal_fifths_elsewhere(silk_f: float, black_layer_f: float, stage: str, heat: str) -> None:
    """Other tables cut grain fill into the same steps."""
    fill = black_layer_f - silk_f
    assert silk_f + fill_fraction(stage) * fill == printed(heat)


@pytest.mark.parametrize(("stage", "fewest", "most"), DAYS_AFTER_SILK)
def test_days_after_silking(stage: str, fewest: int, most: int) -> None:
    """The usual days from silking to a stage are the printed ones."""
    assert days_after_silk(stage) == (fewest, most)


@pytest.mark.parametrize(("stage", "whole_plant", "leaves"), FREEZE_LOSS)
def test_loss_by_freeze(stage: str, whole_plant: float, leaves: float) -> None:
    """A killing freeze costs the printed share of the yield."""
    found = freeze_loss_pct(stage), freeze_loss_pct(stage, leaves_only=True)
    assert found == (whole_plant, leaves)


def test_black_layer_of_109_days() -> None:
    """The line for black layer gives 2618 for 109 days, as printed.

    Ohio State University, 24 September 2019, https://agfax.com/2019/09/24/ohio-corn-will-late-
    fields-reach-black-layer-before-a-killing-frost/ (the line itself is from memory)
    """
    assert black_layer_from_maturity(109) == printed("2618")


@pytest.mark.parametrize(("relative_maturity", "heat"), MATURITIES)
def test_black_layer_of_other_maturities(relative_maturity: float, heat: float) -> None:
    """Other printed pairs lie within 110 units of the line, which is why it is marked."""
    assert black_layer_from_maturity(relative_maturity) == pytest.approx(heat, abs=110)


def test_planted_on_may_31() -> None:
    """A 2700-unit hybrid planted May 31 needs less than 2500.

    R. L. Nielsen, Purdue University, after Nielsen, Thomison et al. 2002,
    http://www.agprofessional.com/news/hybrid-maturities-delayed-planting
    """
    late = late_planting(Needs(silk_f=1400, black_layer_f=2700), datetime.date(2025, 5, 31))
    assert late.black_layer_f < 2500
    assert late.black_layer_f == printed("2496")


def test_planted_on_may_30() -> None:
    """The same hybrid planted May 30 needs just over 2500.

    Ohio State University, 24 September 2019, page as in `test_black_layer_of_109_days`
    """
    late = late_planting(Needs(silk_f=1400, black_layer_f=2700), datetime.date(2025, 5, 30))
    assert 2500 < late.black_layer_f < 2510


def test_a_month_late() -> None:
    """A month's delay takes about 200 units off, 1.6 a day of them before silking.

    R. L. Nielsen, as in `test_planted_on_may_31`
    """
    needs = Needs(silk_f=1400, black_layer_f=2700)
    late = late_planting(needs, datetime.date(2025, 5, 31))
    assert needs.black_layer_f - late.black_layer_f == printed("2", unit=100)
    assert (needs.silk_f - late.silk_f) / 30 == printed("1.6")


def test_milk_line_rows_are_stored() -> None:
    """Moisture and dry matter by milk line are the printed ones.

    P. Kassel, after Iowa State PMR 1009, 2015,
    https://crops.extension.iastate.edu/blog/paul-kassel/corn-crop-finishing
    """
    known = shipped_figures()
    rows = zip(
        known.numbers("milk_line.shares"),
        known.numbers("milk_line.moisture_pct"),
        known.numbers("milk_line.dry_matter_pct"),
        strict=True,
    )
    printed_rows = [(0, 60, 45), (0.25, 52, 65), (0.5, 40, 90), (0.75, 37, 97), (1, 35, 100)]
    assert list(rows) == printed_rows
