"""The tables that leave a season: the same in the workbook, CSV and Parquet, and all explained."""

import io
import json
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
import sqlalchemy as sa
from click.testing import CliRunner
from harvested import ACRES, CUT, Plot, cut, season_of
from openpyxl import load_workbook
from seasons import NOW, ROWS, VISIT_DAY, good_visit, small_season, write_filled

from fieldbook.check.verdict import USABLE
from fieldbook.cli import main
from fieldbook.export.export import DICTIONARY, EVERY, SeasonTables, season_tables
from fieldbook.export.files import Format, csv_bytes, harmless, parquet_bytes, write_files
from fieldbook.export.results_book import results_book
from fieldbook.forms.rounds import HARVEST, ROADSIDE
from fieldbook.ledger.ledger import Ledger
from fieldbook.ledger.names import ledger_sheets
from fieldbook.ledger.tables import READINGS
from fieldbook.problems import line, problem
from fieldbook.results.results import season_results
from fieldbook.schema import Kind
from fieldbook.season.intake import take_in
from fieldbook.season.season import Season, open_season
from fieldbook.units import System
from fieldbook.workbook.roster import write_roster

AS_OF = NOW.date()
REMARK = "=HYPERLINK(1)"
TABLES = (
    *("fields", "plantings", "stages", "visits", "stops", "ears", "leaves", "stalks"),
    *("harvest", "photos", "questions", "figures", "dictionary"),
)


def tables_of(season: Season, as_of: date = AS_OF) -> SeasonTables:
    """Make the tables of a season."""
    return season_tables(season, season_results(season, as_of=as_of), as_of=as_of)


def walk(season: Season, path: Path) -> None:
    """Take in a count with a question, a bare cob, a measured length and a sly remark."""
    entries = good_visit("A1") | {
        ("stops", ("A1", 2), "remark"): REMARK,
        ("stops", ("A1", 2), "length_ft"): 17.5,
        ("stops", ("A1", 3), "place"): "end-rows",
        ("ears", ("A1", 1, 1), "rows_around"): 15,
        ("ears", ("A1", 1, 2), "bare_cob"): "yes",
        ("ears", ("A1", 1, 2), "rows_around"): None,
        ("ears", ("A1", 1, 2), "kernels_set"): None,
    }
    list(take_in(season, [write_filled(path, season, entries, full=True)], now=NOW))


@pytest.fixture
def walked(season: Season, tmp_path: Path) -> Season:
    """Make the small season with one visit taken in."""
    walk(season, tmp_path / "count.xlsx")
    return season


def sheets_of(found: SeasonTables, season: Season) -> Any:
    """Write the workbook and read it back."""
    made = results_book(found, season.settings, as_of=AS_OF)
    return load_workbook(io.BytesIO(made))


def cells(sheet: Any) -> list[dict[str, Any]]:
    """Return a sheet's rows by their heads; a table without rows has one empty row."""
    heads, *rows = sheet.iter_rows(values_only=True)
    return [dict(zip(heads, row, strict=True)) for row in rows if any(v is not None for v in row)]


# ---- the frames ---------------------------------------------------------------------------------


def test_every_reading_that_counts_stands_in_one_cell(walked: Season) -> None:
    """Used readings of the ledger and filled cells of the tables are the same, one for one."""
    with Ledger(walked.folder) as ledger:
        rows = ledger.rows(sa.select(READINGS).where(READINGS.c.replaced_by.is_(None)))
    usable = {
        (row["visit_id"], row["sheet"], row["row"], row["name"]): json.loads(row["value"])
        for row in rows
        if row["status"] in USABLE
    }
    found, shown = tables_of(walked), {}
    for sheet in ledger_sheets():
        table = found.table("visits" if sheet.name == "fields" else sheet.name)
        frame, names = table.frame, {one.name: one.name_in(System.US) for one in table.columns}
        keys = [key.name for key in sheet.keys if key.name != "field_id"]
        for _, row in frame.iterrows():
            at = ", ".join(str(row[key]) for key in keys)
            for column in sheet.entries:
                value = row[names[column.name]]
                if pd.notna(value):
                    shown[row["visit_id"], sheet.name, at, column.name] = value
    assert len(usable) > 80
    assert shown.keys() == usable.keys()
    assert ("A1.KC1", "ears", "1, 1", "rows_around") not in shown  # refused: 15 rows
    assert shown["A1.KC1", "stops", "2", "length_ft"] == 17.5
    assert bool(shown["A1.KC1", "ears", "1, 2", "bare_cob"]) is True
    assert shown["A1.KC1", "stops", "3", "place"] == "end-rows"
    for key in (key for key, value in usable.items() if isinstance(value, int)):
        assert shown[key] == usable[key]


def test_rows_say_who_read_them_and_when(walked: Season) -> None:
    """Each row of a visit names the visit, its day and the scout; a visit names its file too."""
    found = tables_of(walked)
    for name in ("stops", "ears"):
        frame = found.table(name).frame
        assert set(frame["visit_id"]) == {"A1.KC1"}
        assert set(frame["read_by"]) == {"Ana"}
        assert set(frame["visit_date"]) == {pd.Timestamp(VISIT_DAY)}
    (visit,) = found.table("visits").frame.to_dict("records")
    assert (visit["file"], visit["taken_in"]) == ("count.xlsx", pd.Timestamp(AS_OF))


def test_worked_out_columns_say_what_the_json_says(walked: Season) -> None:
    """Every column that names a key holds the value under that key."""
    found = tables_of(walked)
    said = CliRunner().invoke(
        main, ["results", str(walked.folder.path), "--json", "--as-of", AS_OF.isoformat()]
    )
    (record, *_) = json.loads(said.output)["fields"]
    table = found.table("fields")
    row, compared = table.frame[table.frame["field_id"] == "A1"].iloc[0], 0
    for column in table.columns:
        if not column.json_key:
            continue
        value: Any = record
        for step in column.json_key.split("."):
            value = value and (value[int(step)] if isinstance(value, list) else value[step])
        value = len(value) if isinstance(value, list) else value
        shown = row[column.name_in(System.US)]
        if value is None:
            assert pd.isna(shown), column.name
        else:
            assert (shown.date().isoformat() if column.kind is Kind.DAY else shown) == value
            compared += 1
    assert compared > 25
    assert row["yield_low_bu_ac"] < row["yield_likely_bu_ac"] < row["yield_high_bu_ac"]


def test_choices_are_all_declared(walked: Season) -> None:
    """No list holds a value that its column does not explain."""
    for table in tables_of(walked).tables:
        for column in table.columns:
            if column.choices:
                held = set(table.frame[column.name_in(System.US)].dropna())
                assert held <= {one.key for one in column.choices}, column.name


def test_questions_stand_with_their_state(walked: Season) -> None:
    """The refused ear is an open error with its place; what the results say has no state."""
    frame = tables_of(walked).table("questions").frame
    asked = frame[frame["code"] == "rows-odd"].to_dict("records")
    assert [(one["state"], one["weight"], one["column"]) for one in asked] == [
        ("open", "error", "Rows around")
    ]
    assert set(frame[frame["state"].isna()]["weight"]) == {"note"}


def test_the_summary_counts_open_questions_as_the_board_does(
    season: Season, tmp_path: Path
) -> None:
    """Notes are open in the table too, and no question."""
    odd = {("ears", ("A1", 1, 1), "rows_around"): 15, ("ears", ("A1", 1, 2), "kernels_set"): None}
    path = write_filled(tmp_path / "b.xlsx", season, good_visit("A1") | odd, full=True)
    list(take_in(season, [path], now=NOW))
    found = tables_of(season)
    frame = found.table("questions").frame
    open_ = frame[frame["state"] == "open"]
    assert "note" in set(open_["weight"])
    asked = sum(len(one.questions) for one in season_results(season, as_of=AS_OF).fields)
    assert 0 < asked < len(open_)
    summary = "\n".join(
        str(cell.value) for (cell, *_) in sheets_of(found, season)["Summary"].iter_rows()
    )
    said = "One question is open." if asked == 1 else f"{asked} questions are open."
    assert said in summary


def test_figures_used_have_value_unit_kind_and_source(walked: Season) -> None:
    """One row a number; a published figure names its source."""
    frame = tables_of(walked).table("figures").frame
    assert {"bushel.weight_lb", "kernels.average_thousand_per_bu"} <= set(frame["key"])
    (bushel,) = frame[frame["key"] == "bushel.weight_lb"].to_dict("records")
    assert (bushel["value"], bushel["unit"], bushel["kind"]) == (56.0, "lb", "published")
    assert "https://" in bushel["sources"]
    parts = frame[frame["key"] == "kernels.average_thousand_per_bu"]["part"]
    assert list(parts) == list(range(1, len(parts) + 1))
    assert frame[frame["kind"] == "published"]["sources"].notna().all()


def test_a_later_visit_is_left_out(walked: Season) -> None:
    """Tables speak of a day as the results do."""
    found = tables_of(walked, date(2026, 8, 1))
    assert [len(found.table(name).frame) for name in ("visits", "stops", "ears")] == [0, 0, 0]
    assert "open" not in set(found.table("questions").frame["state"].dropna())


# ---- the dictionary -----------------------------------------------------------------------------


@pytest.mark.parametrize("units", list(System))
def test_the_dictionary_has_every_column_once_and_no_other(tmp_path: Path, units: System) -> None:
    """Names and heads of all tables, the dictionary's own too, each with a meaning."""
    season = small_season(tmp_path / "s", units=units)
    found = tables_of(season)
    assert tuple(table.name for table in found.tables) == TABLES
    words = found.table(DICTIONARY).frame
    rule, words = words[words["table"] == EVERY], words[words["table"] != EVERY]
    assert "= + - @" in rule["meaning"].item()
    book = sheets_of(found, season)
    files = [(table.name, name) for table in found.tables for name in table.frame.columns]
    heads = [
        (sheet.title, cell.value) for sheet in book for cell in sheet[1] if sheet.title != "Summary"
    ]
    assert list(zip(words["table"], words["name"], strict=True)) == files
    assert list(zip(words["sheet"], words["head"], strict=True)) == heads
    assert len(set(files)) == len(files)
    assert len({(sheet, head.lower()) for sheet, head in heads}) == len(heads)
    assert words["meaning"].str.len().gt(3).all()


def test_the_dictionary_tells_limits_choices_and_keys(season: Season) -> None:
    """What a book declares and where the JSON has a figure stand in the reader's words."""
    words = tables_of(season).table(DICTIONARY).frame.set_index(["table", "name"])
    assert words.loc[("ears", "rows_around"), "limits"] == "4 to 40; usually 10 to 22"
    assert "end-rows = End rows" in words.loc[("stops", "place"), "choices"]
    assert words.loc[("ears", "ear_length_in"), "unit"] == "in"
    assert words.loc[("fields", "yield_low_bu_ac"), "json_key"] == "yield.range_bu_ac.0"


# ---- three ways to write ------------------------------------------------------------------------


def test_the_workbook_keeps_types(walked: Season) -> None:
    """Numbers, dates, yes and no and texts come back as such; lists as their labels."""
    book = sheets_of(tables_of(walked), walked)
    stops, ears, visits = (cells(book[name]) for name in ("Stops", "Ears", "Visits"))
    assert [stop["Ears"] for stop in stops] == [29, 30, 31, 32, 33]
    assert stops[1]["Length (ft)"] == 17.5
    assert stops[1]["Remark"] == REMARK
    assert stops[2]["Place"] == "End rows"
    assert stops[2]["Left out"] == "End rows"
    assert stops[0]["Visit date"] == datetime(2026, 8, 12)
    assert ears[1]["Bare cob"] is True
    assert ears[0]["Rows around"] is None
    assert (visits[0]["Round"], visits[0]["Stage"]) == ("Kernel count", "R4 dough")
    at = [cell.value for cell in book["Stops"][1]].index("Remark")
    assert book["Stops"][3][at].data_type == "s"


def test_every_sheet_is_a_native_table(walked: Season) -> None:
    """It can be filtered, its head stays in sight, and its range is the data's."""
    found = tables_of(walked)
    book = sheets_of(found, walked)
    for table, sheet in zip(found.tables, book.worksheets[1:], strict=True):
        (native,) = sheet.tables.values()
        assert native.name == f"t_{table.name}"
        assert native.autoFilter.ref == native.ref
        rows, columns = table.frame.shape
        assert native.ref == f"A1:{sheet.cell(1 + max(rows, 1), columns).coordinate}"
        assert [one.name for one in native.tableColumns] == [cell.value for cell in sheet[1]]
        assert sheet.freeze_panes == "B2"


def test_the_summary_has_pictures_of_its_own_figures(walked: Season) -> None:
    """Three charts, each drawn from cells beneath it that hold what the tables say."""
    found = tables_of(walked)
    sheet = sheets_of(found, walked)["Summary"]
    assert len(sheet._charts) == 3
    rows = list(sheet.iter_rows(values_only=True))
    (shown,) = [row for row in rows if row[0] == "A1"]
    fields = found.table("fields").frame.set_index("field_id")
    names = ("yield_high_bu_ac", "yield_low_bu_ac", "yield_likely_bu_ac", "kernel_set_pct")
    assert shown[3:7] == tuple(fields.loc["A1", name] for name in names)
    assert any(str(row[0]).startswith("Fields: 3; visits taken in: 1;") for row in rows)


def test_csv_comes_back_as_it_was(walked: Season, tmp_path: Path) -> None:
    """UTF-8, one header, LF, ISO dates, true; texts lose their ' and are the ledger's again."""
    found = tables_of(walked)
    paths = list(write_files(found, tmp_path / "csv", Format.CSV, System.US, "en"))
    assert [path.stem for path in paths] == list(TABLES)
    for path, table in zip(paths, found.tables, strict=True):
        raw = path.read_bytes()
        assert raw.endswith(b"\n")
        assert b"\r" not in raw
        back = pd.read_csv(path, dtype=str, keep_default_na=False)
        assert list(back.columns) == list(table.frame.columns)
        assert len(back) == len(table.frame)
        for column in table.columns:
            name = column.name_in(System.US)
            if column.kind is Kind.TEXT:
                texts = back[name].map(lambda text: text.removeprefix("'"))
                assert list(texts) == list(table.frame[name].fillna(""))
            elif column.kind in (Kind.WHOLE, Kind.NUMBER):
                numbers = pd.to_numeric(back[name]).astype("Float64")
                assert numbers.equals(table.frame[name].astype("Float64"))
    stops = pd.read_csv(tmp_path / "csv" / "stops.csv", dtype=str, keep_default_na=False)
    assert stops["visit_date"][0] == "2026-08-12"
    assert stops["remark"][1] == f"'{REMARK}"
    ears = pd.read_csv(tmp_path / "csv" / "ears.csv", dtype=str, keep_default_na=False)
    assert ears["bare_cob"][1] == "true"


@pytest.mark.parametrize(
    "text",
    ["=1+1", "+1", "-2", "@SUM(A1)", "\tx", "\r=1", "  =1", "'=1", "\uff1d1", "\x01", " \n-x"],
)
def test_a_text_that_could_be_a_formula_is_made_harmless(text: str) -> None:
    """One ' stands before it, and taking one away gives the text back."""
    assert harmless(text) == f"'{text}"


@pytest.mark.parametrize("text", ["", "two - three", "a=b", "R4", "10-22", "Ana's"])
def test_other_texts_stand_as_they_are(text: str) -> None:
    """A sign inside a text is only a sign."""
    assert harmless(text) == text


def test_numbers_below_zero_stay_numbers_in_csv(walked: Season) -> None:
    """A western longitude keeps its minus and gets no mark."""
    lines = csv_bytes(tables_of(walked).table("fields"), System.US).decode("utf-8").splitlines()
    assert ",-93.5," in lines[1]


def test_parquet_keeps_types_and_words(walked: Season) -> None:
    """Whole numbers, numbers, days, yes or no and texts have types of their own, and meanings."""
    pq = pytest.importorskip("pyarrow.parquet")
    found = tables_of(walked)
    for table in found.tables:
        made = pq.read_table(io.BytesIO(parquet_bytes(table, System.US, "en")))
        types = {
            Kind.WHOLE: "int64",
            Kind.NUMBER: "double",
            Kind.DAY: "date32[day]",
            Kind.TICK: "bool",
        }
        for column in table.columns:
            entry = made.schema.field(column.name_in(System.US))
            assert str(entry.type) == types.get(column.kind, "string"), column.name
            assert entry.metadata[b"meaning"].decode() == column.meaning
    stops = pq.read_table(io.BytesIO(parquet_bytes(found.table("stops"), System.US, "en")))
    assert stops["remark"][1].as_py() == REMARK
    assert stops["visit_date"][0].as_py() == VISIT_DAY
    assert stops["ears"].to_pylist() == [29, 30, 31, 32, 33]


def test_the_same_season_is_the_same_bytes(walked: Season) -> None:
    """No clock and no chance goes into any file."""
    first, second = tables_of(walked), tables_of(walked)
    books = [results_book(one, walked.settings, as_of=AS_OF) for one in (first, second)]
    assert books[0] == books[1]
    for one, other in zip(first.tables, second.tables, strict=True):
        assert csv_bytes(one, System.US) == csv_bytes(other, System.US)


# ---- other seasons ------------------------------------------------------------------------------


def test_a_metric_season_has_metric_columns(tmp_path: Path) -> None:
    """Names, heads, units and values are metric; the file of the same book says so too."""
    season = small_season(tmp_path / "m", units=System.METRIC)
    walk(season, tmp_path / "m.xlsx")
    found = tables_of(season)
    fields, stops = found.table("fields").frame, found.table("stops").frame
    assert fields["area_ha"][0] == pytest.approx(80 * 0.40468564224, abs=1e-6)
    assert fields["row_width_cm"][0] == pytest.approx(76.2)
    record = season_results(season, as_of=AS_OF).fields[0]
    assert record.yield_ is not None
    t_ha = record.yield_.likely_bu_ac * 56 * 0.45359237 / 0.40468564224 / 1000
    assert fields["yield_likely_t_ha"][0] == pytest.approx(t_ha, abs=1e-4)
    assert stops["length_m"][1] == pytest.approx(17.5 * 0.3048)
    names = [name for table in found.tables for name in table.frame.columns]
    us = ("_in", "_ft", "_ac", "_bu", "_lb", "_gdd_f")
    kept = {"taken_in"}
    assert [name for name in names if name.endswith(us) and name not in kept] == []
    assert "Yield likely (t/ha)" in [cell.value for cell in sheets_of(found, season)["Fields"][1]]


def test_an_empty_season_has_empty_tables(season: Season) -> None:
    """Before any visit all tables are there; the workbook opens and draws no yield."""
    found = tables_of(season)
    assert [len(found.table(name).frame) for name in ("fields", "visits", "ears")] == [3, 0, 0]
    assert str(found.table("ears").frame["rows_around"].dtype) == "Int64"
    book = sheets_of(found, season)
    assert cells(book["Ears"]) == []
    assert list(book["Ears"].tables) == ["t_ears"]
    csv = csv_bytes(found.table("ears"), System.US).decode("utf-8")
    assert csv.count("\n") == 1


def test_a_season_with_one_round_has_only_its_rows(season: Season, tmp_path: Path) -> None:
    """A roadside look fills the visits and leaves counts, stops and ears empty."""
    entries = {
        ("fields", ("A1",), "visit_date"): date(2026, 7, 10),
        ("fields", ("A1",), "stage"): "VT",
        ("fields", ("A1",), "silked"): 3,
    }
    path = write_filled(tmp_path / "road.xlsx", season, entries, round_=ROADSIDE)
    list(take_in(season, [path], now=NOW))
    found = tables_of(season)
    (visit,) = found.table("visits").frame.to_dict("records")
    assert (visit["round"], visit["stage"], visit["silked"]) == ("roadside", "VT", 3)
    assert len(found.table("stops").frame) == 0
    assert found.table("fields").frame["yield_likely_bu_ac"].isna().all()
    assert cells(sheets_of(found, season)["Visits"])[0]["Silked (of 20)"] == 3


def test_loads_of_the_harvest_are_a_table(season: Season, tmp_path: Path) -> None:
    """Tickets stay texts; weights are as wet as they came."""
    entries = {
        ("fields", ("A1",), "visit_date"): date(2026, 8, 19),
        ("harvest", ("A1", 1), "ticket"): "00417",
        ("harvest", ("A1", 1), "wet_lb"): 52000,
        ("harvest", ("A1", 1), "moisture_pct"): 18.5,
    }
    path = write_filled(tmp_path / "cut.xlsx", season, entries, round_=HARVEST)
    list(take_in(season, [path], now=NOW))
    (load,) = cells(sheets_of(tables_of(season), season)["Harvest"])
    assert (load["Ticket"], load["Net weight (lb)"], load["Moisture (%)"]) == ("00417", 52000, 18.5)


def test_what_came_over_the_scale_stands_beside_the_estimate(tmp_path: Path) -> None:
    """Harvested yield, area, day and moisture of a field; nothing for one that still stands."""
    plots = [Plot(field_id="A1", bu_ac=180, trial=None), Plot(field_id="B2", trial=None)]
    season = season_of(tmp_path / "season", plots)
    cut(season, plots)
    row, other = tables_of(season, date(2026, 11, 20)).table("fields").frame.to_dict("records")
    assert row["harvested_bu_ac"] == pytest.approx(180)
    assert (row["harvested_area_ac"], row["harvested_moisture_pct"]) == (ACRES, 20)
    assert row["harvested_on"] == pd.Timestamp(2026, *CUT)
    assert all(pd.isna(other[name]) for name in other if name.startswith("harvested"))


def test_a_field_that_the_roster_lost_keeps_its_readings(walked: Season) -> None:
    """Its rows stay, without names, so that no accepted reading is dropped."""
    before = tables_of(walked).table("ears").frame
    roster = write_roster(ROWS[1:], year=2026, units=System.US, language="en", paper="letter")
    (walked.folder.path / "roster.xlsx").write_bytes(roster)
    season, _ = open_season(walked.folder.path)
    assert season is not None
    found = tables_of(season)
    assert list(found.table("fields").frame["field_id"]) == ["A2", "B7"]
    ears = found.table("ears").frame
    assert list(ears["kernels_set"].dropna()) == list(before["kernels_set"].dropna())
    assert len(ears) == len(before) > 0
    assert ears["grower"].isna().all()


# ---- the command --------------------------------------------------------------------------------


def run(*words: object) -> Any:
    """Run the command in this process."""
    return CliRunner().invoke(main, ["results", *map(str, words), "--as-of", AS_OF.isoformat()])


def test_the_command_writes_a_workbook_and_files(walked: Season, tmp_path: Path) -> None:
    """Both go among the reports, or where --to says, and each path is named."""
    folder = walked.folder.path
    said = run(folder, "--book", "--export", "csv")
    assert said.exit_code == 1  # a question is open
    assert (folder / "reports" / "results.xlsx").is_file()
    made = sorted(path.name for path in (folder / "reports" / "tables").iterdir())
    assert made == sorted(f"{name}.csv" for name in TABLES)
    assert said.output.count(".csv\n") == len(TABLES)
    run(folder, "--book", "--to", tmp_path / "else")
    assert (tmp_path / "else" / "results.xlsx").is_file()
    silent = run(folder, "--json", "--book")
    assert json.loads(silent.stdout)["fields"]
    assert "results.xlsx" in silent.stderr


def test_parquet_comes_with_the_dictionary(walked: Season) -> None:
    """Tables are Parquet; the dictionary beside them is CSV that anybody can read."""
    pytest.importorskip("pyarrow")
    run(walked.folder.path, "--export", "parquet")
    made = {path.name for path in (walked.folder.reports / "tables").iterdir()}
    assert made == {f"{name}.parquet" for name in TABLES[:-1]} | {"dictionary.csv"}


def test_without_its_library_parquet_is_refused(
    walked: Season, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The message says what to install; nothing is written."""
    monkeypatch.setattr("fieldbook.export.files.find_spec", lambda _: None)
    said = run(walked.folder.path, "--export", "parquet")
    assert said.exit_code == 2
    assert said.output == line(problem("parquet-missing")) + "\n"
    assert not (walked.folder.reports / "tables").exists()


def test_a_place_without_anything_to_write_is_wrong_use(season: Season, tmp_path: Path) -> None:
    """--to alone is refused."""
    said = run(season.folder.path, "--to", tmp_path)
    assert said.exit_code == 2
    assert "--book or --export" in said.output
