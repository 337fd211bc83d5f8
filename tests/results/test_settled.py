"""Estimates against harvests: misses, ranges that held, groups, and what next season may use."""

import tomllib
from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from pathlib import Path
from statistics import fmean

import pytest
from harvested import Entries, Plot, count, counted, cut, season_of, take
from seasons import with_lines

from fieldbook.agronomy.settle import Suggestion, TooFew
from fieldbook.agronomy.yields import kernel_counts
from fieldbook.forms.rounds import KERNEL_COUNT, RIPENING
from fieldbook.ledger.safely import write_safely
from fieldbook.problems import sentence
from fieldbook.report.next_season import next_season_toml
from fieldbook.results.estimates import WEIGHED
from fieldbook.results.settle import BY_HYBRID, BY_ROUND, BY_SCOUT, SettledSeason, settle
from fieldbook.season.season import Season, open_season
from fieldbook.simulate.weather import daily_weather, weather_csv

LATER = date(2026, 12, 1)
NAMES = ("A1", "B2", "C3")


def plots(*bu_ac: float | None) -> list[Plot]:
    """Make fields of these harvests, in no trial."""
    return [
        Plot(field_id=name, bu_ac=one, trial=None) for name, one in zip(NAMES, bu_ac, strict=False)
    ]


def settled_season(
    path: Path, fields: Iterable[Plot], *, year: int = 2026, ears: int = 28
) -> Season:
    """Make a season that counted and cut all its fields."""
    fields = list(fields)
    season = season_of(path, fields, year=year)
    count(season, {plot.field_id: ears for plot in fields})
    cut(season, fields)
    return season


def settled(season: Season, **more: Iterable[Season]) -> SettledSeason:
    """Settle a season after its harvest."""
    return settle(season, as_of=LATER, **more)


def bags(field_id: str, *, stage: str = "R6", pounds: float = 3.4) -> Entries:
    """Fill five stops of a ripening visit: 30 ears in the row, 10 in the bag, at 24 % moisture."""
    entries: dict[tuple[str, tuple[str | int, ...], str], str | int | float | date] = {
        ("fields", (field_id,), "visit_date"): date(2026, 9, 20),
        ("fields", (field_id,), "stage"): stage,
    }
    for stop in range(1, 6):
        entries["stops", (field_id, stop), "ears"] = 30
        entries["stalks", (field_id, stop), "bag_ears"] = 10
        entries["stalks", (field_id, stop), "bag_grain_lb"] = pounds + 0.02 * stop
        entries["stalks", (field_id, stop), "bag_moisture_pct"] = 24
    return entries


def test_a_count_is_held_against_its_harvest(tmp_path: Path) -> None:
    """The miss is estimate minus harvest, and the corrected count makes it nothing."""
    found = settled(settled_season(tmp_path / "s", plots(170)))
    (one,) = found.estimates
    assert one.harvested_bu_ac == pytest.approx(170)
    assert one.miss_bu_ac == pytest.approx(one.estimated_bu_ac - 170)
    assert one.miss_pct == pytest.approx(100 * one.miss_bu_ac / 170)
    assert one.thousand_kernels == 87.5
    assert one.corrected_thousand == pytest.approx(87.5 * one.estimated_bu_ac / 170)
    assert one.scout == "Ana"
    assert (one.round, one.stage, one.hybrid) == ("kernel-count", "R4", "Larkspur 108")


@pytest.mark.parametrize(("bu_ac", "held"), [(100, False), (200, True), (325, False)])
def test_a_range_holds_or_misses(tmp_path: Path, bu_ac: float, held: bool) -> None:
    """A harvest inside the range that was told held it; below or above did not."""
    (one,) = settled(settled_season(tmp_path / "s", plots(bu_ac))).estimates
    assert one.range_bu_ac is not None
    assert one.held is held
    assert (one.range_bu_ac[0] <= bu_ac <= one.range_bu_ac[1]) is held


def test_misses_are_summed_by_scout_round_and_hybrid(tmp_path: Path) -> None:
    """Misses to both sides cancel in the lean but not in the usual miss."""
    fields = plots(150, 250, 200)
    fields[2] = replace(fields[2], hybrid="Oriel 109")
    found = settled(settled_season(tmp_path / "s", fields))
    by = {(group.by, group.name): group for group in found.groups}
    scout = by[BY_SCOUT, "Ana"]
    misses = [one.miss_pct for one in found.estimates]
    assert scout.mean_miss_pct == pytest.approx(fmean(misses))
    assert scout.typical_miss_pct == pytest.approx(fmean(map(abs, misses)))
    assert scout.typical_miss_pct > abs(scout.mean_miss_pct)
    assert by[BY_HYBRID, "Larkspur 108"].fields == 2
    assert by[BY_HYBRID, "Oriel 109"].fields == 1
    assert by[BY_ROUND, "kernel-count"].held == sum(one.held is True for one in found.estimates)


def test_a_field_without_a_harvest_has_no_estimate_to_settle(tmp_path: Path) -> None:
    """Only fields with both are settled, and the page can say how many were cut."""
    fields = plots(180, None)
    season = season_of(tmp_path / "s", fields)
    count(season, {"A1": 28, "B2": 28})
    cut(season, fields)
    found = settled(season)
    assert {one.field_id for one in found.estimates} == {"A1"}
    assert (len(found.harvests), found.fields) == (1, 2)


def test_loads_of_silage_are_told_and_held_against_no_count(tmp_path: Path) -> None:
    """What silage weighs would teach next season wrong counts of kernels."""
    fields = plots(180, 180)
    season = season_of(tmp_path / "s", fields)
    count(season, {"A1": 28, "B2": 28})
    cut(season, fields)
    own = season.roster.fields
    silage = {**own, "B2": replace(own["B2"], use="silage")}
    found = settled(replace(season, roster=replace(season.roster, fields=silage)))
    assert {one.field_id for one in found.estimates} == {"A1"}
    assert [one.field_id for one in found.harvests] == ["A1"]
    (told,) = [one for one in found.problems if one.code == "harvest-of-silage"]
    assert told.place.field_id == "B2"


def test_a_count_after_the_harvest_is_no_estimate(tmp_path: Path) -> None:
    """Who counts on the day of the harvest or later knows it already."""
    fields = plots(180)
    season = season_of(tmp_path / "s", fields)
    late = dict(counted("A1"))
    late["fields", ("A1",), "visit_date"] = date(2026, 10, 12)
    late["fields", ("A1",), "stage"] = "R6"
    take(season, {"A1": late}, KERNEL_COUNT)
    cut(season, fields)
    assert settled(season).estimates == ()


def test_every_count_is_told_but_the_last_one_corrects(tmp_path: Path) -> None:
    """A field counted twice has two misses and one correction."""
    fields = plots(180)
    season = season_of(tmp_path / "s", fields)
    take(season, {"A1": counted("A1", ears=20)}, KERNEL_COUNT, name="first")
    again = dict(counted("A1", ears=28))
    again["fields", ("A1",), "visit_date"] = date(2026, 8, 25)
    take(season, {"A1": again}, KERNEL_COUNT, name="second")
    cut(season, fields)
    found = settled(season)
    first, second = found.estimates
    assert first.estimated_bu_ac < second.estimated_bu_ac
    (kept,) = found.settled
    assert kept.estimated_bu_ac == second.estimated_bu_ac


def test_weighed_bags_are_settled_beside_the_count(tmp_path: Path) -> None:
    """The weighed yield is an estimate of its own, with no count of kernels to correct."""
    fields = plots(180)
    season = season_of(tmp_path / "s", fields)
    count(season, {"A1": 28})
    take(season, {"A1": bags("A1")}, RIPENING)
    cut(season, fields)
    found = settled(season)
    weighed = next(one for one in found.estimates if one.method == WEIGHED)
    assert weighed.estimated_bu_ac == pytest.approx(30_000 * 0.346 * 76 / 84.5 / 56, rel=1e-3)
    assert weighed.corrected_thousand is None
    assert {group.name for group in found.groups if group.by == BY_ROUND} == {
        "kernel-count",
        "ripening",
    }
    assert [one.field_id for one in found.settled] == ["A1"]


def test_one_season_makes_no_suggestion(tmp_path: Path) -> None:
    """Three fields of one year lack a year; the page is told how many."""
    found = settled(settled_season(tmp_path / "s", plots(170, 172, 168)))
    assert found.suggestions[0].found == TooFew(fields=0, years=1)
    assert next_season_toml(found) is None


def test_two_seasons_suggest_and_the_lines_open_as_settings(tmp_path: Path) -> None:
    """Counts that ran 10 % high in both years suggest more kernels, drawn towards the usual.

    The lines for next season's settings are taken by a season as they are.
    """
    this = settled_season(tmp_path / "a", plots(170, 172, 168))
    before = settled_season(tmp_path / "b", plots(171, 169, 173), year=2025)
    found = settled(this, others=[before])
    together, larkspur = found.suggestions
    assert (together.hybrid, larkspur.hybrid) == (None, "Larkspur 108")
    assert isinstance(together.found, Suggestion)
    assert (together.found.fields, together.found.years) == (3, 2)
    corrected = fmean(one.corrected_thousand for one in found.settled)
    assert 87.5 < together.found.likely < corrected + 0.5
    assert together.found.low < together.found.likely < together.found.high
    lines = next_season_toml(found)
    assert lines is not None
    assert "rest on 3 fields in 2 years:" in lines
    row = tomllib.loads(lines)["figures"]["kernels.average_thousand_per_bu"]
    assert row == pytest.approx(
        [together.found.low, together.found.likely, together.found.high], abs=0.05
    )
    settings = this.folder.settings
    settings.write_text(settings.read_text() + "\n" + lines)
    again, problems = open_season(this.folder.path)
    assert again is not None, problems
    assert again.settings.figures["kernels.average_thousand_per_bu"] == tuple(row)


def two_years(path: Path, *, hybrid: str | None = "Larkspur 108") -> tuple[Season, SettledSeason]:
    """Settle two seasons of counts that ran high; one field of each grows another hybrid."""
    seasons = [
        settled_season(
            path / str(year),
            [
                replace(plot, hybrid=hybrid if plot.field_id == "C3" else plot.hybrid)
                for plot in cut_
            ],
            year=year,
        )
        for year, cut_ in ((2026, plots(150, 152, 148)), (2025, plots(151, 149, 153)))
    ]
    this, before = seasons
    return this, settled(this, others=[before])


def test_a_hybrid_is_suggested_on_its_own_and_next_season_uses_it(tmp_path: Path) -> None:
    """The table of a hybrid opens as settings, and counts of that hybrid rest on it.

    The range of the estimate moves with it, and what the page says of the usual count stays.
    """
    this, found = two_years(tmp_path)
    (own,) = [one.found for one in found.suggestions if one.hybrid == "Larkspur 108"]
    assert isinstance(own, Suggestion)
    lines = next_season_toml(found)
    assert lines is not None
    tables = tomllib.loads(lines)
    assert tables["hybrids"]["Larkspur 108"]["rests_on"] == "3 fields in 2 years"
    only_hybrid = "[hybrids" + lines.partition("[hybrids")[2]
    again = with_lines(this, only_hybrid)
    after = settled(again)
    for one, was in zip(after.estimates, found.estimates, strict=True):
        assert one.thousand_kernels == pytest.approx(own.likely, abs=0.05)
        assert one.estimated_bu_ac < was.estimated_bu_ac
        assert one.corrected_thousand == pytest.approx(was.corrected_thousand)
    assert [one.corrected_thousand for one in after.settled] == pytest.approx(
        [one.corrected_thousand for one in found.settled]
    )
    assert after.base_thousand == found.base_thousand


def test_a_season_that_used_a_suggestion_does_not_unlearn_it(tmp_path: Path) -> None:
    """Estimates made with a hybrid's own count suggest the same as those without it."""
    this, found = two_years(tmp_path)
    lines = next_season_toml(found)
    assert lines is not None
    again = with_lines(this, "[hybrids" + lines.partition("[hybrids")[2])
    before, _ = open_season(tmp_path / "2025")
    assert before is not None
    after = settled(again, others=[before])
    assert [one.found for one in after.suggestions] == [one.found for one in found.suggestions]


def test_a_hybrid_with_too_few_fields_or_years_gets_a_remark(tmp_path: Path) -> None:
    """Nothing is made up: the file says what is missing, and opens all the same."""
    _, found = two_years(tmp_path, hybrid='Rare "7"')
    by_name = {one.hybrid: one.found for one in found.suggestions}
    assert by_name['Rare "7"'] == TooFew(fields=2, years=0)
    assert by_name["Larkspur 108"] == TooFew(fields=1, years=0)
    lines = next_season_toml(found)
    assert lines is not None
    assert '# "Rare \\"7\\"": not yet: needs 2 more fields.' in lines
    assert "hybrids" not in tomllib.loads(lines)


def test_kernel_counts_of_a_hybrid_that_nobody_grows_are_told(tmp_path: Path) -> None:
    """A name written otherwise would leave its counts unused without a word."""
    season = season_of(tmp_path / "s", plots(170))
    lines = '[hybrids."Larkspur 109"]\nthousand_kernels_per_bu = [80, 90, 100]\n'
    (said,) = [
        one for one in with_lines(season, lines).problems if one.code == "season-hybrid-unknown"
    ]
    assert sentence(said).endswith("Did you mean 'Larkspur 108'?")


def test_a_hybrids_own_count_is_for_usual_grain_fill_alone(tmp_path: Path) -> None:
    """Where the scout saw good or poor fill, the published counts stand."""
    own = (70.0, 75.0, 80.0)
    assert kernel_counts(None, own=own).likely == kernel_counts("average", own=own).likely == 75
    for condition in ("good", "poor"):
        assert kernel_counts(condition, own=own) == kernel_counts(condition)


def test_fields_keep_their_harvest_when_it_was_cut_early(tmp_path: Path) -> None:
    """A field cut before its first likely black layer is used, with a note."""
    days = list(daily_weather(date(2022, 1, 1), LATER, seed="settled"))
    for ripe_gdd_f, codes in ((2590, []), (3550, ["harvest-before-forecast"])):
        fields = [replace(plots(180)[0], ripe_gdd_f=ripe_gdd_f)]
        season = season_of(tmp_path / f"s{ripe_gdd_f}", fields)
        path = season.folder.weather / "home.csv"
        write_safely(path, weather_csv(days).encode())
        cut(season, fields)
        found = settled(season)
        assert [one.code for one in found.problems] == codes
        assert len(found.harvests) == 1
