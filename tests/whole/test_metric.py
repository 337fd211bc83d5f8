"""A metric season: books, roster and reports in metres and tonnes, the same results underneath."""

import io
import json
import re
import shutil
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from openpyxl import load_workbook
from seasons import NOW, VISIT_DAY, book_plan, good_stop, good_visit, small_season

from fieldbook.check.book import check_book
from fieldbook.cli import main
from fieldbook.results.result import FieldResult
from fieldbook.results.results import season_results
from fieldbook.season.intake import take_in
from fieldbook.season.season import Season
from fieldbook.units import System
from fieldbook.workbook.plan import EntryKey, EntryValue
from fieldbook.workbook.read import read_book
from fieldbook.workbook.write import write_book

# Exact by definition: the international foot, acre and pound; a bushel of corn is 56 lb.
M_PER_FT = 0.3048
HA_PER_AC = 0.40468564224
T_HA_PER_BU_AC = 56 * 0.45359237 / 1000 / HA_PER_AC
KEY_ROW, UNIT_ROW, FIRST_ROW = 1, 4, 5
US_UNITS = re.compile(r"\b(bu/ac|acres?|ac|bushels?|bu|inch(es)?|ft|feet|GDD F|degF)\b")


@pytest.fixture
def metric(tmp_path: Path) -> Season:
    """Make the small season in metric units, on A4."""
    return small_season(tmp_path / "metric", units=System.METRIC)


def taken(season: Season, entries: dict[EntryKey, EntryValue], path: Path) -> FieldResult:
    """Write a filled book, take it in, and return the results of field A1."""
    path.write_bytes(write_book(book_plan(season, full=True, entries={"A1": entries})))
    (only,) = take_in(season, [path], now=NOW)
    assert only.accepted
    assert only.open_problems == ()
    return season_results(season, as_of=NOW.date()).fields[0]


def units_of(sheet: Any) -> dict[str, str | None]:
    """Return the unit beneath each header, by the column's name."""
    names = [cell.value for cell in sheet[KEY_ROW]]
    return {name: sheet.cell(UNIT_ROW, at).value for at, name in enumerate(names, 1) if name}


def test_books_are_labelled_in_metres_and_tonnes(metric: Season) -> None:
    """Units stand beneath the headers, the printed length is 1/1000 ha, areas are hectares."""
    book = load_workbook(io.BytesIO(write_book(book_plan(metric, full=True))))
    assert units_of(book["Stops"])["length_ft"] == "m"
    assert units_of(book["Stops"])["yield_here"] == "t/ha"
    assert units_of(book["Ears"])["ear_length_in"] == "cm"
    names = {cell.value: cell.column for cell in book["Stops"][KEY_ROW] if cell.value}
    measured = [
        book["Stops"].cell(row, names["measure"]).value for row in (FIRST_ROW, FIRST_ROW + 5)
    ]
    # By hand: 10 m2 of row, 30 in = 0.762 m and 20 in = 0.508 m apart.
    assert measured == ["13.12 m", "19.69 m"]
    start = book["Start"]
    assert [start["E13"].value, start["J13"].value] == ["ha", "t/ha"]
    assert start["E14"].value == pytest.approx(80 * HA_PER_AC, abs=0.05)
    texts = [
        str(cell.value)
        for sheet in book
        if sheet.sheet_state == "visible"
        for row in sheet.iter_rows(min_row=2)
        for cell in row
        if isinstance(cell.value, str) and not cell.value.startswith("=")
    ]
    assert [text for text in texts if US_UNITS.search(text)] == []


def test_limits_are_shown_in_metric(metric: Season) -> None:
    """3 to 300 ft are 0.9144 to 91.44 m, 1 to 16 in are 2.54 to 40.64 cm."""
    book = load_workbook(io.BytesIO(write_book(book_plan(metric, full=True))))
    limits = {}
    for title in ("Stops", "Ears"):
        for rule in book[title].data_validations.dataValidation:
            if rule.type == "decimal":
                limits[rule.errorTitle] = (float(rule.formula1), float(rule.formula2), rule.error)
    low, high, said = limits["Length"]
    assert (low, high) == (0.9144, 91.44)
    assert said.startswith("0.915 to 91.4: ")  # the words alone are short
    assert limits["Ear length"][:2] == (2.54, 40.64)


def test_messages_of_limits_are_metric(metric: Season) -> None:
    """No message of a metric book speaks of feet, inches or acres."""
    book = load_workbook(io.BytesIO(write_book(book_plan(metric, full=True))))
    said = [
        f"{rule.error} {rule.prompt}"
        for title in ("Fields", "Stops", "Ears")
        for rule in book[title].data_validations.dataValidation
    ]
    assert [text for text in said if US_UNITS.search(text) or re.search(r"\d in\b", text)] == []


def test_typed_metres_are_stored_as_feet(metric: Season) -> None:
    """What the scout types in metres and centimetres is kept in feet and inches, exactly."""
    entries = {
        **good_visit("A1", pulled=5),
        ("stops", ("A1", 2), "length_ft"): 8 / M_PER_FT,
        ("ears", ("A1", 2, 1), "ear_length_in"): 17.78 / 2.54,
    }
    data = write_book(book_plan(metric, full=True, entries={"A1": entries}))
    read = read_book(data, "metric.xlsx")
    assert read.book is not None
    cells = next(row.cells for row in read.book.sheets["stops"].rows if row.number == FIRST_ROW + 1)
    assert cells["length_ft"].value == pytest.approx(8, rel=1e-12)
    today = NOW.date()
    verdict = check_book(read.book, metric.context({}, today=today, received=today))
    assert verdict.open_problems == ()
    found = {(r.row, r.column): (r.typed, r.value) for r in verdict.readings}
    typed, stored = found[(2,), "length_ft"]
    assert (typed, stored) == ("8", pytest.approx(26.246719, rel=1e-7))
    assert found[(2, 1), "ear_length_in"] == ("17.78", pytest.approx(7, rel=1e-12))


def walked(*, ears_a_stop: tuple[int, ...], length_ft: float | None) -> dict[EntryKey, EntryValue]:
    """Fill A1 with these counts of ears; the ears themselves are the same in both systems."""
    entries: dict[EntryKey, EntryValue] = {
        ("fields", ("A1",), "visit_date"): VISIT_DAY,
        ("fields", ("A1",), "stage"): "R4",
        ("fields", ("A1",), "grain_fill"): "good",
    }
    for stop, ears in enumerate(ears_a_stop, start=1):
        entries |= good_stop("A1", stop, ears=ears, along=30 + stop, pulled=5)
        if ears > 45:
            entries["stops", ("A1", stop), "answer"] = "true"
        if length_ft is not None:
            entries["stops", ("A1", stop), "length_ft"] = length_ft
    return entries


def same_results(one: FieldResult, other: FieldResult, *, rel: float) -> None:
    """Compare every figure that comes from counting."""
    assert one.yield_ is not None
    assert other.yield_ is not None
    for name in ("low_bu_ac", "likely_bu_ac", "high_bu_ac", "counting_half_width_bu_ac"):
        assert getattr(one.yield_, name) == pytest.approx(getattr(other.yield_, name), rel=rel)
    assert one.yield_.interval_95_bu_ac == pytest.approx(other.yield_.interval_95_bu_ac, rel=rel)
    assert one.ears == other.ears
    for here, there in zip(one.stops, other.stops, strict=True):
        assert here.ears_per_ac == pytest.approx(there.ears_per_ac, rel=rel)
        assert here.yield_bu_ac == pytest.approx(there.yield_bu_ac, rel=rel)
        assert here.left_out == there.left_out


def test_the_same_length_measured_gives_the_same_results(metric: Season, tmp_path: Path) -> None:
    """30 ears on a measured 20 ft are 30 ears on 6.096 m: every figure agrees to the last digit."""
    us = small_season(tmp_path / "us")
    entries = walked(ears_a_stop=(34, 31, 29, 36, 33), length_ft=20)
    in_us = taken(us, entries, tmp_path / "us.xlsx")
    in_metric = taken(metric, entries, tmp_path / "metric.xlsx")
    same_results(in_us, in_metric, rel=1e-12)
    # By hand, US: 34 ears on 20 ft of 30-in rows are 34 / (20 x 2.5 / 43,560) an acre.
    assert in_us.stops[0].ears_per_ac == pytest.approx(34 * 43560 / 50)


def test_a_thousandth_of_a_hectare_is_as_good_as_one_of_an_acre(
    metric: Season, tmp_path: Path
) -> None:
    """In one stand, 2.471 times the ears stand on the metric length: the yields agree.

    Counts are whole, so both seasons count a stand whose numbers fit within 0.1 percent:
    17 ears on 1/1000 ac are 42.008 on 1/1000 ha, and so on.
    """
    pairs = {17: 42, 19: 47, 36: 89, 15: 37, 32: 79}
    for acre, hectare in pairs.items():
        assert hectare * HA_PER_AC == pytest.approx(acre, rel=2e-3)
    us = small_season(tmp_path / "us")
    in_us = taken(us, walked(ears_a_stop=tuple(pairs), length_ft=None), tmp_path / "us.xlsx")
    entries = walked(ears_a_stop=tuple(pairs.values()), length_ft=None)
    in_metric = taken(metric, entries, tmp_path / "metric.xlsx")
    for here, there, (acre, hectare) in zip(
        in_us.stops, in_metric.stops, pairs.items(), strict=True
    ):
        assert here.ears_per_ac == pytest.approx(1000 * acre, rel=1e-9)
        assert there.ears_per_ac == pytest.approx(1000 * hectare * HA_PER_AC, rel=1e-9)
    same_results(in_us, in_metric, rel=1e-2)


def test_an_ordinary_stand_is_not_questioned_in_metric(metric: Season) -> None:
    """74 ears and 77 plants on 1/1000 ha are 30,000 and 31,000 an acre: nothing rare."""
    entries: dict[EntryKey, EntryValue] = {
        ("fields", ("A1",), "visit_date"): VISIT_DAY,
        **good_stop("A1", 1, ears=74),
        ("stops", ("A1", 1), "plants"): 77,
    }
    read = read_book(write_book(book_plan(metric, entries={"A1": entries})), "metric.xlsx")
    assert read.book is not None
    today = NOW.date()
    verdict = check_book(read.book, metric.context({}, today=today, received=today))
    assert [found.code for found in verdict.open_problems] == []


def test_the_roster_is_in_metric(metric: Season) -> None:
    """Hectares, centimetres, t/ha and heat in Celsius; read back as the stored US values."""
    sheet = load_workbook(metric.folder.path / "roster.xlsx")["Roster"]
    units = units_of(sheet)
    shown = {name: units[name] for name in ("acres", "row_width_in", "own_average_bu_ac")}
    assert shown == {"acres": "ha", "row_width_in": "cm", "own_average_bu_ac": "t/ha"}
    assert units["silk_gdd_f"] == "GDD C"
    names = {cell.value: cell.column for cell in sheet[KEY_ROW] if cell.value}
    typed = {name: sheet.cell(FIRST_ROW, at).value for name, at in names.items()}
    assert typed["acres"] == pytest.approx(80 * HA_PER_AC)
    assert typed["row_width_in"] == pytest.approx(76.2)
    assert typed["own_average_bu_ac"] == pytest.approx(190 * T_HA_PER_BU_AC)
    assert typed["silk_gdd_f"] == pytest.approx(1330 / 1.8)
    field = metric.roster.fields["A1"]
    assert field.acres == pytest.approx(80)
    assert field.row_width_in == pytest.approx(30)
    assert field.own_average_bu_ac == pytest.approx(190)
    assert field.plantings[0].silk_gdd_f == pytest.approx(1330)


def run(*words: object) -> str:
    """Run a command and return what it says."""
    result = CliRunner().invoke(main, [str(word) for word in words])
    assert result.exit_code == 0, result.output
    return result.output


def test_reports_and_lists_are_metric_and_the_json_keeps_its_keys(
    metric: Season, tmp_path: Path
) -> None:
    """What people read is in t/ha; the JSON's keys name their units, so they stay bu/ac."""
    field = taken(
        metric, walked(ears_a_stop=(34, 31, 29, 36, 33), length_ft=20), tmp_path / "m.xlsx"
    )
    assert field.yield_ is not None
    likely = field.yield_.likely_bu_ac
    folder = metric.folder.path
    listed = run("results", folder, "--as-of", "2026-08-20").splitlines()[0]
    assert f"{likely * T_HA_PER_BU_AC:.1f} t/ha (" in listed
    raw = json.loads(run("results", folder, "--as-of", "2026-08-20", "--json"))
    assert raw["fields"][0]["yield"]["likely_bu_ac"] == pytest.approx(likely, abs=1e-4)
    run("report", folder, "--as-of", "2026-08-20", "--no-pdf", "--field", "A1")
    page = (folder / "reports" / "A1-long-eighty.html").read_text("utf-8")
    words = re.sub(r"<(style|script)\b.*?</\1>", " ", page, flags=re.DOTALL)
    plain = re.sub(r"<[^>]+>", " ", words).replace("\u00a0", " ")
    assert f"{likely * T_HA_PER_BU_AC:.1f}" in plain
    assert "t/ha" in plain
    assert re.search(r"\b32(\.4)? ha\b", plain)
    told, published = plain.split("Figures used, and where they come from")
    assert not US_UNITS.search(told)
    assert "thousand kernels a bushel" in published  # a published figure stays as it was printed


def test_a_us_book_is_refused_nowhere_and_read_in_its_own_units(
    metric: Season, tmp_path: Path
) -> None:
    """A book remembers the units it was printed in, also when the season has changed since."""
    us = small_season(tmp_path / "us")
    entries = walked(ears_a_stop=(34, 31, 29, 36, 33), length_ft=20)
    path = tmp_path / "us.xlsx"
    path.write_bytes(write_book(book_plan(us, full=True, entries={"A1": entries})))
    in_us = taken(us, entries, Path(shutil.copy(path, tmp_path / "copy.xlsx")))
    assert us.settings.season_id == metric.settings.season_id
    (only,) = take_in(metric, [path], now=NOW)
    assert only.accepted
    in_metric = season_results(metric, as_of=NOW.date()).fields[0]
    same_results(in_us, in_metric, rel=1e-12)


def test_new_makes_a_metric_season_on_a4(tmp_path: Path) -> None:
    """`new --units metric`: A4 paper, weather in Celsius, a roster in hectares."""
    folder = tmp_path / "s"
    run("new", folder, "--year", 2026, "--units", "metric")
    text = (folder / "season.toml").read_text("utf-8")
    assert re.search(r'^paper = "a4"$', text, re.MULTILINE)
    assert len(re.findall(r'^units = "metric"$', text, re.MULTILINE)) >= 1
    sheet = load_workbook(folder / "roster.xlsx")["Roster"]
    assert units_of(sheet)["acres"] == "ha"
    assert int(sheet.page_setup.paperSize) == 9


def test_units_in_the_pattern_are_found() -> None:
    """The search for left-over US units finds them, and finds none in metric words."""
    assert US_UNITS.findall("190 bu/ac on 80 acres, 17 ft, 1/1000 ac")
    assert not US_UNITS.search("12 t/ha on 32 ha, 13.12 m, each place in a face, GDD C")
