"""The invented fields as a whole: place, stages, yields, harvest.

The ranges are plausibility, wider than what was measured on the 24 fields in three weathers.
"""

import random
import statistics
from collections import Counter
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

import pytest
from truths import BY_ID, WEATHERS, after_silk, all_truths, ears, regrown, truth, weather

from fieldbook.forms.roster import ROSTER
from fieldbook.forms.rounds import HARVEST
from fieldbook.simulate.field import (
    grow,
    harvest,
    load_tickets,
    pull_ear,
    random_plot,
    see_field,
    see_stop,
    stage_on,
    true_yield_bu_ac,
)
from fieldbook.simulate.growth import heat_f
from fieldbook.simulate.place import PLOTS, SCOUTS, SPELLS, STRIPS, Trouble
from fieldbook.simulate.rings import kernel_mg_at
from fieldbook.simulate.scout import Walk, walk_field
from fieldbook.simulate.truth import STAGES, ground_of

_TRUTHS = all_truths()


def test_place_has_24_fields_of_eight_growers_shared_by_three_scouts() -> None:
    """Each scout walks eight fields, every grower has some, no field code is given twice."""
    scouts = Counter(plot.row.scout for plot in PLOTS)
    assert scouts == {scout: 8 for scout, _ in SCOUTS}
    assert len({plot.row.grower_id for plot in PLOTS}) == 8
    assert len({plot.field_id for plot in PLOTS}) == len(PLOTS) == 24
    assert len({plot.story for plot in PLOTS}) == 24


def test_strips_are_fields_of_their_own() -> None:
    """One trial has each treatment once in every block, the other one strip a treatment."""
    codes = {plot.field_id for plot in (*PLOTS, *STRIPS)}
    assert len(codes) == len(PLOTS) + len(STRIPS)
    trials = {strip.row.trial for strip in STRIPS}
    laid = {
        name: Counter((s.row.block, s.row.treatment) for s in STRIPS if s.row.trial == name)
        for name in trials
    }
    assert {len(one) for one in laid.values()} == {8, 2}
    assert {count for one in laid.values() for count in one.values()} == {1}
    assert all(strip.row.scout is None for strip in STRIPS)


def test_roster_rows_hold_what_the_roster_allows() -> None:
    """Every number of every row lies within the limits that the roster prints."""
    rows = [row for plot in (*PLOTS, *STRIPS) for row in (plot.row, *plot.more_rows)]
    for column in ROSTER.entries:
        for row in rows:
            value = getattr(row, column.name)
            if column.limits is not None and value is not None:
                least, most = column.limits.least, column.limits.most
                assert least is None or value >= least
                assert most is None or value <= most


def test_rows_are_mostly_30_in_wide() -> None:
    """Two fields stand in 20 in rows and one in 36 in rows."""
    widths = Counter(plot.row.row_width_in for plot in PLOTS)
    assert widths == {30.0: 21, 20.0: 2, 36.0: 1}


def test_second_hybrid_of_a_field_shares_its_code() -> None:
    """One field has a further roster row: the same code and grower, another hybrid."""
    (plot,) = [plot for plot in PLOTS if plot.more_rows]
    (row,) = plot.more_rows
    assert (row.field_id, row.grower_id) == (plot.row.field_id, plot.row.grower_id)
    assert row.hybrid != plot.row.hybrid


def test_spells_end_after_they_begin_and_change_something() -> None:
    """The year's stated spells are real ones, and the hot one is dry."""
    for spell in SPELLS:
        assert spell["first"] < spell["last"]
        assert (spell["warmer_f"] > 0) == (spell["rain_factor"] < 1)


_GAPS = (
    ("planting to emergence", "planted", "VE", 4, 20),
    ("planting to silk", "planted", "R1", 48, 84),
    ("tassel to silk", "VT", "R1", 1, 10),
    ("silk to blister", "R1", "R2", 8, 17),
    ("silk to milk", "R1", "R3", 13, 25),
    ("silk to dough", "R1", "R4", 18, 36),
    ("silk to dent", "R1", "R5", 27, 48),
    ("silk to black layer", "R1", "R6", 45, 75),
)


@pytest.mark.parametrize(("name", "start", "end", "least", "most"), _GAPS)
def test_stages_are_plausibly_far_apart(
    name: str, start: str, end: str, least: int, most: int
) -> None:
    """Days between stages lie in a named range, in every field and weather."""
    for field in _TRUTHS:
        days = {"planted": field.plot.planted, **field.stage_days}
        assert least <= (days[end] - days[start]).days <= most, (name, field.plot.field_id)


def test_typical_gaps_are_near_the_published_ones() -> None:
    """Medians of the days from silk are within two days of what Purdue prints."""
    for stage, fewest, most in (("R2", 10, 14), ("R3", 18, 22), ("R4", 24, 28), ("R6", 55, 65)):
        gaps = [(field.stage_days[stage] - field.half_silked).days for field in _TRUTHS]
        assert fewest - 2 <= statistics.median(gaps) <= most + 2, stage


def test_stage_goes_one_way_from_v_to_r6() -> None:
    """Day by day a field passes all stages in order and never goes back."""
    field = truth("D14")
    days = (field.plot.planted + timedelta(days=past) for past in range(160))
    seen = list(dict.fromkeys(stage_on(field, day) for day in days))
    assert seen == ["V", *STAGES]


def test_same_seed_gives_the_same_truth_and_another_seed_another() -> None:
    """All that is seen of a field repeats with the seed, and differs with another one."""

    def seen(seed: str) -> tuple[object, ...]:
        field = regrown(BY_ID["T04"], seed)
        draw = random.Random(1)
        day = after_silk(field, 25)
        return (
            dict(field.stage_days),
            true_yield_bu_ac(field),
            see_stop(field, 3, day, draw),
            ears(field, day, count=5),
            harvest(field, draw),
        )

    assert seen("one") == seen("one")
    assert seen("one") != seen("two")


def test_ground_of_a_stop_is_the_same_at_every_visit() -> None:
    """A thick and good stop stays so; counts differ little between visits, more between stops."""
    field = truth("L33")
    assert ground_of(field, 7) == ground_of(regrown(BY_ID["L33"]), 7)
    draw = random.Random(2)
    day = after_silk(field, 25)
    visits = [[see_stop(field, stop, day, draw).plants for _ in range(8)] for stop in range(30, 60)]
    within = statistics.fmean(statistics.variance(visit) for visit in visits)
    between = statistics.variance([statistics.fmean(visit) for visit in visits])
    assert between > within


def test_heat_of_a_day_follows_its_hours() -> None:
    """Nothing at 50 degF, most at 86, less in great heat, and a mild day in between."""
    assert heat_f(50, 30) == 0
    assert heat_f(86, 86) == pytest.approx(36)
    assert heat_f(108, 100) < heat_f(86, 80)
    assert heat_f(80, 60) == pytest.approx(20, abs=0.2)


def test_dry_soil_holds_the_silks_back_and_not_the_tassel() -> None:
    """A field that dries out silks later after its tassel than the same field in deep soil."""
    plot = BY_ID["D14"]
    dry = regrown(replace(plot, trouble=Trouble(soil_in=3.0, rain_share=0.2)))
    assert dry.stage_days["VT"] == truth("D14").stage_days["VT"]
    assert dry.half_silked > truth("D14").half_silked
    assert true_yield_bu_ac(dry) < true_yield_bu_ac(truth("D14"))


def test_irrigated_field_never_wants_water() -> None:
    """Irrigation keeps dryness at nothing, even on thin soil without rain."""
    plot = BY_ID["B21"]
    field = regrown(replace(plot, trouble=Trouble(soil_in=5.0, rain_share=0.1)))
    assert max(field.growth.dryness) == 0


def test_late_planted_corn_needs_less_heat() -> None:
    """The same field planted in late May ripens on less heat than planted in April."""

    def need(planted: date) -> float:
        row = replace(BY_ID["D14"].row, planted=planted)
        growth = regrown(replace(BY_ID["D14"], row=row)).growth
        return growth.heat_f[growth.at(growth.stage_days["R6"])]

    assert need(date(2026, 5, 28)) < need(date(2026, 4, 28)) - 100


def test_killing_freeze_ends_growth_and_costs_weight() -> None:
    """A freeze in dough ends the season there with light kernels and wet grain."""
    whole = truth("B22")
    freeze = whole.stage_days["R5"] + timedelta(days=3)
    days = [replace(one, tmin_f=25) if one.day == freeze else one for one in weather()]
    cut = grow(BY_ID["B22"], days, seed="one")
    assert cut.growth.killed == cut.stage_days["R6"] == freeze
    assert cut.kernel_mg < 0.8 * whole.kernel_mg
    assert cut.growth.moisture_pct(freeze) > 45


def test_weather_that_ends_too_early_is_refused() -> None:
    """Neither black layer nor a freeze within the weather: an error that names the stage."""
    until_july = [one for one in weather() if one.day < date(2026, 7, 31)]
    with pytest.raises(ValueError, match="ends before R"):
        grow(BY_ID["D14"], until_july, seed="one")
    with pytest.raises(ValueError, match="no weather at the planting"):
        grow(BY_ID["D14"], weather()[200:], seed="one")


def test_yields_of_the_24_fields_are_plausible() -> None:
    """Every field yields between 20 and 280 bu/ac; the well one and the irrigated one are high."""
    for field in _TRUTHS:
        assert 20 <= true_yield_bu_ac(field) <= 280, field.plot.field_id
    for name in WEATHERS:
        assert 160 <= true_yield_bu_ac(truth("D14", name)) <= 245
        best = sorted(PLOTS, key=lambda plot: true_yield_bu_ac(truth(plot.field_id, name)))[-3:]
        assert "B21" in [plot.field_id for plot in best]


@pytest.mark.parametrize("field_id", ["D14", "T03", "T04", "L31", "L32", "L33"])
def test_true_yield_is_what_counts_add_up_to(field_id: str) -> None:
    """Ears a stop, kernels an ear and a kernel's weight, over many stops, give the true yield."""
    field = truth(field_id)
    draw = random.Random("counts")
    day = field.stage_days["R6"]
    stops = range(21, 221)
    found = []
    for stop in stops:
        per_ac = 1000 * see_stop(field, stop, day, draw).ears
        kernels = statistics.fmean(pull_ear(field, stop, day, draw).kernels for _ in range(3))
        mg = kernel_mg_at(field, ground_of(field, stop))
        found.append(per_ac * kernels * mg / 453592.37 / 56)
    assert statistics.fmean(found) == pytest.approx(true_yield_bu_ac(field), rel=0.05)


def test_random_fields_differ_and_repeat() -> None:
    """Fields at random repeat by number and seed and spread over a wide range of yields."""
    assert random_plot(4, "x") == random_plot(4, "x")
    assert random_plot(4, "x") != random_plot(5, "x")
    yields = [true_yield_bu_ac(regrown(random_plot(number, "x"))) for number in range(40)]
    assert 10 < min(yields) < 130
    assert 200 < max(yields) < 320
    assert 20 < statistics.stdev(yields) < 70


def test_harvest_is_a_little_under_the_interior() -> None:
    """Edges, lodging and the combine cost 1 to 20 %; 30 draws agree with each other within 15 %."""
    for field_id in ("D14", "F62", "Q73"):
        field = truth(field_id)
        got = [harvest(field, random.Random(number)) for number in range(30)]
        shares = [one.yield_bu_ac / true_yield_bu_ac(field) for one in got]
        assert 0.80 < min(shares) <= max(shares) < 1.0
        assert max(shares) - min(shares) < 0.15


def test_scale_bushels_are_wet_ones() -> None:
    """The scale's bushels, dried to 15.5 % and spread over the acres, are the harvest's yield."""
    got = harvest(truth("Q73"), random.Random(4))
    dry = got.bushels * (100 - got.moisture_pct) / 84.5
    assert got.moisture_pct > 18
    assert got.yield_bu_ac == pytest.approx(dry / got.acres, rel=1e-9)


def test_late_fields_come_wetter_at_the_same_day() -> None:
    """On 20 September the late hybrid planted late holds far more water than the early fields."""
    day = date(2026, 9, 20)
    for name in WEATHERS:
        wet = truth("Q73", name).growth.moisture_pct(day)
        assert wet > truth("D14", name).growth.moisture_pct(day) + 3


def test_grain_dries_day_by_day_after_black_layer() -> None:
    """From black layer near 34 %, half to one point a day at first, slower later."""
    growth = truth("D14").growth
    ripe = growth.stage_days["R6"]
    course = [growth.moisture_pct(ripe + timedelta(days=past)) for past in (0, 10, 20, 30)]
    assert course[0] == pytest.approx(34, abs=1)
    steps = [before - after for before, after in pairwise(course)]
    assert 3 <= steps[0] <= 11
    assert steps[0] > steps[2] > 0


def test_milk_line_moves_down_from_dent_to_black_layer() -> None:
    """No line before dent; then none, quarter, half, three-quarters, base, in that order."""
    field = truth("D14")
    draw = random.Random(3)
    start = field.stage_days["R5"]
    assert see_field(field, start - timedelta(days=1), draw).milk_line is None
    until = field.stage_days["R6"] - start
    lines = [
        see_field(field, start + timedelta(days=past), draw).milk_line
        for past in range(until.days + 1)
    ]
    order = ["none", "quarter", "half", "three-quarters", "base"]
    assert list(dict.fromkeys(lines)) == order


def test_grain_fill_is_judged_by_the_kernels_there_will_be() -> None:
    """Over many looks, a field with heavier kernels is judged the better one, by half a step."""

    def judged(kernel_mg: float) -> float:
        field, draw = regrown(replace(BY_ID["B21"], kernel_mg=kernel_mg)), random.Random(5)
        fills = [see_field(field, field.stage_days["R4"], draw).grain_fill for _ in range(60)]
        return statistics.fmean(("poor", "average", "good").index(str(fill)) for fill in fills)

    assert judged(240.0) + 0.5 < judged(290.0) < judged(350.0) - 0.5


def test_scale_tickets_are_the_harvest() -> None:
    """The loads that a scout copies add up to the harvest of the field, at its moisture."""
    cut = harvest(truth("D14"), random.Random("cut"))
    tickets = list(load_tickets(cut, random.Random("scale"), most=8))
    assert 1 <= len(tickets) <= 8
    assert sum(one.wet_lb for one in tickets) == pytest.approx(56 * cut.bushels, abs=20 * 8)
    assert {one.moisture_pct for one in tickets} == {cut.moisture_pct}
    assert len({one.ticket for one in tickets}) == len(tickets)


def test_a_scout_copies_the_tickets_and_the_acres() -> None:
    """The cells of a harvest book make the very yield of the harvest, within a pound's rounding."""
    field, form = truth("D14"), HARVEST.quick
    cut = harvest(field, random.Random(f"{field.seed}/D14/harvest"))
    cells = walk_field(field, Walk(day=cut.day, form=form, rows=form.rows), seed="walk")
    pounds = [cells[key] for key in cells if key[2] == "wet_lb"]
    dry = sum(float(str(one)) for one in pounds) * (100 - cut.moisture_pct) / (100 - 15.5) / 56
    acres = float(str(cells["fields", ("D14",), "acres_cut"]))
    assert dry / acres == pytest.approx(cut.yield_bu_ac, rel=1e-3)
    assert {key[0] for key in cells} == {"fields", "harvest"}
