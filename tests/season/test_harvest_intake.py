"""The harvest as a round: its checks, its sum, and what keeps it from being used."""

from datetime import date, timedelta
from pathlib import Path

import pytest
from harvested import ACRES, Entries, Plot, count, counted, harvest_of, load, season_of, take

from fieldbook.check.harvest import fewest_days_to_ripe
from fieldbook.check.verdict import State
from fieldbook.forms.rounds import KERNEL_COUNT
from fieldbook.ledger.ledger import Ledger
from fieldbook.problems import sentence
from fieldbook.results.harvest import Harvests, harvests
from fieldbook.season.season import Season
from fieldbook.settings.figures import season_figures
from fieldbook.units import GRAIN_WEIGHT, System

A, B = Plot(field_id="A1", trial=None), Plot(field_id="B2", trial=None)
HEAD, LOAD = ("A1",), ("A1", 1)


@pytest.fixture
def cut_season(tmp_path: Path) -> Season:
    """Make a season of two fields of ten acres."""
    return season_of(tmp_path / "season", [A, B])


def known(season: Season) -> Harvests:
    """Add up what was taken in."""
    with Ledger(season.folder) as ledger:
        visits = ledger.visits()
        questions = ledger.questions(*State)
    return harvests(
        visits,
        questions,
        season.roster.fields,
        season_figures(season.settings),
        season.settings.units,
    )


def said(season: Season, entries: Entries, *, name: str = "b") -> list[str]:
    """Take a harvest in; return the codes of what is open."""
    (taken,) = take(season, {"A1": entries}, name=name)
    return [found.code for found in taken.open_problems]


def test_a_harvest_comes_back_as_it_was_weighed(cut_season: Season) -> None:
    """Two loads of different moisture make the yield of both, at market moisture."""
    entries = {**harvest_of("A1", 120), **load("A1", 60, number=2)}
    entries["harvest", ("A1", 2), "moisture_pct"] = 18
    wet_lb = 60 * 56 * (100 - 15.5) / (100 - 18) * ACRES
    entries["harvest", ("A1", 2), "wet_lb"] = wet_lb
    assert said(cut_season, entries) == []
    found = known(cut_season).by_field["A1"]
    assert found.yield_bu_ac == pytest.approx(180)
    assert (found.loads, found.acres, found.day) == (2, ACRES, date(2026, 10, 12))
    assert 18 < found.moisture_pct < 20
    assert found.test_weight_lb_bu == 57


def test_wet_bushels_stand_for_a_weight(cut_season: Season) -> None:
    """A ticket with wet bushels alone gives the same yield as its weight."""
    entries = dict(harvest_of("A1", 180))
    pounds = entries.pop(("harvest", LOAD, "wet_lb"))
    entries["harvest", LOAD, "wet_bu"] = float(pounds) / 56
    assert said(cut_season, entries) == []
    assert known(cut_season).by_field["A1"].yield_bu_ac == pytest.approx(180)


@pytest.mark.parametrize(("share", "asked"), [(1, []), (0.5, ["harvest-weights-differ"])])
def test_a_weight_and_its_bushels_may_stand_side_by_side(
    cut_season: Season, share: float, asked: list[str]
) -> None:
    """A bushel is counted as 56 lb however wet; a weight of twice its bushels is another load's."""
    entries = dict(harvest_of("A1", 180))
    pounds = float(entries["harvest", LOAD, "wet_lb"])
    entries["harvest", LOAD, "wet_bu"] = share * pounds / 56
    assert said(cut_season, entries) == asked


def test_without_acres_the_roster_stands_in_and_it_is_told(cut_season: Season) -> None:
    """The area of the roster is used, never silently."""
    entries = dict(harvest_of("A1", 180))
    del entries["fields", HEAD, "acres_cut"]
    assert said(cut_season, entries) == []
    found = known(cut_season)
    assert found.by_field["A1"].yield_bu_ac == pytest.approx(180)
    assert not found.by_field["A1"].acres_typed
    assert [one.code for one in found.problems] == ["harvest-acres-of-roster"]


SPOILED = [
    ("fields", HEAD, "acres_cut", 0, "out-of-range"),
    ("fields", HEAD, "acres_cut", 14, "harvest-acres-over"),
    ("fields", HEAD, "acres_cut", 1, "harvest-yield-odd"),
    ("harvest", LOAD, "wet_lb", 10_600, "harvest-yield-odd"),
    ("harvest", LOAD, "wet_bu", 100, "harvest-weights-differ"),
    ("harvest", LOAD, "moisture_pct", 2, "out-of-range"),
    ("harvest", LOAD, "moisture_pct", 185, "out-of-range"),
    ("harvest", LOAD, "moisture_pct", 46, "unusual"),
    ("harvest", LOAD, "moisture_pct", None, "part-missing"),
    ("harvest", LOAD, "wet_lb", None, "part-missing"),
    ("harvest", LOAD, "wet_lb", "a lot", "not-a-number"),
    ("harvest", LOAD, "test_weight_lb_bu", 90, "out-of-range"),
]


@pytest.mark.parametrize(("sheet", "key", "column", "value", "code"), SPOILED)
def test_a_fault_is_told_and_keeps_the_harvest_out(
    cut_season: Season,
    sheet: str,
    key: tuple[str | int, ...],
    column: str,
    value: object,
    code: str,
) -> None:
    """Every fault has its one message, and a sum without the doubted part is not used."""
    entries = {**harvest_of("A1", 180)}
    if value is None:
        del entries[sheet, key, column]
    else:
        entries[sheet, key, column] = value  # type: ignore[assignment]
    assert said(cut_season, entries) == [code]
    found = known(cut_season)
    assert found.by_field == {}
    assert [one.code for one in found.problems] == ["harvest-in-question"]


def test_a_ticket_counts_once(cut_season: Season) -> None:
    """The same ticket number twice is asked about."""
    entries = {**harvest_of("A1", 90), **load("A1", 90, number=2)}
    entries["harvest", ("A1", 2), "ticket"] = "TA11"
    assert said(cut_season, entries) == ["harvest-ticket-twice"]


@pytest.mark.parametrize(("share", "asked"), [(0.06, []), (0.04, ["harvest-load-light"])])
def test_a_load_of_next_to_nothing_is_asked_about(
    cut_season: Season, share: float, asked: list[str]
) -> None:
    """Beside a load of 120 bu/ac, one under a twentieth of it is another unit or a slip."""
    entries = {**harvest_of("A1", 120), **load("A1", share * 120, number=2)}
    assert said(cut_season, entries) == asked
    assert ("A1" in known(cut_season).by_field) is not bool(asked)


def test_a_light_load_is_told_with_its_cell_and_unit(tmp_path: Path) -> None:
    """Tonnes in the kilogram cell: the weight of the others and the unit of the cell are said."""
    metric = season_of(tmp_path / "metric", [A], units=System.METRIC)
    loads = {
        **{
            ("harvest", ("A1", at), "wet_lb"): GRAIN_WEIGHT.stored(kg, System.METRIC)
            for at, kg in enumerate((250, 60000, 50000), start=1)
        },
        **{("harvest", ("A1", at), "moisture_pct"): 20 for at in (1, 2, 3)},
        ("fields", HEAD, "visit_date"): date(2026, 10, 12),
    }
    (taken,) = take(metric, {"A1": loads})
    (told,) = taken.open_problems
    assert (told.code, told.place.row) == ("harvest-load-light", "1")
    words = sentence(told)
    assert words.startswith("250 under Net weight is next to nothing")
    assert "about 55000 kg" in words
    assert "takes kg" in words


def test_one_load_alone_has_no_fellows(cut_season: Season) -> None:
    """Nothing says how heavy its loads usually are; the yield is held against what is usual."""
    assert said(cut_season, harvest_of("A1", 2)) == ["harvest-yield-odd"]


@pytest.mark.parametrize(("bu_ac", "off"), [(70, True), (95, False), (300, False)])
def test_a_harvest_far_from_the_count_is_asked_about(
    cut_season: Season, bu_ac: float, off: bool
) -> None:
    """The ears made some 184 to 237 bu/ac; less than half of that is a lost load or a slip."""
    count(cut_season, {"A1": 28})
    assert said(cut_season, harvest_of("A1", bu_ac)) == ["harvest-off-count"] * off


def test_a_later_count_of_one_stop_is_no_measure_beside_a_whole_one(cut_season: Season) -> None:
    """One stop of 8 ears would call 170 bu/ac far too much; the five of before do not."""
    count(cut_season, {"A1": 28})
    one = {key: value for key, value in counted("A1").items() if key[1][1:2] in ((), (1,))}
    one |= {("fields", HEAD, "visit_date"): date(2026, 8, 25), ("stops", ("A1", 1), "ears"): 8}
    (taken,) = take(cut_season, {"A1": one}, KERNEL_COUNT, name="again")
    assert taken.accepted
    assert said(cut_season, harvest_of("A1", 170)) == []


def test_a_count_before_the_kernels_stand_says_nothing_of_the_harvest(cut_season: Season) -> None:
    """Up to R2 kernels are still lost, so such a count is no measure."""
    entries = {**counted("A1"), ("fields", HEAD, "stage"): "R2"}
    take(cut_season, {"A1": entries}, KERNEL_COUNT)
    assert said(cut_season, harvest_of("A1", 70)) == []


def test_a_lost_load_makes_no_harvest(cut_season: Season) -> None:
    """A load that cannot be weighed again leaves the field without a yield, not with less."""
    entries = {**harvest_of("A1", 120), **load("A1", 60, number=2)}
    entries["harvest", ("A1", 2), "moisture_pct"] = 2
    entries["harvest", ("A1", 2), "answer"] = "lost"
    assert said(cut_season, entries) == []
    assert [one.code for one in known(cut_season).problems] == ["harvest-in-question"]


def test_a_confirmed_oddity_is_used(cut_season: Season) -> None:
    """More acres than the roster has count once they are confirmed."""
    entries = {**harvest_of("A1", 180, acres=14)}
    entries["fields", HEAD, "answer"] = "true"
    assert said(cut_season, entries) == []
    assert known(cut_season).by_field["A1"].acres == 14


def test_two_visits_that_cut_a_field_add_up(cut_season: Season) -> None:
    """A field cut in two goes over both visits; more than the field in all is asked about."""
    half = harvest_of("A1", 180, acres=5)
    assert said(cut_season, half) == []
    assert said(cut_season, harvest_of("A1", 160, acres=5), name="c") == []
    found = known(cut_season).by_field["A1"]
    assert (found.loads, found.acres) == (2, 10)
    assert found.yield_bu_ac == pytest.approx(170)
    assert said(cut_season, harvest_of("A1", 150, acres=5), name="d") == []
    assert [one.code for one in known(cut_season).problems] == ["harvest-visits-over"]


def test_a_sum_of_areas_needs_all_of_them(cut_season: Season) -> None:
    """Where one of two visits has no area there is no yield."""
    said(cut_season, harvest_of("A1", 180, acres=5))
    more = dict(harvest_of("A1", 180, acres=5))
    del more["fields", HEAD, "acres_cut"]
    said(cut_season, more, name="c")
    assert [one.code for one in known(cut_season).problems] == ["harvest-acres-some"]


@pytest.mark.parametrize(
    ("stage", "days_before", "asks"), [("R4", 12, True), ("R4", 13, False), ("R5", 0, True)]
)
def test_a_harvest_before_the_corn_can_be_ripe_is_asked_about(
    cut_season: Season, stage: str, days_before: int, asks: bool
) -> None:
    """From dough, even at its end, black layer is at least 55 - 42 = 13 days off.

    A field seen at dent on the very day of its harvest was not ripe either.
    """
    seen: Entries = {
        ("fields", HEAD, "visit_date"): date(2026, 10, 12) - timedelta(days_before),
        ("fields", HEAD, "stage"): stage,
    }
    take(cut_season, {"A1": seen}, KERNEL_COUNT)
    assert said(cut_season, harvest_of("A1", 180)) == ["harvest-before-ripe"] * asks


def test_days_to_ripe_fall_with_the_stage() -> None:
    """The later a field was seen, the sooner it may be ripe."""
    stages = ("VT", "R1", "R2", "R3", "R4", "R5")
    assert [fewest_days_to_ripe(stage) for stage in stages] == [55, 41, 33, 27, 13, 0]


def test_a_field_without_loads_has_no_harvest(cut_season: Season) -> None:
    """A date alone is no harvest, and that is told."""
    entries: Entries = {("fields", HEAD, "visit_date"): date(2026, 10, 12)}
    assert said(cut_season, entries) == []
    assert [one.code for one in known(cut_season).problems] == ["harvest-without-loads"]


def test_a_count_is_no_harvest(cut_season: Season) -> None:
    """Other rounds have no loads and are left alone."""
    count(cut_season, {"A1": 28, "B2": 28})
    found = known(cut_season)
    assert (found.by_field, found.problems) == ({}, ())
