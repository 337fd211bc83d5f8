"""Leaves, the fungicide question, stalks and the order of harvest, from books to results."""

from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from seasons import ROWS, small_season, write_filled

from fieldbook.figures import shipped_figures
from fieldbook.forms.rounds import KERNEL_COUNT, POLLINATION, RIPENING, Round
from fieldbook.ledger.safely import write_safely
from fieldbook.results.result import FieldResult
from fieldbook.results.results import season_results
from fieldbook.results.ripe import order_of_harvest
from fieldbook.season.intake import take_in
from fieldbook.season.season import Season, open_season
from fieldbook.settings.fresh import settings_text
from fieldbook.simulate.weather import daily_weather, weather_csv
from fieldbook.workbook.plan import EntryKey, EntryValue

AS_OF = date(2026, 9, 20)
Entries = dict[EntryKey, EntryValue]


def on(field_id: str, day: date, stage: str) -> Entries:
    """Begin a visit."""
    return {
        ("fields", (field_id,), "visit_date"): day,
        ("fields", (field_id,), "stage"): stage,
    }


def leaves(disease: str, with_it: int, high: int) -> Entries:
    """Look at twenty plants at each of four stops of field A1."""
    entries: Entries = {}
    for stop in range(1, 5):
        row = {"disease": disease, "looked": 20, "with_it": with_it, "high": high}
        for name, value in row.items():
            entries["leaves", ("A1", stop, 1), name] = value
    return entries


def take(season: Season, folder: Path, entries: Entries, round_: Round) -> None:
    """Write, fill and take in one book."""
    path = folder / f"{round_.name}-{len(list(folder.iterdir()))}.xlsx"
    book = write_filled(path, season, entries, round_=round_)
    (taken,) = take_in(season, [book], now=datetime(2026, 9, 20, 18, tzinfo=UTC))
    assert taken.accepted, taken.problems


def found(season: Season, as_of: date = AS_OF) -> FieldResult:
    """Work out field A1."""
    return season_results(season, as_of=as_of).fields[0]


def rated(folder: Path, rating: str) -> Season:
    """Make a season whose first field has a hybrid of this rating for gray leaf spot."""
    row = replace(ROWS[0], gray_leaf_spot_rating=rating, northern_blight_rating="resistant")
    return small_season(folder / "season", rows=(row, *ROWS[1:]))


@pytest.mark.parametrize(
    ("rating", "high", "verdict", "reason"),
    [
        ("susceptible", 18, "met", "plants-over-line"),
        ("susceptible", 2, "not-met", "plants-under-line"),
        ("resistant", 18, "not-met", "resistant"),
        ("intermediate", 18, "cannot-tell", "history-unknown"),
    ],
)
def test_the_rule_is_applied_by_rating(
    tmp_path: Path, rating: str, high: int, verdict: str, reason: str
) -> None:
    """Plants with lesions high up raise the question only for a hybrid that is not resistant."""
    season = rated(tmp_path, rating)
    books = tmp_path / "books"
    books.mkdir()
    day = date(2026, 7, 14)
    take(season, books, on("A1", day, "R1") | leaves("gray-leaf-spot", 19, high), POLLINATION)
    looked = found(season).leaves
    assert looked is not None
    gray = next(one for one in looked.judged if one.disease == "gray-leaf-spot")
    assert gray.verdict == verdict
    assert reason in gray.reasons
    assert gray.rule == "illinois-2015"


def test_the_look_before_milk_is_judged_and_the_trend_told(season: Season, tmp_path: Path) -> None:
    """Two looks give a trend; a disease that never raises the question is named as such."""
    early = on("A1", date(2026, 7, 14), "R1") | leaves("common-rust", 4, 0)
    later = on("A1", date(2026, 7, 30), "R2") | leaves("common-rust", 19, 12)
    take(season, tmp_path, early, POLLINATION)
    take(season, tmp_path, later, POLLINATION)
    looked = found(season).leaves
    assert looked is not None
    assert looked.day == date(2026, 7, 30)
    assert looked.trends["common-rust"].told == "above"
    rust = next(one for one in looked.judged if one.disease == "common-rust")
    assert (rust.verdict, rust.reasons) == ("never", ("never-raises",))


def test_lesions_that_nobody_could_name_are_told(season: Season, tmp_path: Path) -> None:
    """An unknown trouble asks for a sample to a plant clinic."""
    day = date(2026, 7, 14)
    take(season, tmp_path, on("A1", day, "R1") | leaves("unknown", 6, 1), POLLINATION)
    looked = found(season).leaves
    assert looked is not None
    assert looked.unknown


def test_the_question_is_weighed_with_the_season_s_own_numbers(
    season: Season, tmp_path: Path
) -> None:
    """Cost over price is the gain that pays; the window is the one of the stage seen."""
    own = replace(
        season.settings,
        price_per_bu=4.5,
        fungicide_cost_per_ac=26.0,
        fungicide_gain_bu_ac=5.8,
        fungicide_gain_sd_bu_ac=6.0,
        fungicide_gain_source="Three years of our own strips",
    )
    season.folder.settings.write_text(settings_text(own), encoding="utf-8")
    again, problems = open_season(season.folder.path)
    assert again is not None, problems
    day = date(2026, 7, 14)
    take(again, tmp_path, on("A1", day, "R1") | leaves("none", 0, 0), POLLINATION)
    weighed = found(again, as_of=day).fungicide
    assert weighed.break_even_bu_ac == pytest.approx(5.8, abs=0.05)  # 26 / 4.50, as printed
    assert weighed.chance == pytest.approx(0.5, abs=0.01)  # mean gain at the break-even
    assert weighed.window is not None
    assert weighed.window.state == "open"
    assert weighed.table is not None
    assert len(weighed.table.break_even_bu_ac) == 3


def test_nothing_is_weighed_without_prices(season: Season) -> None:
    """No cost, no break-even; no trials, no chance."""
    weighed = found(season).fungicide
    assert (weighed.break_even_bu_ac, weighed.chance, weighed.table) == (None, None, None)


def stalks(field_id: str, failed: tuple[int, ...], mouldy: int, mould: str) -> Entries:
    """Try twenty stalks and open twenty ears at each of five stops."""
    entries: Entries = {}
    for stop, failing in enumerate(failed, start=1):
        row: dict[str, EntryValue] = {
            "tried": 20,
            "failed": failing,
            "ears_opened": 20,
            "ears_mouldy": mouldy,
            "mould": mould,
            "bag_ears": 10,
            "bag_grain_lb": 4.1,
            "bag_moisture_pct": 27.0,
        }
        for name, value in row.items():
            entries["stalks", (field_id, stop), name] = value
    return entries


def test_stalks_are_held_against_both_lines(season: Season, tmp_path: Path) -> None:
    """Twelve of a hundred: 7.0 to 19.8 %, which can't be told from 10 % and is under 20 %."""
    entries = on("A1", date(2026, 9, 15), "R6") | stalks("A1", (3, 1, 4, 2, 2), 0, "none")
    take(season, tmp_path, entries, RIPENING)
    ripe = found(season).ripe
    assert ripe is not None
    assert ripe.stalks is not None
    plain = ripe.stalks.share.plain
    assert (round(plain.low_pct, 1), round(plain.high_pct, 1)) == (7.0, 19.8)
    assert [line.side for line in ripe.stalks.lines] == ["cannot-tell", "below"]
    assert ripe.moisture_pct == pytest.approx(27.0)


def test_moulds_are_told_apart_by_their_looks(season: Season, tmp_path: Path) -> None:
    """Olive powder names the fungus that it may be, and the toxin that it may carry."""
    entries = on("A1", date(2026, 9, 15), "R6") | stalks("A1", (0,) * 5, 5, "olive-powder")
    take(season, tmp_path, entries, RIPENING)
    ripe = found(season).ripe
    assert ripe is not None
    assert ripe.mouldy is not None
    assert ripe.mouldy.share.pct == pytest.approx(25.0)
    (seen,) = ripe.moulds
    assert (seen.mould.fungus, seen.mould.toxins, seen.stops) == ("aspergillus", ("aflatoxin",), 5)


def test_the_field_with_failing_stalks_is_harvested_first(season: Season, tmp_path: Path) -> None:
    """Failing stalks go before everything else, and a field not looked at has no turn."""
    book: Entries = on("A1", date(2026, 9, 15), "R6") | stalks("A1", (1,) * 5, 0, "none")
    book |= on("A2", date(2026, 9, 15), "R6") | stalks("A2", (8,) * 5, 0, "none")
    take(season, tmp_path, book, RIPENING)
    results = season_results(season, as_of=AS_OF).fields
    turns = order_of_harvest(results, figures=shipped_figures())
    assert [turn.field_id for turn in turns] == ["A2", "A1"]
    assert turns[0].ahead_by == "stalks"
    assert turns[0].ahead_for_sure


def test_bags_of_grain_give_a_yield_without_a_count(season: Season, tmp_path: Path) -> None:
    """Thirty ears on 1/1000 ac of 0.41 lb at 27 %: 30,000 x 0.41 x 73 / 84.5 / 56 bu/ac."""
    entries = on("A1", date(2026, 9, 15), "R6") | stalks("A1", (0,) * 5, 0, "none")
    entries |= {("stops", ("A1", stop), "ears"): 30 for stop in range(1, 6)}
    take(season, tmp_path, entries, RIPENING)
    result = found(season)
    assert result.weighed is not None
    assert result.weighed.mean_bu_ac == pytest.approx(30_000 * 0.41 * 73 / 84.5 / 56, rel=1e-3)
    assert result.weighed.stops_used == 5
    assert result.methods is None  # nothing was counted


def test_a_milk_line_in_a_book_dates_black_layer(tmp_path: Path) -> None:
    """Dent seen with the line three quarters down is nearer to black layer than with no line."""
    ripe: dict[str, date] = {}
    days = list(daily_weather(date(2020, 1, 1), date(2026, 8, 20), seed="milk"))
    for line in ("none", "three-quarters"):
        season = small_season(tmp_path / line)
        write_safely(season.folder.weather / "home.csv", weather_csv(days).encode())
        day = date(2026, 8, 20)
        entries = on("A1", day, "R5") | {("fields", ("A1",), "milk_line"): line}
        books = tmp_path / f"books {line}"
        books.mkdir()
        take(season, books, entries, KERNEL_COUNT)
        field = found(season, as_of=day)
        black_layer = next(one for one in field.stages if one.stage == "R6")
        assert (black_layer.anchor_stage, black_layer.anchor_date) == ("R5", day)
        assert "milk_line.days_to_next" in field.figures
        assert black_layer.date is not None
        ripe[line] = black_layer.date
    assert ripe["three-quarters"] < ripe["none"]
