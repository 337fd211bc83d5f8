"""Pollination as pages print it: pollen, silks, clipping, ear mould weather, dent, drying.

Read 2026-11-25 unless a later copy is named.
"""

from datetime import date, timedelta

import pytest
from printed import printed, slip

from fieldbook.agronomy.clipping import (
    JAPANESE_EAR,
    ROOTWORM_EAR,
    ROOTWORM_PLANT,
    clipping_lines,
)
from fieldbook.agronomy.ears import BASE, EarRings
from fieldbook.agronomy.gaps import SeenEar, field_gaps
from fieldbook.agronomy.ranges import DayRange, Span
from fieldbook.agronomy.silk_curve import SilkCount, silk_slope, silked_share
from fieldbook.agronomy.silking import gap_points_to_stress, pollen_silk_gap, silking_date
from fieldbook.agronomy.stages import dry_down_gdd_f, fill_fraction
from fieldbook.agronomy.timing import silk_out_days, silk_out_range
from fieldbook.agronomy.windows import RAISED, WeatherDay, gibberella_watch
from fieldbook.figures import shipped_figures

SILK = date(2026, 7, 20)

# Name of the line, beetles counted on, most beetles under it, fewest that reach it, longest silks
# under it and shortest that miss it [in]
CLIPPING = [
    # Purdue's rule, in B. Cissel, University of Delaware,
    # https://sites.udel.edu/weeklycropupdate/?p=10718; E. Cullen, University of Wisconsin
    ("purdue-japanese", JAPANESE_EAR, 2.9, 3, 0.49, 0.5),
    # E. Hodgson, Iowa State University, July 2013, https://iowabuglife.blogspot.com
    ("iowa-state-japanese", JAPANESE_EAR, 2.9, 3, 0.99, 1),
    # Varenhorst et al., South Dakota State University, https://igrow.org/agronomy/corn/
    # watch-out-for-silks-clipping-by-northern-corn-rootworm-adults/
    ("south-dakota-rootworm", ROOTWORM_PLANT, 4.9, 5, 0.49, 0.5),
    # B. Jensen, University of Wisconsin, https://www.farms.com/news/
    # corn-rootworm-beetles-and-potential-for-silk-clipping-94798.aspx: 5-6 a plant
    ("wisconsin-rootworm", ROOTWORM_PLANT, 4.9, 6, 0.49, 0.5),
    # Wright and McMechan, University of Nebraska, 27 June 2018, https://cropwatch.unl.edu/2018/
    # be-ready-scout-western-corn-rootworm-beetles: 5-10 an ear
    ("nebraska-rootworm", ROOTWORM_EAR, 4.9, 10, 0.49, 0.5),
]

# High Plains Regional Climate Center, University of Nebraska,
# https://hprcc.unl.edu/archive/data/AWDN/crop_corn.txt: silks, black layer, first kernels dent.
# A field where only some kernels are dented is still R4: Delaware, 20 August 2020,
# https://sites.udel.edu/agronomy/2020/08/20/checking-for-corn-maturity/
FIRST_DENT = [
    (1143.6, 2061.7, "1694.5"),
    (1200.0, 2400.0, "1920.0"),
    (1272.5, 2834.9, "2209.9"),
]

# Heat after black layer, from and to a moisture
DRYING = [
    # Carter 1991, in J. Lauer, University of Wisconsin, 5 September 1996,
    # https://corn.agronomy.wisc.edu/WCM/W028.aspx: 150 further, to 25 %; the page does not
    # say from what, 30 % is the low end of its moistures at black layer
    (30, 25, "150"),
    # Siebert, North Dakota 2007, in http://www.FarmProgress.com/corn/n-d-corn-still-behind
    slip(35, 20, "200", reason="the Ohio State rates need 525; this source dries far faster"),
]


def test_slope_from_two_dates() -> None:
    """The dates of 20 and 80 % give the whole curve, as M. Westgate, USDA, uses them.

    1997, https://www.ars.usda.gov/research/publications/publication/?seqNo115=84515
    """
    slope = silk_slope(1)
    assert slope == printed("2.773")
    assert silked_share(-0.5, slope) == printed("0.20")
    assert silked_share(0.5, slope) == printed("0.80")


def test_curve_from_counts_at_those_dates() -> None:
    """Counts of 20 and 80 % on two days put half of the plants in the middle, as on that page."""
    pair = [
        SilkCount(day=SILK + timedelta(days=day), silked=n, of=100)
        for day, n in [(-2, 20), (2, 80)]
    ]
    found = silking_date(pair)
    assert found is not None
    assert found.day == SILK


def test_first_to_last_silk() -> None:
    """One ear silked over 4 days in one hybrid and 8 in another: both lie in the range.

    Bassetti and Westgate 1993, Crop Science 33:271-275,
    https://dl.sciencesocieties.org/publications/cs/abstracts/33/2/CS0330020271
    """
    tip = silk_out_range(Span(low=1, high=1))
    assert tip.low <= 4
    assert tip.high == printed("8")


def test_silks_come_first_at_positions_6_to_15() -> None:
    """Of about 40 positions the 6th to 15th may silk first, the 16th and later ones may not.

    Bassetti and Westgate 1993, as above
    """
    for position in range(6, 16):
        assert silk_out_range(Span(low=position / 40, high=position / 40)).low == 0
    for position in range(16, 41):
        assert silk_out_range(Span(low=position / 40, high=position / 40)).low > 0


def test_silks_fail_after_a_week() -> None:
    """Silks pollinated 7 days or more after they came out failed to set; 10 is the outside.

    Bassetti and Westgate 1993, Crop Science 33:275-278,
    https://dl.sciencesocieties.org/publications/cs/abstracts/33/2/CS0330020275; R. Elmore, Iowa
    State University, 2011, https://crops.extension.iastate.edu/cropnews/2011/07/long-silks
    """
    assert shipped_figures().numbers("silk.receptive_days")[1:] == (7, 10)


@pytest.mark.parametrize(("stops_on", "all_set"), [(7, False), (8, True), (2, False), (3, False)])
def test_silk_growth_stops(stops_on: int, all_set: bool) -> None:
    """Silks stop 7-8 days after the first when watered, 2-3 when dry; those out 2 days before set.

    Oury, Tardieu and Turc 2016, Plant Physiology 171:986-996,
    https://pmc.ncbi.nlm.nih.gov/articles/PMC4902573. With six days to the last silk, a watered ear
    sets to the tip or loses little, a dry one loses most.
    """
    out_by = stops_on - shipped_figures().number("silk.growth_stop_lead_days")
    rings = [position / 40 for position in range(10, 41)]
    out = [silk_out_days(x, span_days=6, first_position=0.25, base_lag_days=0.5) for x in rings]
    kept = sum(days <= out_by for days in out) / len(rings)
    assert (kept == 1) is all_set
    assert (kept > 0.8) is (stops_on > 6)


@pytest.mark.parametrize(("gap", "stress"), [(3, False), (13, True), (16, True)])
def test_gap_in_drought(gap: int, stress: bool) -> None:
    """Silks 3 days after pollen in controls, 13 and 16 after one and two droughts.

    Moss and Downey 1971, Crop Science 11,
    https://zendy.io/title/10.2135/cropsci1971.0011183x001100030017x
    """
    pollen = DayRange(earliest=SILK, latest=SILK)
    silk = DayRange(earliest=SILK + timedelta(days=gap), latest=SILK + timedelta(days=gap))
    assert gap_points_to_stress(pollen_silk_gap(pollen, silk)) is stress


@pytest.mark.parametrize(("name", "counted_on", "too_few", "enough", "short", "too_long"), CLIPPING)
def test_clipping_lines(
    name: str, counted_on: str, too_few: float, enough: float, short: float, too_long: float
) -> None:
    """Enough beetles, short silks and under 50 % pollinated reach the line; each less does not."""

    def reached(beetles: float, silk_in: float, pollinated: float) -> bool | None:
        found = clipping_lines(
            silk_length_in=silk_in,
            pollinated_pct=Span(low=pollinated, high=pollinated),
            beetles=beetles,
            beetles_on=counted_on,
        )
        return next(line.reached for line in found if line.name == name)

    assert reached(enough, short, 49) is True
    assert reached(too_few, short, 49) is False
    assert reached(enough, too_long, 49) is False
    assert reached(enough, short, 50) is False


@pytest.mark.parametrize(
    ("wet_days", "mean_f", "raised"),
    [(7, 71, True), (6, 71, False), (7, 72, False), (7, 73, False)],
)
def test_gibberella_weather(wet_days: int, mean_f: float, raised: bool) -> None:
    """A mean under 72 degF and 7 or more rain days in the 3 weeks after silking favor Gibberella.

    Ohio State University, https://u.osu.edu/mastercorn/?p=289
    """
    days = [
        WeatherDay(
            day=SILK + timedelta(days=n),
            tmax_f=mean_f + 10,
            tmin_f=mean_f - 10,
            rain_in=0.3 if n < wet_days else 0,
        )
        for n in range(22)
    ]
    assert (gibberella_watch(days, SILK).level == RAISED) is raised


def test_one_ring_at_the_base_of_every_ear() -> None:
    """One kernel place around every ear of 28,000 with 16 rows is worth about 5 bushels.

    R. L. Nielsen, Purdue University, 1999,
    https://www.agry.purdue.edu/Ext/corn/news/articles.99/990803d.html
    """
    ear = SeenEar(
        stop=1,
        rings=EarRings(base=1, set=40, inside=0, tip_unset=0, tip_aborted=0),
        rows_around=16,
    )
    found = field_gaps([ear], ears_per_ac=28000, thousand_kernels_per_bu=90)
    assert found is not None
    assert found.field[BASE].bu_ac == printed("5")
    assert found.bu_ac == printed("5")


@pytest.mark.parametrize(("silk_f", "black_layer_f", "heat"), FIRST_DENT)
def test_first_dent_is_late_dough(silk_f: float, black_layer_f: float, heat: str) -> None:
    """First kernels dent where the Carter table has R4.5: three fifths of grain fill."""
    found = silk_f + fill_fraction("R4.5") * (black_layer_f - silk_f)
    assert found == printed(heat)


@pytest.mark.parametrize(("from_pct", "to_pct", "heat"), DRYING)
def test_heat_to_dry(from_pct: float, to_pct: float, heat: str) -> None:
    """Other pages' heat for drying, against the rates in use."""
    assert dry_down_gdd_f(to_pct, from_pct) == printed(heat)
