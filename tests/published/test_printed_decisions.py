"""Break-even gains, shares and strip trials as pages print them, read 2026-11-25."""

from dataclasses import replace

import pytest
from printed import printed, slip

from fieldbook.agronomy.fungicide import break_even_bu_ac, severity_class
from fieldbook.agronomy.strips import Comparison, Strip, compare_strips
from fieldbook.agronomy.wilson import Count, change, share
from fieldbook.figures import shipped_figures

BREAK_EVENS = [
    # N. Kleczewski, University of Illinois 2019, in No-Till Farmer,
    # https://www.no-tillfarmer.com/articles/8919-calculating-fungicide-net-returns
    (26, 4.50, "5.8"),
    (30, 4.00, "7.5"),
    (40, 5.00, "8"),
    slip(20, 3.50, "5.1", reason="the reprint says 5.1; 20 / 3.50 is 5.71, as Delaware prints"),
    # N. Kleczewski, University of Delaware 2014, as above
    (20, 3.50, "5.7"),
    # Mueller and Robertson, Iowa State University 2010, https://crops.extension.iastate.edu/
    # cropnews/2010/07/summary-foliar-fungicide-corn-iowa-2007-2009
    (24, 3.72, "6.45"),
]

# C. Bradley, University of Illinois 2008-10: severity, mean gain, share of trials over 5 bu/ac
SEVERITIES = [(0, 0.1, 13), (9.9, 0.1, 13), (10, 4.8, 50), (14.9, 4.8, 50), (15, 14.1, 100)]

# International Potato Center, sweetpotato and virus, in F. de Mendiburu's tutorial of agricolae,
# https://github.com/cran/agricolae; lowest, middle and highest of three plots
SWEETPOTATO = {
    "cc": (21.7, 23.0, 28.5),
    "fc": (10.6, 13.1, 14.9),
    "ff": (28.0, 39.2, 41.8),
    "oo": (32.1, 38.2, 40.4),
}

# Gomez and Gomez 1984, Statistical Procedures for Agricultural Research, table 2.5: kg of rice
# seed a hectare over four replications (from memory)
RICE = {
    "25": (5113, 5398, 5307, 4678),
    "50": (5346, 5952, 4719, 4264),
    "75": (5272, 5713, 5483, 4749),
    "100": (5164, 4831, 4986, 4410),
    "125": (4804, 4848, 4432, 4748),
    "150": (5254, 4542, 4919, 4098),
}

# Hildebrand 1984, Agronomy Journal 76:271-274, maize on 14 farms, t/ha; data in
# https://github.com/kwstat/agridat; means in Piepho 1998, table 5
MAIZE = {
    "LM": (2.2, 2.2, 1.9, 1.2, 1.3, 0.9, 1.0, 0.5, 1.8, 1.1, 1.6, 1.0, 1.6, 0.6),
    "LMF": (3.6, 3.7, 4.3, 3.2, 2.3, 2.3, 3.1, 2.8, 3.2, 2.5, 2.9, 1.2, 1.9, 0.8),
    "CCA": (3.5, 2.0, 2.9, 0.4, 0.6, 0.5, 0.6, 0.3, 2.2, 0.7, 0.9, 0.3, 1.1, 0.3),
    "CCAF": (5.0, 4.7, 4.3, 3.5, 2.4, 1.7, 3.0, 2.8, 2.9, 2.5, 2.1, 1.1, 0.8, 0.4),
}
MAIZE_MEANS = {"LM": "1.35", "LMF": "2.70", "CCA": "1.164", "CCAF": "2.657"}


def strips(table: dict[str, tuple[float, ...]], *, blocked: bool = True) -> list[Strip]:
    """Turn a printed table into strips; its columns are the blocks."""
    return [
        Strip(treatment=name, block=f"B{number}" if blocked else None, value=value)
        for name, values in table.items()
        for number, value in enumerate(values)
    ]


def at_level(level_pct: float, plots: list[Strip]) -> Comparison:
    """Compare at a level of the F test and the LSD."""
    return compare_strips(plots, figures=shipped_figures().changed({"strips.level_pct": level_pct}))


@pytest.mark.parametrize(("cost", "price", "digits"), BREAK_EVENS)
def test_break_even(cost: float, price: float, digits: str) -> None:
    """The gain that pays for a spray is its cost over the price of corn."""
    assert break_even_bu_ac(cost, price) == printed(digits)


@pytest.mark.parametrize(("severity", "gain", "share_pct"), SEVERITIES)
def test_severity_classes(severity: float, gain: float, share_pct: float) -> None:
    """Each class of severity has its mean gain and its share of trials over 5 bu/ac."""
    found = severity_class(severity)
    assert (found.mean_bu_ac, found.share_pct, found.gain_bu_ac) == (gain, share_pct, 5)


def test_wilson_of_six_in_thirty_two() -> None:
    """6 of 32 are 18.75 % with an interval of 8.889545 to 35.309155 %.

    A worked example in R, https://rstudio-pubs-static.s3.amazonaws.com/
    1367507_eef7a4d0fb5347a8a820fe3c10141369.html.
    """
    found = share([Count(hits=6, looked=32)])
    assert found is not None
    assert found.pct == printed("18.75")
    assert found.plain.low_pct == printed("8.889545")
    assert found.plain.high_pct == printed("35.309155")


def test_newcombe_difference() -> None:
    """56 of 70 against 48 of 80: 0.2000, interval 0.0524 to 0.3339 (from memory).

    R. G. Newcombe, Statistics in Medicine 17:873-890, 1998, table II, method 10.
    """
    more, fewer = share([Count(hits=56, looked=70)]), share([Count(hits=48, looked=80)])
    assert more is not None
    assert fewer is not None
    found = change(fewer, more)
    assert found.points / 100 == printed("0.2000")
    assert found.low / 100 == printed("0.0524")
    assert found.high / 100 == printed("0.3339")


def test_sweetpotato_printout() -> None:
    """Mean square, LSD at 5 % and letters of a trial without blocks are those printed."""
    found = at_level(5, strips(SWEETPOTATO, blocked=False))
    assert found.design == "unblocked"
    assert found.anova is not None
    assert found.anova.error.df == 8
    assert found.anova.error.ms == printed("22.48917")
    assert found.lsd == printed("8.928965")
    means = {one.treatment: one.mean for one in found.means}
    assert means == {
        "oo": printed("36.90"),
        "ff": printed("36.33333"),
        "cc": printed("24.40"),
        "fc": printed("12.86667"),
    }
    assert [(one.treatment, one.letters) for one in found.means] == [
        ("oo", "a"),
        ("ff", "a"),
        ("cc", "b"),
        ("fc", "c"),
    ]


def test_rice_has_no_letters() -> None:
    """Sums of squares, F and CV are those remembered; F is not significant, so no LSD."""
    found = compare_strips(strips(RICE))
    anova = found.anova
    assert anova is not None
    assert anova.blocks is not None
    assert (anova.blocks.ss, anova.blocks.df) == (printed("1944361"), 3)
    assert (anova.treatments.ss, anova.treatments.df) == (printed("1198331"), 5)
    assert (anova.error.ss, anova.error.df) == (printed("1658376"), 15)
    assert anova.total.ss == printed("4801068")
    assert anova.error.ms == printed("110558")
    assert anova.f == printed("2.17")
    assert anova.blocks.ms is not None
    assert anova.error.ms is not None
    assert anova.blocks.ms / anova.error.ms == printed("5.86")
    assert found.cv_pct == printed("6.7")
    assert found.lsd is None
    assert {one.letters for one in found.means} == {None}
    assert found.reasons == ("not-significant",)


def test_maize_on_farms() -> None:
    """Means are those printed; F is significant and the trial varies by over 12 %."""
    found = compare_strips(strips(MAIZE))
    assert {one.treatment: one.mean for one in found.means} == {
        name: printed(digits) for name, digits in MAIZE_MEANS.items()
    }
    assert found.anova is not None
    assert found.anova.error.df == 39
    assert found.reasons == ("cv-high",)
    assert [(one.treatment, one.letters) for one in found.means] == [
        ("LMF", "a"),
        ("CCAF", "a"),
        ("LM", "b"),
        ("CCA", "b"),
    ]


def test_alike_strips_differ() -> None:
    """Four strips managed alike have the mean printed and would each count as a treatment.

    B. Rosser, Ontario 2018, https://ontariograinfarmer.ca/2018/12/01/cropside-field-trial-rr/.
    """
    values = shipped_figures().numbers("strips.alike_bu_ac")
    assert sum(values) / 4 == printed("175.75")
    alike = [Strip(treatment=f"S{n}", block=None, value=value) for n, value in enumerate(values)]
    found = compare_strips(alike)
    assert (found.design, found.reasons) == ("unreplicated", ("not-replicated",))
    assert max(one.below_highest for one in found.means) == 10
    one_block = [replace(one, block="B1") for one in alike]
    assert compare_strips(one_block) == found
