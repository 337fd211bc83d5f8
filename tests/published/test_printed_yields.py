"""Yields from counts and weights as pages print them, all read 2026-11-25."""

import pytest
from printed import printed, slip

from fieldbook.agronomy.yields import (
    dry_matter_lb_per_bu,
    ear_corn_lb_per_bu,
    ear_weight_yield_bu_ac,
    kernels_on_ear,
    market_bushels,
    ring_worth_bu_ac,
    shrink_pct,
    shrunk_weight,
    stop_yield_bu_ac,
    thousand_kernels_per_bu,
)

COUNTS = [
    # Iowa State University, Agronomy 212, count 1, http://www.agron.iastate.edu/courses/agron212/
    # Calculations/Estimating_corn_yield.htm
    (30, 16, 30, 90, "160"),
    # G. Roth, Penn State University, "Corn Yields and Kernel Size", 2014,
    # http://extension.psu.edu/plants/crops/news/2014/09/corn-yields-and-kernel-size
    (32, 16, 35, 100, "179"),
    (32, 16, 35, 80, "224"),
    # Southeast Farm Press, http://southeastfarmpress.com/grains/estimating-corn-yields-dry-year;
    # its 364 kernels to the ear are 14 x 26
    (30, 14, 26, 95, "115"),
    slip(30, 14, 24, 95, "115", reason="the page prints 14 x 24 as 364; it is 336"),
    # From memory: an often repeated example, found on no readable page
    (30, 16, 30, 75, "192"),
    (30, 16, 30, 85, "169"),
    (30, 16, 30, 95, "152"),
    # From memory: Ohio State University, C.O.R.N. newsletter
    (24, 16, 30, 90, "128"),
]

# A farm column of 2019 that follows Purdue's steps (copy in a public text collection,
# https://huggingface.co/datasets/nvidia/Nemotron-CC-Math-v1); the answers are from memory
FIVE_EARS = (480, 500, 450, 600, 525)
FIVE_EARS_YIELDS = [(75, "204"), (85, "180"), (95, "161"), (65, "236")]

# G. Roth, Penn State University, as above: grams for 100 kernels at 15.5 and at 25 % moisture
KERNEL_WEIGHTS = [
    (100, 15.5, "25.4"),
    (90, 15.5, "28.2"),
    (80, 15.5, "31.8"),
    (70, 15.5, "36.3"),
    (100, 25, "28.6"),
    (90, 25, "31.8"),
    (80, 25, "35.8"),
    (70, 25, "40.9"),
]

# M. Zuber, University of Missouri, moisture table (re-host), http://www.grainweightconversion.com/:
# moisture, pounds of ear corn, pounds of shelled corn for a bushel
MISSOURI = [
    (10, "63.49", "52.56"),
    (11, "64.25", "53.16"),
    (12, "65.06", "53.77"),
    (13, "65.95", "54.39"),
    (14, "66.89", "55.02"),
    (15, "67.89", "55.67"),
    (15.5, "68.40", "56.00"),
    (16, "68.94", "56.33"),
    (17, "70.09", "57.01"),
    (18, "71.31", "57.70"),
    (19, "72.60", "58.41"),
    (20, "73.96", "59.15"),
    (21, "75.36", "59.89"),
    (22, "76.79", "60.66"),
    (23, "78.25", "61.45"),
    (24, "79.76", "62.26"),
    (25, "81.25", "63.09"),
    (26, "82.82", "63.94"),
    (27, "84.19", "64.82"),
    (28, "85.62", "65.72"),
    (29, "87.04", "66.64"),
    (30, "88.50", "67.60"),
    (31, "89.94", "68.57"),
    (32, "91.43", "69.58"),
    (33, "92.85", "70.62"),
    (34, "94.28", "71.69"),
    (35, "95.71", "72.80"),
]
CUT_NOT_ROUNDED = {10, 11, 18, 19, 21, 22, 26, 29, 31, 32, 33, 34}
SHELLED = [
    slip(moisture, shelled, reason="the Missouri table is one or two hundredths low here")
    if moisture in CUT_NOT_ROUNDED
    else (moisture, shelled)
    for moisture, _, shelled in MISSOURI
]


@pytest.mark.parametrize(("ears", "rows", "per_row", "thousand", "answer"), COUNTS)
def test_yield_from_counts(
    ears: float, rows: float, per_row: float, thousand: float, answer: str
) -> None:
    """Ears in 1/1000 acre, rows and kernels give the printed bushels per acre."""
    kernels = kernels_on_ear(rows, per_row)
    assert stop_yield_bu_ac(ears * 1000, kernels, thousand) == printed(answer)


def test_mean_of_five_ears() -> None:
    """Five ears average 511 kernels: the same 2019 column."""
    assert sum(FIVE_EARS) / len(FIVE_EARS) == printed("511")


@pytest.mark.parametrize(("thousand", "answer"), FIVE_EARS_YIELDS)
def test_five_ears_yield(thousand: float, answer: str) -> None:
    """Thirty such ears give the yields recalled from Purdue's page (from memory)."""
    kernels = sum(FIVE_EARS) / len(FIVE_EARS)
    assert stop_yield_bu_ac(30_000, kernels, thousand) == printed(answer)


def test_ring_worth() -> None:
    """One ring on 28,000 ears of 16 rows is about 5 bu/ac.

    R. L. Nielsen, Purdue University, "Kernel abortion & yield loss in corn", 1999,
    https://www.agry.purdue.edu/Ext/corn/news/articles.99/990803d.html; and "Ear Size
    Determination", 2008, https://ag.purdue.edu/btny/ppdl/Pages/POTW_old/6-23-08.html
    """
    assert ring_worth_bu_ac(28_000, 16, 90) == printed("5")


@pytest.mark.parametrize(("thousand", "moisture_pct", "grams"), KERNEL_WEIGHTS)
def test_kernels_per_bushel_from_weight(thousand: float, moisture_pct: float, grams: str) -> None:
    """The printed weight of 100 kernels, give or take half its last digit, spans the count."""
    lightest, heaviest = float(grams) - 0.05, float(grams) + 0.05
    most = thousand_kernels_per_bu(lightest, moisture_pct)
    fewest = thousand_kernels_per_bu(heaviest, moisture_pct)
    assert fewest <= thousand <= most


def test_kernels_of_28_grams() -> None:
    """28 g for 100 kernels is 90,720 kernels, printed to the ten: G. Roth, Penn State, as above."""
    assert thousand_kernels_per_bu(28) * 1000 == printed("9072", unit=10)


def test_kernels_of_306_milligrams() -> None:
    """306 mg a kernel is about 83,000 kernels.

    Illinois Extension, "Corn yields, revisited", 2013,
    https://web.extension.illinois.edu/niarc/eb256/entry_7310/ (it calls the kernels oven-dry,
    but the count fits a market-moisture weight)
    """
    assert thousand_kernels_per_bu(30.6) == printed("83")


@pytest.mark.xfail(strict=True, reason="the printed count fits market moisture, not oven-dry")
def test_kernels_of_306_milligrams_oven_dry() -> None:
    """The same page's words, taken as printed, give another count."""
    assert thousand_kernels_per_bu(30.6, moisture_pct=0) == printed("83")


def test_shrink_in_percent() -> None:
    """From 25 to 15.5 % moisture corn loses 11.24 % of its weight.

    D. Karki, South Dakota State University, 2019, https://www.thepublicopinion.com/news/farming/
    david-karki-column-corn-grain-moisture-shrinkage/article_69222e43-5b40-5812-b562-2b67fba26df2.html
    """
    assert shrink_pct(25, 15.5) == printed("11.24")


@pytest.mark.parametrize(
    ("to_pct", "factor"),
    [(15.5, "1.18"), (15, "1.18"), (14, "1.16"), (13, "1.15"), (12, "1.14")],
)
def test_shrink_of_one_point(to_pct: float, factor: str) -> None:
    """One point of moisture costs the printed percent of weight: D. Karki, as above."""
    assert shrink_pct(to_pct + 1, to_pct) == printed(factor)


def test_metric_shrink() -> None:
    """10,000 kg at 25.8 % are 8.781 t at 15.5 %.

    Ontario corn pages, http://gocorn.net/v2006/Grain%20Harvest/articles/
    Table%20For%20Converting%20Wet%20Kilograms.html
    """
    assert shrunk_weight(10_000, 25.8, 15.5) / 1000 == printed("8.781")


def test_dry_matter_of_a_bushel() -> None:
    """A bushel holds 47.3 lb of dry matter and 8.7 lb of water: D. Karki, as above."""
    assert dry_matter_lb_per_bu() == printed("47.3")
    assert 56 - dry_matter_lb_per_bu() == printed("8.7")


@pytest.mark.parametrize(("test_weight_lb", "bushels"), [(52, "929"), (60, "1071")])
def test_bushels_by_weight(test_weight_lb: float, bushels: str) -> None:
    """1000 bushels by volume are so many by weight.

    R. L. Nielsen, Purdue University, https://extension.entm.purdue.edu/newsletters/pestandcrop/
    article/grain-test-weight-considerations-for-corn/; Ohio State University, C.O.R.N. 2014-33,
    https://agcrops.osu.edu/newsletter/corn-newsletter/2014-33/corn-grain-test-weight
    """
    assert market_bushels(1000, test_weight_lb) == printed(bushels)


@pytest.mark.parametrize(("moisture_pct", "shelled_lb"), SHELLED)
def test_shelled_corn_for_a_bushel(moisture_pct: float, shelled_lb: str) -> None:
    """So many pounds of shelled corn at a moisture are 56 lb at 15.5 %."""
    assert shrunk_weight(56, 15.5, moisture_pct) == printed(shelled_lb)


def test_shelled_corn_in_ohio() -> None:
    """At 10 % Ohio State has 52.58 where the Missouri table has 52.56.

    Blog that cites Ohio State University, "Corn Moisture Corrections",
    https://ismasalon.blogspot.com/2012/01/greater-corn-moisture.html
    """
    assert shrunk_weight(56, 15.5, 10) == printed("52.58")


@pytest.mark.parametrize(("moisture_pct", "ear_lb", "_shelled"), MISSOURI[6:])
def test_ohio_line_against_missouri_table(moisture_pct: float, ear_lb: str, _shelled: str) -> None:
    """From 15.5 % on, the Ohio State line is within half a pound of the Missouri table."""
    assert ear_corn_lb_per_bu(moisture_pct) == pytest.approx(float(ear_lb), abs=0.5)


@pytest.mark.xfail(strict=True, reason="from memory; 135.55 was cut to 135, not rounded")
def test_ear_weight_example() -> None:
    """24 ears of half a pound at 30 % are 135 bu/ac (from memory, Ohio State University)."""
    assert ear_weight_yield_bu_ac(24_000, 0.5, 30) == printed("135")
