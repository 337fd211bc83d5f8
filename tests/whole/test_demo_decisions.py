"""The demo season carries a field for each decision, and its pages put it into words."""

import json
from collections.abc import Mapping
from pathlib import Path

import pytest
from click.testing import CliRunner

from fieldbook.cli import main
from fieldbook.demo.run import AS_OF, SETTLED_ON, SPRAY_DAY
from fieldbook.results.estimates import COUNTED
from fieldbook.results.result import FieldResult
from fieldbook.results.results import season_results
from fieldbook.results.settle import BY_SCOUT, settle
from fieldbook.results.trials import HARVESTED, TrialResult, trial_results
from fieldbook.season.season import Season, open_season

GRAY, BLIGHT = "gray-leaf-spot", "northern-leaf-blight"


@pytest.fixture(scope="module")
def season(demo: Path) -> Season:
    """Open the demo season."""
    found, problems = open_season(demo)
    assert found is not None, problems
    return found


@pytest.fixture(scope="module")
def in_july(season: Season) -> Mapping[str, FieldResult]:
    """Every field as known while the fungicide window is open."""
    return {one.field_id: one for one in season_results(season, as_of=SPRAY_DAY).fields}


@pytest.fixture(scope="module")
def in_september(season: Season) -> Mapping[str, FieldResult]:
    """Every field as known on the day of the reports."""
    return {one.field_id: one for one in season_results(season, as_of=AS_OF).fields}


@pytest.fixture(scope="module")
def trials(season: Season) -> Mapping[str, TrialResult]:
    """Compare the trials as harvested."""
    found, _ = trial_results(season, as_of=SETTLED_ON)
    return {one.trial: one for one in found}


def verdict(field: FieldResult, disease: str) -> str:
    """Return what the rule says of a disease."""
    assert field.leaves is not None
    return next(one.verdict for one in field.leaves.judged if one.disease == disease)


def page(demo: Path, start: str) -> str:
    """Return the HTML of the page whose file name begins so."""
    (path,) = (demo / "reports").glob(f"{start}*.html")
    return path.read_text("utf-8")


def test_a_fungicide_is_worth_weighing(demo: Path, in_july: Mapping[str, FieldResult]) -> None:
    """The window is open, the rule is met, and the break-even stands on the page of July."""
    field = in_july["D16"]
    assert field.fungicide.window is not None
    assert field.fungicide.window.state == "open"
    assert verdict(field, GRAY) == "met"
    assert field.fungicide.break_even_bu_ac == pytest.approx(26 / 4.2)
    text = page(demo, "D16-windmill-forty-july")
    assert "says that a fungicide is worth weighing" in text
    assert "6.2 bushels an acre" in text


def test_a_fungicide_is_not_asked_for(demo: Path, in_july: Mapping[str, FieldResult]) -> None:
    """Most plants are sick, yet the rule is not met, and the page of July says why."""
    field = in_july["F61"]
    assert field.leaves is not None
    seen = next(one for one in field.leaves.judged if one.disease == GRAY)
    assert seen.reading.high is not None
    assert seen.reading.high.pct > 50
    assert (seen.verdict, seen.reasons) == ("not-met", ("no-warm-humid",))
    assert "does not ask for a fungicide" in page(demo, "F61-stone-gate-july")


def test_a_fungicide_comes_too_late(demo: Path, in_september: Mapping[str, FieldResult]) -> None:
    """Blight was found, but the window had closed."""
    field = in_september["K42"]
    assert field.leaves is not None
    assert any(one.disease == BLIGHT and one.incidence for one in field.leaves.readings)
    assert field.fungicide.window is not None
    assert field.fungicide.window.state == "closed"
    assert "The window for a fungicide is closed" in page(demo, "K42")


def test_a_disease_without_a_number_and_one_without_a_case(
    in_july: Mapping[str, FieldResult],
) -> None:
    """Tar spot has no published line, common rust never asks for a fungicide."""
    assert verdict(in_july["H51"], "tar-spot") == "no-rule"
    assert verdict(in_july["K43"], "common-rust") == "never"


def test_stalks_over_the_line_and_near_it(in_september: Mapping[str, FieldResult]) -> None:
    """One field is over the line for sure; of another the sample cannot tell."""
    told = {
        name: ripe.stalks.lines[0].side
        for name, one in in_september.items()
        if (ripe := one.ripe) and ripe.stalks
    }
    assert told["F62"] == "above"
    assert told["F63"] == "cannot-tell"
    assert "below" in told.values()


def test_mould_over_the_line(demo: Path, in_september: Mapping[str, FieldResult]) -> None:
    """Olive powder on most of the bad ears of one field; its page says what that may carry."""
    ripe = in_september["B23"].ripe
    assert ripe is not None
    assert ripe.mouldy is not None
    assert ripe.mouldy.lines[0].side == "above"
    assert ripe.moulds[0].mould.look == "olive-powder"
    assert "aflatoxin" in page(demo, "B23")


def test_harvest_order_begins_with_the_failing_stalks(demo: Path) -> None:
    """Lower flat first, then Gravel hill by its mould, and the reasons stand beside them."""
    text = page(demo, "harvest-order")
    assert "Lower flat comes first" in text
    assert text.index("Gravel hill") < text.index("Cemetery corner")


def test_a_failure_is_told_before_anything_is_chopped(
    demo: Path, in_september: Mapping[str, FieldResult]
) -> None:
    """The field for silage failed, and its page begins with whom to call."""
    assert in_september["K41"].use == "silage"
    assert "Before anything is chopped" in page(demo, "K41")


def test_a_replicated_trial_has_letters(demo: Path, trials: Mapping[str, TrialResult]) -> None:
    """Two hybrids in four blocks, over the scale: an LSD, letters and pairs."""
    found = trials["Hybrids"]
    assert found.basis == HARVESTED
    assert found.comparison is not None
    assert found.comparison.lsd is not None
    assert [one.letters for one in found.comparison.means] == ["a", "b"]
    assert found.pairs is not None
    assert len(found.pairs.differences) == 4
    assert "block by block" in page(demo, "trial-hybrids")


def test_a_split_field_has_no_least_difference(
    demo: Path, trials: Mapping[str, TrialResult]
) -> None:
    """One strip each way: the difference stands, no LSD, and the page says why."""
    found = trials["Starter fertilizer"]
    assert found.comparison is not None
    assert (found.comparison.lsd, found.comparison.design) == (None, "unreplicated")
    assert "how much of them is soil or chance" in page(demo, "trial-starter")


def test_estimates_are_settled(demo: Path, season: Season) -> None:
    """Every scout's counts stand against the scale; harvests in question are left out by name."""
    found = settle(season, as_of=SETTLED_ON)
    groups = [one for one in found.groups if one.by == BY_SCOUT]
    assert len(groups) == 3
    assert sum(one.method == COUNTED for one in found.estimates) >= 20
    left = {one.place.field_id for one in found.problems if one.code == "harvest-in-question"}
    assert left == {"B21", "T05"}
    text = page(demo, "settle")
    assert "kernel counts in" in text
    assert "not yet: needs 1 more year" in text


def test_leaf_ladder_stands_on_the_page(demo: Path) -> None:
    """Where the highest leaf was read, the picture shows it, with words for who can't see it."""
    text = page(demo, "F61-stone-gate-july")
    assert "A disease stands at the highest leaf with it." in text
    assert "Gray leaf spot up to the" in text


def test_two_weeks_are_planned(demo: Path) -> None:
    """The plan of the day of the reports lies in its folder."""
    assert (demo / "plan" / "plan.xlsx").is_file()


def test_the_order_of_harvest_stands_in_the_json_until_it_is_cut(demo: Path) -> None:
    """The field with the failing stalks is first on the day of the reports."""
    words = ("results", str(demo), "--json", "--as-of", AS_OF.isoformat())
    raw = json.loads(CliRunner().invoke(main, words).output)
    assert raw["harvest_order"][0]["field_id"] == "F62"
    assert [one["harvest"] for one in raw["fields"]] == [None] * len(raw["fields"])


def test_results_as_json_carry_every_figure(demo: Path) -> None:
    """Leaves, fungicide, stalks, mould, harvest, trials, settling and grain for machines."""
    words = ("results", str(demo), "--json", "--as-of", SETTLED_ON.isoformat())
    raw = json.loads(CliRunner().invoke(main, words).output)
    fields = {one["id"]: one for one in raw["fields"]}
    (spot, *_) = [one for one in fields["D16"]["leaves"]["judged"] if one["disease"] == GRAY]
    assert spot["rule"] == "illinois-2015"
    assert spot["reading"]["high"]["plain"]["low_pct"] > 50
    assert fields["D16"]["fungicide"]["break_even_bu_ac"] == pytest.approx(6.1905)
    assert len(fields["D16"]["fungicide"]["table"]["costs_per_ac"]) == 3
    assert fields["F62"]["ripe"]["stalks"]["lines"][0]["side"] == "above"
    assert fields["B23"]["ripe"]["moulds"][0]["mould"]["toxins"]
    assert fields["F61"]["weighed"]["mean_bu_ac"] > 100
    assert fields["F61"]["weighed_beside_counted"] is not None
    assert raw["harvest_order"] == []  # by then each is cut
    assert fields["F61"]["harvest"]["yield_bu_ac"] > 100
    hybrids = next(one for one in raw["trials"] if one["trial"] == "Hybrids")
    anova = hybrids["comparison"]["anova"]
    assert anova["f"] == pytest.approx(anova["treatments"]["ms"] / anova["error"]["ms"], rel=1e-4)
    assert anova["error"]["ms"] == pytest.approx(
        anova["error"]["ss"] / anova["error"]["df"], rel=1e-4
    )
    assert hybrids["comparison"]["lsd"] == pytest.approx(hybrids["pairs"]["lsd"], abs=1e-3)
    assert {"estimates", "groups", "suggestions", "harvests"} <= raw["settled"].keys()
    assert "harvest-in-question" in {one["code"] for one in raw["settled"]["problems"]}
