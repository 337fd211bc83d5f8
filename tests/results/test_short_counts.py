"""A later count with too few stops takes nothing from a whole one, wherever counts are used."""

from collections.abc import Mapping
from datetime import date, timedelta
from pathlib import Path

import pytest
from harvested import Entries, Plot, count, counted, cut, season_of, take
from seasons import NOW, VISIT_DAY, good_visit, write_filled

from fieldbook.forms.rounds import KERNEL_COUNT
from fieldbook.report.amounts import Amounts
from fieldbook.report.doubts import doubts
from fieldbook.report.letterwords import Compared, news
from fieldbook.results.result import FieldResult
from fieldbook.results.results import season_results
from fieldbook.results.settle import settle
from fieldbook.results.trials import trial_results
from fieldbook.season.intake import take_in
from fieldbook.season.season import Season
from fieldbook.settings.figures import season_figures
from fieldbook.units import System

LATER = VISIT_DAY + timedelta(days=6)
TODAY = NOW.date()
WINTER = date(2026, 12, 1)
ENGLISH, SPANISH = (Amounts(units=System.US, language=one) for one in ("en", "es"))


def walk(season: Season, path: Path, day: date, entries: Entries) -> None:
    """Take in one kernel count of field A1."""
    filled = {**entries, ("fields", ("A1",), "visit_date"): day}
    book = write_filled(path / f"{day}.xlsx", season, filled)
    assert all(taken.accepted for taken in take_in(season, [book], now=NOW))


def off_figure() -> Entries:
    """Fill one stop on end rows: it is shown, and counts for nothing."""
    return {**good_visit("A1", stops=1), ("stops", ("A1", 1), "place"): "end-rows"}


def thin(ears: int = 12) -> Entries:
    """Fill one stop with few ears, so that its yield is far below the others."""
    return {**good_visit("A1", stops=1), ("stops", ("A1", 1), "ears"): ears}


def field_of(season: Season, day: date = TODAY) -> FieldResult:
    """Return field A1 as known on a day."""
    return season_results(season, as_of=day).fields[0]


@pytest.mark.parametrize(("later", "stops"), [(off_figure(), 0), (thin(), 1)])
def test_the_last_whole_count_stays(
    season: Season, tmp_path: Path, later: Entries, stops: int
) -> None:
    """Yield, stops, ears and missing kernels are of one visit, and the page says why of that."""
    walk(season, tmp_path, VISIT_DAY, good_visit("A1"))
    before = field_of(season)
    walk(season, tmp_path, LATER, later)
    now = field_of(season)
    assert len(now.visits) == 2
    assert now.yield_ is not None
    for part in ("yield_", "stops", "ears", "gaps", "count_visit"):
        assert getattr(now, part) == getattr(before, part)
    assert now.count_visit == before.visits[0].visit_id
    english, spanish = (" ".join(doubts(now, amounts)) for amounts in (ENGLISH, SPANISH))
    assert "Tue 18 August, had too few stops to take the place of the count before it." in english
    assert f"Stops that can be used: {stops}." in english
    assert f"Puntos que sirven: {stops}." in spanish
    assert not any(note.code == "later-count-short" for note in before.notes)


def test_a_letter_says_no_change_after_a_short_count(season: Season, tmp_path: Path) -> None:
    """The letter keeps the yield and says that the new count had too few stops."""
    walk(season, tmp_path, VISIT_DAY, good_visit("A1"))
    walk(season, tmp_path, LATER, thin())
    one = Compared(now=field_of(season), then=field_of(season, VISIT_DAY), day=LATER)
    said = " ".join(news(one, ENGLISH, season_figures(season.settings)))
    assert "Yield: the new count had too few stops, so it stays at" in said
    assert "fallen" not in said


def test_of_counts_without_an_interval_the_latest_yield_is_used(
    season: Season, tmp_path: Path
) -> None:
    """Two short counts: the later stands, and a letter tells no change between them."""
    walk(season, tmp_path, VISIT_DAY, good_visit("A1", stops=2))
    walk(season, tmp_path, LATER, thin())
    now, then = field_of(season), field_of(season, VISIT_DAY)
    assert now.count_visit == now.visits[1].visit_id
    said = " ".join(
        news(Compared(now=now, then=then, day=LATER), ENGLISH, season_figures(season.settings))
    )
    assert "too few stops to say whether it changed." in said


def test_without_any_yield_the_latest_count_is_shown(season: Season, tmp_path: Path) -> None:
    """No stop counts at either visit: the later one's stops say why."""
    walk(season, tmp_path, VISIT_DAY, off_figure())
    walk(season, tmp_path, LATER, off_figure())
    now = field_of(season)
    assert now.yield_ is None
    assert (now.count_visit, len(now.stops)) == (now.visits[1].visit_id, 1)


def test_a_whole_count_later_takes_the_place(season: Season, tmp_path: Path) -> None:
    """Three stops are enough."""
    walk(season, tmp_path, VISIT_DAY, good_visit("A1"))
    walk(season, tmp_path, LATER, good_visit("A1", stops=3))
    now = field_of(season)
    assert now.yield_ is not None
    assert (now.yield_.stops_used, now.count_visit) == (3, now.visits[1].visit_id)


def _recounted(path: Path, plots: list[Plot]) -> Season:
    """Count every plot whole, and the first again at one stop with few ears."""
    season = season_of(path, plots)
    count(season, {plot.field_id: 28 for plot in plots})
    name = plots[0].field_id
    whole: Mapping[tuple[str, tuple[str | int, ...], str], object] = counted(name)
    one = {key: value for key, value in whole.items() if len(key[1]) == 1 or key[1][1] == 1}
    again = {**one, ("fields", (name,), "visit_date"): date(2026, 8, 25)}
    take(season, {name: {**again, ("stops", (name, 1), "ears"): 12}}, KERNEL_COUNT, name="again")
    return season


def test_trials_and_next_season_use_the_same_count(tmp_path: Path) -> None:
    """A strip's value and a hybrid's correction come from the count that the field shows."""
    plots = [Plot(field_id="S1", treatment="Early"), Plot(field_id="S2", treatment="Late")]
    season = _recounted(tmp_path / "s", plots)
    shown = season_results(season, as_of=WINTER).fields
    ((trial,), _) = trial_results(season, as_of=WINTER)
    values = [strip.value_bu_ac for strip in trial.strips]
    assert values == [one.yield_ and one.yield_.likely_bu_ac for one in shown]
    assert values[0] == values[1]
    cut(season, [Plot(field_id="S1", bu_ac=170)])
    found = settle(season, as_of=WINTER)
    assert [one.in_use for one in found.estimates] == [True, False]
    assert [one.estimated_bu_ac for one in found.settled] == pytest.approx(values[:1])
