"""Strip trials from the roster: which yields are compared, and what is said where none can be."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from harvested import Plot, count, cut, harvest_of, season_of, strips, take
from scipy import stats

from fieldbook.agronomy.strips import BLOCKS, UNREPLICATED
from fieldbook.problems import Problem, sentence
from fieldbook.results.trials import COUNTED, HARVESTED, TrialResult, trial_names, trial_results
from fieldbook.season.season import Season

LATER = date(2026, 12, 1)
YIELDS = {
    "Early": [198, 205, 190, 201],
    "Late": [187, 196, 184, 188],
    "Mixed": [176, 188, 171, 180],
}


def compared(season: Season, **more: float) -> TrialResult:
    """Return the one trial of a season."""
    ((found,), _) = trial_results(season, as_of=LATER, **more)
    return found


def codes(problems: Iterable[Problem]) -> list[str]:
    """Return what is said, by code."""
    return [found.code for found in problems]


def harvested(path: Path, plots: list[Plot]) -> Season:
    """Make a season whose plots are cut."""
    season = season_of(path, plots)
    cut(season, plots)
    return season


def test_strips_of_a_trial_are_compared_as_they_were_harvested(tmp_path: Path) -> None:
    """Means are of the scale, and F agrees with the blocks taken out by hand with scipy."""
    season = harvested(tmp_path / "s", strips(YIELDS))
    found = compared(season)
    assert found.basis == HARVESTED
    assert found.comparison is not None
    assert found.comparison.design == BLOCKS
    means = {mean.treatment: mean.mean for mean in found.comparison.means}
    assert means == pytest.approx({"Early": 198.5, "Late": 188.75, "Mixed": 178.75})
    assert [mean.letters for mean in found.comparison.means] == ["a", "b", "c"]
    assert found.comparison.anova is not None
    by_block = list(zip(*YIELDS.values(), strict=True))
    grand = sum(map(sum, by_block)) / 12
    flat = [
        [value - sum(block) / 3 + grand for value, block in zip(row, by_block, strict=True)]
        for row in YIELDS.values()
    ]
    # Without the blocks' part the one-way F has 9 degrees of freedom of error, of which blocks
    # used up 3.
    one_way = stats.f_oneway(*flat).statistic
    assert found.comparison.anova.f == pytest.approx(one_way * 6 / 9, rel=1e-4)
    assert codes(found.problems) == []


def test_two_treatments_are_paired_block_by_block(tmp_path: Path) -> None:
    """The paired comparison has the p of scipy's own paired test."""
    first, second = [201, 207, 195, 210, 199], [196, 199, 193, 200, 195]
    season = harvested(tmp_path / "s", strips({"None": second, "Sprayed": first}))
    found = compared(season)
    assert found.pair_names == ("Sprayed", "None")
    assert found.pairs is not None
    assert found.pairs.differences == pytest.approx([5, 8, 2, 10, 4], abs=1e-6)
    assert found.pairs.p == pytest.approx(stats.ttest_rel(first, second).pvalue, rel=1e-4)


def test_the_level_can_be_chosen(tmp_path: Path) -> None:
    """A difference that counts at 10 % need not at 1 %, and then no letter is printed."""
    season = harvested(
        tmp_path / "s", strips({"A": [190, 200, 195, 201], "B": [186, 199, 189, 195]})
    )
    loose, strict = compared(season), compared(season, level_pct=1)
    assert loose.comparison is not None
    assert strict.comparison is not None
    assert loose.comparison.lsd is not None
    assert strict.comparison.lsd is None
    assert {mean.letters for mean in strict.comparison.means} == {None}
    assert codes(strict.problems) == ["trial-not-significant"]


def test_counted_yields_stand_in_before_harvest_and_say_so(tmp_path: Path) -> None:
    """Without any harvest the counts are compared, with a note of what a count does not see."""
    plots = strips({"A": [None] * 4, "B": [None] * 4})
    season = season_of(tmp_path / "s", plots)
    count(season, {plot.field_id: 28 + 2 * (plot.treatment == "A") for plot in plots})
    found = compared(season)
    assert found.basis == COUNTED
    assert found.comparison is not None
    high, low = found.comparison.means
    assert (high.treatment, low.treatment) == ("A", "B")
    assert high.mean > low.mean
    assert "trial-counted" in codes(found.problems)


def test_harvest_and_count_are_never_mixed(tmp_path: Path) -> None:
    """Where some strips are harvested, only those are compared, and every missing one is named."""
    plots = strips(YIELDS)
    last = replace(plots[-1], bu_ac=None)
    season = season_of(tmp_path / "s", [*plots[:-1], last])
    cut(season, [*plots[:-1], last])
    count(season, {last.field_id: 28})
    found = compared(season)
    assert found.basis == HARVESTED
    assert codes(found.problems) == [
        "trial-mixed",
        "trial-strip-without-yield",
        "trial-blocks-left-out",
        "trial-few-replicates",
    ]
    assert found.comparison is not None
    assert found.comparison.left_out == ("4",)
    assert last.field_id in sentence(found.problems[1])


def without_block(plots: list[Plot]) -> list[Plot]:
    """Take the block of the first strip away."""
    return [replace(plots[0], block=None), *plots[1:]]


def twice(plots: list[Plot]) -> list[Plot]:
    """Let one treatment stand twice in a block."""
    return [*plots, replace(plots[0], field_id="Twice")]


def fewer(plots: list[Plot]) -> list[Plot]:
    """Take one strip's yield away."""
    return [replace(plots[0], bu_ac=None), *plots[1:]]


EIGHT = {"A": [190, 200, 195, 201], "B": [186, 199, 189, 195]}
REFUSED = {
    "one treatment": (strips({"A": [190, 200]}), "trial-one-treatment"),
    "some without a block": (without_block(strips(EIGHT)), "trial-some-without-block"),
    "twice in a block": (twice(strips(EIGHT)), "trial-treatment-twice-in-block"),
    "unequal": (fewer(strips(EIGHT, blocks=False)), "trial-unequal-replicates"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_compared_is_refused_with_its_own_reason(tmp_path: Path, name: str) -> None:
    """No mean is shown, and one message says why."""
    plots, code = REFUSED[name]
    found = compared(harvested(tmp_path / "s", plots))
    assert found.comparison is not None
    assert found.comparison.means == ()
    assert code in codes(found.problems)


def test_one_whole_block_is_no_trial(tmp_path: Path) -> None:
    """Two blocks of which one lacks a treatment leave nothing to judge chance by."""
    plots = fewer(strips({"A": [190, 200], "B": [186, 199]}))
    found = compared(harvested(tmp_path / "s", plots))
    assert "trial-too-few-whole-blocks" in codes(found.problems)
    (said,) = (one for one in found.problems if one.code == "trial-too-few-whole-blocks")
    assert "incomplete: 1" in sentence(said)


def test_a_split_field_gets_differences_but_no_least_difference(tmp_path: Path) -> None:
    """One strip of each: means and differences, no LSD, no letters, and the reason."""
    found = compared(harvested(tmp_path / "s", strips({"A": [201], "B": [188]}, blocks=False)))
    assert found.comparison is not None
    assert found.comparison.design == UNREPLICATED
    assert found.comparison.lsd is None
    assert [round(mean.below_highest) for mean in found.comparison.means] == [0, 13]
    assert found.pairs is None
    assert codes(found.problems) == ["trial-not-replicated"]


def test_strips_that_vary_a_lot_are_in_doubt(tmp_path: Path) -> None:
    """A coefficient of variation above 12 % is told with its size."""
    wild = {"A": [240, 150, 210, 120], "B": [150, 230, 120, 220]}
    found = compared(harvested(tmp_path / "s", strips(wild)))
    assert "trial-cv-high" in codes(found.problems)
    assert found.comparison is not None
    assert found.comparison.cv_pct is not None
    (said,) = (one for one in found.problems if one.code == "trial-cv-high")
    assert f"vary by {round(found.comparison.cv_pct, 1):g} %" in sentence(said)


def test_strips_without_blocks_say_what_that_costs(tmp_path: Path) -> None:
    """A trial without blocks is compared, with a note that all ground counts as chance."""
    found = compared(harvested(tmp_path / "s", strips(EIGHT, blocks=False)))
    assert "trial-no-blocks" in codes(found.problems)
    assert "trial-no-blocks" not in codes(
        compared(harvested(tmp_path / "b", strips(EIGHT))).problems
    )


def test_strips_that_agree_to_the_last_digit_are_doubted(tmp_path: Path) -> None:
    """No chance can be worked out where strips of one treatment do not differ at all."""
    found = compared(harvested(tmp_path / "s", strips({"A": [200] * 4, "B": [190] * 4})))
    assert "trial-no-spread" in codes(found.problems)


def test_a_strip_without_a_treatment_is_named(tmp_path: Path) -> None:
    """A trial's field without a treatment is left out and told."""
    plots = [*strips(EIGHT), Plot(field_id="Loose", bu_ac=150)]
    found = compared(harvested(tmp_path / "s", plots))
    assert codes(found.problems)[0] == "trial-no-treatment"
    assert "Loose" not in {strip.field_id for strip in found.strips}


def test_a_trial_without_any_yield_says_so(tmp_path: Path) -> None:
    """Nothing is compared before anything is counted."""
    found = compared(season_of(tmp_path / "s", strips({"A": [None], "B": [None]})))
    assert found.comparison is None
    assert codes(found.problems) == ["trial-nothing-to-compare"]


def test_a_questioned_harvest_is_no_yield(tmp_path: Path) -> None:
    """A strip whose harvest is in question is missing, with the reason beside it."""
    plots = strips(EIGHT)
    season = season_of(tmp_path / "s", plots)
    filled: Mapping[str, dict] = {  # type: ignore[type-arg]
        plot.field_id: dict(harvest_of(plot.field_id, plot.bu_ac or 0)) for plot in plots
    }
    filled["S11"]["fields", ("S11",), "acres_cut"] = 30.0
    take(season, filled)
    ((found,), problems) = trial_results(season, as_of=LATER)
    assert codes(problems) == ["harvest-in-question"]
    assert "trial-strip-without-yield" in codes(found.problems)


def test_trials_keep_apart(tmp_path: Path) -> None:
    """Two trials of a roster are two comparisons; fields of none belong to none."""
    east = [replace(plot, trial="East", field_id=f"E{plot.field_id}") for plot in strips(EIGHT)]
    alone = Plot(field_id="Z", trial=None, bu_ac=170)
    season = season_of(tmp_path / "s", [*strips(YIELDS), *east, alone])
    assert trial_names(season) == ("North", "East")
    (only,), _ = trial_results(season, as_of=LATER, trial="East")
    assert {strip.field_id for strip in only.strips} == {plot.field_id for plot in east}
