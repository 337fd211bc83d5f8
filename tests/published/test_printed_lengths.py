"""Row lengths for 1/1000 acre and harvested areas as pages print them, all read 2026-11-25."""

import pytest
from printed import printed, slip

from fieldbook.agronomy.lengths import feet_and_inches, harvested_ac, row_length_ft

INCHES = [
    # eXtension, "How can you estimate corn yield prior to harvest?",
    # http://www.extension.org/pages/35148/how-can-you-estimate-corn-yield-prior-to-harvest
    (20, "26 ft 2 in"),
    (30, "17 ft 5 in"),
    (36, "14 ft 6 in"),
    # University of Tennessee, "Checking Corn Populations", 2011,
    # https://news.utcrops.com/2011/04/checking-corn-populations
    (15, "34 ft 10 in"),
    (38, "13 ft 9 in"),
    # D. McWilliams, North Dakota State University, 2000, https://www.ag.ndsu.edu/archive/
    # entomology/ndsucpr/Years/2000/August/3rd/psci_3aug00.htm
    (22, "23 ft 9 in"),
    # Mississippi State University, http://msucares.com/crops/corn/corn8.html
    (40, "13 ft 1 in"),
    # University of Missouri field note, Linn County Leader, 5 September 2020,
    # https://www.linncountyleader.com/news/20200905/field-notes-estimating-grain-yield
    (7, "74 ft 8 in"),
    # J. Lauer, University of Wisconsin, 2002, https://corn.agronomy.wisc.edu/AA/A033.aspx
    (15, "34 ft 10 in"),
    (30, "17 ft 5 in"),
    (36, "14 ft 6 in"),
    (40, "13 ft 1 in"),
    slip(7, "74 ft 10 in", reason="Wisconsin is two inches over 522.72 / 7"),
    slip(20, "26 ft 1 in", reason="Wisconsin rounds 26 ft 1.6 in down"),
    slip(22, "23 ft 10 in", reason="Wisconsin rounds 23 ft 9.1 in up"),
    slip(38, "13 ft 10 in", reason="Wisconsin rounds 13 ft 9.1 in up"),
    # Michigan State University, "Estimating corn yield potential" (mirror),
    # https://msu-dev-2.dotcms.cloud/news/estimating-corn-yield-potential
    slip(30, "17 ft 4 in", reason="Michigan State rounds 17 ft 5.1 in down"),
    # Farm-press table credited to the University of Minnesota
    slip(36, "13 ft 6 in", reason="a typing error for 14 ft 6 in"),
]

FEET = [
    # B. Fanning, South Dakota State University, 2012,
    # http://farmprogress.com/story-run-numbers-drought-stressed-corn-0-61924
    (30, "17.42"),
    # Southeast Farm Press, http://southeastfarmpress.com/grains/estimating-corn-yields-dry-year
    (15, "34.8"),
    (30, "17.4"),
    (36, "14.5"),
    slip(38, "13.75", reason="13.756 was cut, not rounded"),
]


def in_print(length_ft: float) -> str:
    """Write a length as the tables print it."""
    feet, inches = feet_and_inches(length_ft)
    return f"{feet} ft {inches} in"


@pytest.mark.parametrize(("row_width_in", "words"), INCHES)
def test_row_length_in_feet_and_inches(row_width_in: float, words: str) -> None:
    """The row length for 1/1000 acre agrees with print to the nearest inch."""
    assert in_print(row_length_ft(row_width_in)) == words


@pytest.mark.parametrize(("row_width_in", "feet"), FEET)
def test_row_length_in_feet(row_width_in: float, feet: str) -> None:
    """The row length for 1/1000 acre agrees with printed decimals."""
    assert row_length_ft(row_width_in) == printed(feet)


def test_two_narrow_rows_together() -> None:
    """In 20-inch rows, two rows of 13 ft 1 in each cover 1/1000 acre.

    J. Fawcett, Iowa State University, "Crop Information", August 2005,
    http://www.extension.iastate.edu/Pages/eccrops/cu050805.html
    """
    assert in_print(row_length_ft(20) / 2) == "13 ft 1 in"


def test_harvested_strip() -> None:
    """Six rows, two passes, 2000 ft, 30 in: 1.38 acres.

    J. Lauer, University of Wisconsin, 2002, https://corn.agronomy.wisc.edu/AA/A033.aspx
    """
    assert harvested_ac(rows=6, passes=2, length_ft=2000, row_width_in=30) == printed("1.38")
