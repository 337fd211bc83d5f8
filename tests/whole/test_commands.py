"""The commands as a person uses them: a season from `new` to `report`, and every way to go wrong.

Most run in this process; what depends on a fresh one (encodings, pipes) is started for real.
"""

import errno
import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from addresses import Addresses
from click.testing import CliRunner, Result
from openpyxl import load_workbook
from parts import need, pango_missing
from seasons import ROWS, VISIT_DAY, good_visit, small_season, write_filled

from fieldbook.cli import main
from fieldbook.simulate.weather import daily_weather, weather_csv
from fieldbook.units import System
from fieldbook.workbook.roster import write_roster

CLEAN, LOOK, USE = 0, 1, 2
AS_OF = "2026-08-20"
COMMANDS = (
    *("new", "plan", "blank", "intake", "check", "ask", "history", "results", "report"),
    *("board", "compare", "settle", "rebuild", "decide", "doctor", "demo"),
    *("letters", "watch"),
)


def run(*words: object, code: int | None = None) -> Result:
    """Run one command in this process; whatever happens, never with a traceback."""
    result = CliRunner().invoke(main, [str(word) for word in words])
    fault = result.exception
    assert fault is None or isinstance(fault, SystemExit), repr(fault)
    assert "Traceback" not in result.output
    if code is not None:
        assert result.exit_code == code, result.output
    return result


def one_line(result: Result) -> str:
    """Return the only line that a refused command says."""
    lines = [line for line in result.output.splitlines() if line.strip()]
    assert len(lines) == 1, result.output
    return lines[0]


def silkbook(*words: str, **env: str) -> subprocess.CompletedProcess[bytes]:
    """Run one command in a process of its own."""
    start = "from fieldbook.cli import main; main(prog_name='silkbook')"
    return subprocess.run(
        [sys.executable, "-c", start, *words],
        env={**os.environ, **env},
        capture_output=True,
        check=False,
        timeout=60,
    )


def files_of(folder: Path) -> dict[str, tuple[bytes, int] | None]:
    """Return every path below a folder, with the bytes and the time of each file."""
    return {
        str(path.relative_to(folder)): (path.read_bytes(), path.stat().st_mtime_ns)
        if path.is_file()
        else None
        for path in folder.rglob("*")
        if path.name != ".lock"
    }


def fill(blank: Path, filled: Path, *, rows_around: int = 16) -> None:
    """Fill field A1 as another spreadsheet program would: load, type, save."""
    at, book = Addresses.of(blank), load_workbook(blank)
    fields, stops, ears = book["Fields"], book["Stops"], book["Ears"]
    fields[at.cell("Fields", ("A1",), "Visit date")] = VISIT_DAY
    fields[at.cell("Fields", ("A1",), "Stage")] = "R4 dough"
    fields[at.cell("Fields", ("A1",), "Grain fill")] = "Good"
    for stop in range(1, 6):
        stops[at.cell("Stops", ("A1", stop), "Ears")] = 28 + stop
        for ear in range(1, 4):
            key = ("A1", stop, ear)
            ears[at.cell("Ears", key, "Rows around")] = rows_around
            ears[at.cell("Ears", key, "Kernels in row")] = 32 + stop + ear
            ears[at.cell("Ears", key, "Tip bare")] = ear
            ears[at.cell("Ears", key, "Tip shrunken")] = 1
            ears[at.cell("Ears", key, "No other gaps")] = "Yes"
    book.save(filled)


@pytest.fixture(scope="module")
def walked(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """Go through a whole season with the commands alone; keep what each one said."""
    folder = tmp_path_factory.mktemp("walk") / "season-2026"
    said = {"new": run("new", folder, "--year", 2026, "--name", "North 2026", code=CLEAN)}
    rows = [replace(row, scout="scout1", station="home") for row in ROWS]
    roster = write_roster(rows, year=2026, units=System.US, language="en", paper="letter")
    (folder / "roster.xlsx").write_bytes(roster)
    days = daily_weather(date(2021, 1, 1), date(2026, 8, 20), seed="commands")
    (folder / "weather" / "home.csv").write_text(weather_csv(days), "utf-8")
    said["blank"] = run("blank", folder, "--round", "kernel-count", code=CLEAN)
    fill(folder / "blank" / "kernel-count" / "scout1.xlsx", folder / "incoming" / "back.xlsx")
    said["intake"] = run("intake", "--season", folder, "--as-of", AS_OF, code=CLEAN)
    said["results"] = run("results", folder, "--as-of", AS_OF, code=CLEAN)
    said["json"] = run("results", folder, "--json", "--as-of", AS_OF, code=CLEAN)
    said["report"] = run("report", folder, "--no-pdf", "--as-of", AS_OF, code=CLEAN)
    return {"folder": folder, **said}


@pytest.fixture
def copied(walked: dict[str, Any], tmp_path: Path) -> Path:
    """Copy the walked season, to be spoiled."""
    return Path(shutil.copytree(walked["folder"], tmp_path / "copy"))


# ---- the whole way ------------------------------------------------------------------------------


def test_a_season_goes_from_new_to_report(walked: dict[str, Any]) -> None:
    """Every step is clean, says what it did, and leaves its files where the README says."""
    folder = walked["folder"]
    assert "silkbook blank" in walked["new"].output
    assert "scout1.xlsx  A1, A2, B7" in walked["blank"].output
    assert walked["intake"].output.splitlines()[0] == "back.xlsx: taken in: A1.KC1"
    assert re.search(r"A1 .* \d+ bu/ac \(\d+ to \d+\)", walked["results"].output)
    assert re.search(r"A2 .* not counted yet", walked["results"].output)
    pages = sorted(path.name for path in (folder / "reports").iterdir())
    fields = ["A1-long-eighty.html", "A2-short-forty.html", "B7-behind-the-barn.html"]
    growers = ["letter.G1.oda-fenwick.html", "packet.G1.oda-fenwick.html"]
    assert {*fields, *growers, "board.html", ".made.json"} <= {*pages}
    assert [name for name in pages if name.startswith("packet.G2.tamar")]
    assert [path.name for path in (folder / "incoming").rglob("*.xlsx")] == ["back.xlsx"]
    assert (folder / "incoming" / "taken" / "back.xlsx").is_file()
    assert len(list((folder / "kept" / "originals").iterdir())) == 1


def test_the_board_is_written_alone_and_leads_only_to_reports_that_are_there(copied: Path) -> None:
    """Nothing else is written; a field without a report is a name without a link."""
    for page in (copied / "reports").iterdir():
        page.unlink()
    run("report", copied, "--no-pdf", "--field", "A1", "--as-of", AS_OF, code=CLEAN)
    said = run("board", copied, "--as-of", AS_OF, code=CLEAN)
    assert one_line(said) == str(copied / "reports" / "board.html")
    pages = sorted(path.name for path in (copied / "reports").iterdir())
    assert pages == [".made.json", "A1-long-eighty.html", "board.html"]
    html = (copied / "reports" / "board.html").read_text("utf-8")
    assert re.findall(r'href="([^"]*)"', html) == ["#fields", "A1-long-eighty.html"]
    assert "Short forty" in html


def test_the_board_follows_the_plan(copied: Path) -> None:
    """A walk that the plan gives a day stands with it on the board."""
    planned = json.loads(
        run("plan", copied, "--no-pdf", "--json", "--as-of", AS_OF, "--days", 60).output
    )
    days = {one["field"]: one["day"] for one in planned["rounds"] if one["day"]}
    assert days
    run("board", copied, "--as-of", AS_OF)
    html = (copied / "reports" / "board.html").read_text("utf-8")
    assert html.count(">planned ") == len(days)


def test_results_as_json_hold_every_promised_key(walked: dict[str, Any]) -> None:
    """A counted field has a value under every key; one that was not walked has the keys as well."""
    found = json.loads(walked["json"].output)
    assert (found["schema_version"], found["as_of"]) == (1, AS_OF)
    first, second, third = found["fields"]
    assert [field["id"] for field in found["fields"]] == ["A1", "A2", "B7"]
    assert [visit["id"] for visit in first["visits"]] == ["A1.KC1"]
    yield_ = first["yield"]
    assert yield_["low_bu_ac"] < yield_["likely_bu_ac"] < yield_["high_bu_ac"]
    low, high = yield_["interval_95_bu_ac"]
    assert low < yield_["likely_bu_ac"] < high
    assert (yield_["stops_used"], yield_["stops_left_out"]) == (5, 0)
    # By hand: 16 rows x mean of 32 + stop + ear = 37 kernels; the ticked ears show 40 places.
    assert first["kernels_per_ear"] == pytest.approx(16 * 37)
    assert first["kernel_set_pct"] == pytest.approx(
        100 * sum((32 + s + e) / (33 + s + 2 * e) for s in range(1, 6) for e in range(1, 4)) / 15,
        abs=1e-3,
    )
    rings = {"base": 0, "inside": 0, "tip_unset": 2, "tip_aborted": 1}
    assert first["loss_rings"] == pytest.approx(rings)
    assert 2000 < first["gdd_since_planting_f"] < 3000
    assert {stage["stage"] for stage in first["stages"]} >= {"R5", "R6"}
    for stage in first["stages"]:
        assert stage.keys() >= {"stage", "date", "earliest", "latest", "basis"}
        assert stage["basis"]
        if stage["date"] and not stage["passed"]:
            assert stage["earliest"] <= stage["date"] <= stage["latest"]
    assert second.keys() == first.keys() == third.keys()
    assert (second["visits"], second["yield"], second["kernels_per_ear"]) == ([], None, None)
    assert second["loss_rings"] == dict.fromkeys(rings)


def test_likely_yield_is_the_one_worked_by_hand(walked: dict[str, Any]) -> None:
    """Ears per 1/1000 ac x kernels an ear / thousand kernels a bushel, averaged over the stops."""
    first = json.loads(walked["json"].output)["fields"][0]
    _, likely, _ = first["yield"]["thousand_kernels_per_bu"]
    stops = [(28 + stop) * 16 * (34 + stop) / likely for stop in range(1, 6)]
    assert first["yield"]["likely_bu_ac"] == pytest.approx(sum(stops) / 5, rel=1e-4)
    assert [stop["yield_bu_ac"] for stop in first["stops"]] == pytest.approx(stops, rel=1e-4)


def test_rebuild_changes_no_result(copied: Path) -> None:
    """The ledger is only a copy: thrown away and replayed, it says the same."""
    before = run("results", copied, "--json", "--as-of", AS_OF).output
    (copied / "season.db").unlink()
    assert run("rebuild", copied, code=CLEAN).output == "Replayed 1 book.\n"
    assert run("results", copied, "--json", "--as-of", AS_OF).output == before


def test_the_same_file_twice_is_told_and_changes_nothing(copied: Path) -> None:
    """A copy under another name is known by its content; the exit code says to look."""
    before = run("results", copied, "--json", "--as-of", AS_OF).output
    again = copied / "incoming" / "again.xlsx"
    shutil.copy(copied / "incoming" / "taken" / "back.xlsx", again)
    result = run("intake", "--season", copied, "--as-of", AS_OF, code=LOOK)
    assert "taken in before on 2026-08-20" in result.output
    told = " ".join(run("intake", "--help", code=CLEAN).output.split())
    assert "taken in before changes nothing, and the exit code is 1" in told
    assert run("results", copied, "--json", "--as-of", AS_OF).output == before


def test_a_question_gives_exit_code_1_until_it_is_mended(copied: Path, tmp_path: Path) -> None:
    """15 rows: intake, check, results say 1; the mended book sent again clears all three."""
    blank = copied / "blank" / "kernel-count" / "scout1.xlsx"
    spoiled, mended = tmp_path / "spoiled.xlsx", tmp_path / "mended.xlsx"
    fill(blank, spoiled, rows_around=15)
    result = run("check", spoiled, "--season", copied, "--as-of", AS_OF, code=LOOK)
    cells = ", ".join(f"E{row}" for row in range(5, 20))
    assert f"spoiled.xlsx, Ears, {cells}: 15 rows can't be, rows come in pairs." in result.output
    run("intake", "--season", copied, spoiled, "--as-of", AS_OF, code=LOOK)
    run("results", copied, "--as-of", AS_OF, code=LOOK)
    fill(blank, mended, rows_around=18)
    run("check", mended, "--season", copied, "--as-of", AS_OF, code=CLEAN)
    run("intake", "--season", copied, mended, "--as-of", AS_OF, code=CLEAN)
    found = json.loads(run("results", copied, "--json", "--as-of", AS_OF, code=CLEAN).output)
    assert found["fields"][0]["kernels_per_ear"] == pytest.approx(18 * 37)


@pytest.mark.pdf
def test_one_report_as_pdf(copied: Path) -> None:
    """`--field` writes that field's page and PDF, and no other; no board either."""
    need(pango_missing())
    shutil.rmtree(copied / "reports")
    run("report", copied, "--field", "A1", "--as-of", AS_OF, code=CLEAN)
    names = sorted(path.name for path in (copied / "reports").iterdir())
    assert names == [".made.json", "A1-long-eighty.html", "A1-long-eighty.pdf"]
    assert (copied / "reports" / "A1-long-eighty.pdf").read_bytes().startswith(b"%PDF-")


# ---- check --------------------------------------------------------------------------------------


def test_check_as_json_says_the_same_and_changes_nothing(copied: Path, tmp_path: Path) -> None:
    """Not one byte and not one time below the season folder changes."""
    spoiled = tmp_path / "spoiled.xlsx"
    fill(copied / "blank" / "kernel-count" / "scout1.xlsx", spoiled, rows_around=15)
    before = files_of(copied)
    words = ("check", spoiled, "--season", copied, "--as-of", AS_OF)
    found = json.loads(run(*words, "--json", code=LOOK).output)
    said = run(*words, code=LOOK).output
    assert files_of(copied) == before
    assert (found["schema_version"], found["as_of"]) == (1, AS_OF)
    assert (found["file"], found["readable"], found["visits"]) == ("spoiled.xlsx", True, ["A1.KC1"])
    assert len(found["problems"]) == 15
    first = found["problems"][0]
    assert (first["code"], first["weight"], first["field"]) == ("rows-odd", "error", "A1")
    cells = ", ".join(one["cell"] for one in found["problems"])
    assert f"{first['file']}, {first['sheet']}, {cells}: {first['message']}" in said


def test_check_makes_no_ledger(tmp_path: Path) -> None:
    """In a season where nothing was taken in yet, a check leaves no file behind."""
    season = small_season(tmp_path / "s")
    book = write_filled(tmp_path / "ana.xlsx", season, good_visit("A1"))
    season.folder.ledger.unlink()
    before = files_of(season.folder.path)
    run("check", book, "--season", season.folder.path, "--as-of", AS_OF, code=CLEAN)
    assert files_of(season.folder.path) == before


def test_check_finds_the_season_above_a_file(copied: Path) -> None:
    """A book inside a season folder is judged by that season without naming it."""
    book = copied / "incoming" / "taken" / "back.xlsx"
    assert "0 to look at" in run("check", book, "--as-of", AS_OF, code=CLEAN).output


# ---- naming the season --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("command", "thing"),
    [
        ("doctor", ()),
        ("ask", ()),
        ("history", ("A1",)),
        ("decide", ("A1",)),
        ("check", ("BOOK",)),
    ],
)
def test_the_season_is_named_either_way(copied: Path, command: str, thing: tuple[str, ...]) -> None:
    """By itself, before or after what else is named, or as --season; but only once."""
    book = copied / "incoming" / "taken" / "back.xlsx"
    words = tuple(book if word == "BOOK" else word for word in thing)
    said = run(command, *words, "--season", copied, code=CLEAN).output
    assert run(command, *words, copied, code=CLEAN).output == said
    assert run(command, copied, *words, code=CLEAN).output == said
    twice = run(command, *words, copied, "--season", copied, code=USE).output
    assert "Name the season folder once" in twice


def test_a_season_and_its_books_go_into_one_intake(copied: Path, tmp_path: Path) -> None:
    """The season's folder stands among the files in any place."""
    mended = tmp_path / "mended.xlsx"
    fill(copied / "blank" / "kernel-count" / "scout1.xlsx", mended, rows_around=18)
    said = run("intake", mended, copied, "--as-of", AS_OF, code=CLEAN).output
    assert said.startswith("mended.xlsx: taken in")


def test_what_is_no_season_beside_a_field_is_named(copied: Path, tmp_path: Path) -> None:
    """A folder that is no season, a field left out, a name that no file can have."""
    strange = run("history", "A1", tmp_path, code=USE).output
    assert f"Name one field; '{tmp_path}' holds no season.toml." in " ".join(strange.split())
    assert "Name a field as well" in run("decide", copied, code=USE).output
    run("history", "x" * 5000, "--season", copied, code=USE)


# ---- blank --------------------------------------------------------------------------------------


def test_blank_never_writes_over_a_filled_book(copied: Path) -> None:
    """A book that was filled where it lies is left alone, byte for byte; others are written."""
    book = copied / "blank" / "kernel-count" / "scout1.xlsx"
    fill(book, book)
    before = book.read_bytes()
    result = run("blank", copied, "--round", "kernel-count", code=LOOK)
    assert "already filled in" in one_line(result)
    assert book.read_bytes() == before


def test_blank_never_writes_over_what_it_cannot_read(copied: Path) -> None:
    """A file of another kind under a book's name is somebody's: it stays."""
    book = copied / "blank" / "kernel-count" / "scout1.xlsx"
    book.write_bytes(b"notes of my own")
    run("blank", copied, "--round", "kernel-count", code=LOOK)
    assert book.read_bytes() == b"notes of my own"


def test_blank_writes_a_blank_book_again_in_place(copied: Path) -> None:
    """A blank that is still blank may be renewed: here with more stops."""
    book = copied / "blank" / "kernel-count" / "scout1.xlsx"
    run("blank", copied, "--round", "kernel-count", "--stops", 8, code=CLEAN)
    assert len(Addresses.of(book).rows["Stops"]) == 3 * 8


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (("blank", "--round", "kernel-cuont"), "Did you mean 'kernel-count'?"),
        (("blank", "--round", "kernel-count", "--scout", "nobody"), "It knows: scout1."),
        (("blank", "--round", "kernel-count", "--field", "A11"), "Did you mean 'A1'?"),
        (("report", "--field", "Z9"), "There is: A1, A2, B7."),
    ],
)
def test_unknown_names_are_wrong_use_with_a_hint(
    copied: Path, words: tuple[str, ...], hint: str
) -> None:
    """An unknown round, scout or field: one line that says what there is, code 2, nothing done."""
    before = files_of(copied)
    said = one_line(run(*words, copied, code=USE))
    assert hint in said
    assert words[-1] in said
    assert files_of(copied) == before


# ---- help ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("command", ["", *COMMANDS])
def test_every_help_has_an_example_that_the_command_takes(command: str) -> None:
    """The example names the command itself and only options that it has."""
    words = [command] if command else []
    text = run(*words, "--help", code=CLEAN).output
    example = re.search(r"Example: silkbook (\S+)(.*)", text)
    assert example, text
    assert example[1] == command or not command
    for option in re.findall(r"--[a-z-]+", example[2]):
        assert re.search(rf"^\s+{option}\b", text, re.MULTILINE), option
    assert run(*words, "-h", code=CLEAN).output == text


def test_the_help_lists_every_command_and_the_version() -> None:
    """All commands of the README, and no other; each is told in one whole line."""
    text = run("--help", code=CLEAN).output
    assert "..." not in text[text.index("Commands:") :]
    listed = re.findall(r"^  ([a-z]+) ", text[text.index("Commands:") :], re.MULTILINE)
    assert sorted(listed) == sorted(COMMANDS)
    assert re.fullmatch(r"silkbook, version \d+\.\d+\.\d+\n", run("--version", code=CLEAN).output)


# ---- wrong folders, damaged seasons -------------------------------------------------------------

IN_A_SEASON: dict[str, Callable[[Path], tuple[object, ...]]] = {
    "blank": lambda folder: ("blank", folder, "--round", "kernel-count"),
    "intake": lambda folder: ("intake", "--season", folder),
    "check": lambda folder: ("check", "any.xlsx", "--season", folder),
    "results": lambda folder: ("results", folder),
    "report": lambda folder: ("report", folder, "--no-pdf"),
    "board": lambda folder: ("board", folder),
    "compare": lambda folder: ("compare", folder, "--no-pdf"),
    "settle": lambda folder: ("settle", folder, "--no-pdf"),
    "rebuild": lambda folder: ("rebuild", folder),
}
in_a_season = pytest.mark.parametrize("command", IN_A_SEASON)


@in_a_season
def test_a_folder_without_a_season_is_named(tmp_path: Path, command: str) -> None:
    """An empty folder, one that is not there, and a file: the line names it and the way out."""
    (tmp_path / "file").write_text("x")
    for folder in (tmp_path, tmp_path / "nowhere", tmp_path / "file"):
        said = one_line(run(*IN_A_SEASON[command](folder), code=LOOK))
        what = "season.toml in" if folder.exists() else "folder"
        assert f"There is no {what} '{folder}'" in said
    assert files_of(tmp_path).keys() == {"file"}


@in_a_season
def test_a_season_without_a_roster_says_where_to_get_one(copied: Path, command: str) -> None:
    """The roster is gone, or is a folder."""
    (copied / "roster.xlsx").unlink()
    said = one_line(run(*IN_A_SEASON[command](copied), code=LOOK))
    assert "no roster.xlsx" in said
    (copied / "roster.xlsx").mkdir()
    assert one_line(run(*IN_A_SEASON[command](copied), code=LOOK)) == said


def _cut(text: str) -> bytes:
    return text[: text.index('name = "North') + 10].encode()


DAMAGED = {
    "cut off": (_cut, "can't be read: "),
    "not text": (lambda text: b"\x00\xff\xfe" + text.encode(), "can't be read: "),
    "empty": (lambda text: b"", "season.toml: "),
    "year": (lambda text: re.sub("(?m)^year = .*", 'year = "x"', text).encode(), "year is 'x'"),
    "newer": (lambda text: re.sub("(?m)^format = .*", "format = 99", text).encode(), "format 99"),
    "unknown": (lambda text: b"yaer = 2026\n" + text.encode(), "Did you mean 'year'?"),
}


@pytest.mark.parametrize("damage", DAMAGED)
def test_a_damaged_season_file_is_told_in_plain_lines(copied: Path, damage: str) -> None:
    """Each fault of season.toml is one line that names the file; code 1."""
    spoil, said = DAMAGED[damage]
    path = copied / "season.toml"
    path.write_bytes(spoil(path.read_text("utf-8")))
    result = run("results", copied, code=LOOK)
    lines = result.output.splitlines()
    assert said in result.output
    assert all(line.startswith("ERROR  season.toml: ") for line in lines)


@pytest.mark.parametrize("data", [b"", b"PK\x03\x04 cut off", b"text"])
def test_a_damaged_roster_is_told(copied: Path, data: bytes) -> None:
    """A roster that cannot be read is one line about that file."""
    (copied / "roster.xlsx").write_bytes(data)
    assert one_line(run("results", copied, code=LOOK)).startswith("ERROR  roster.xlsx: ")


@pytest.mark.parametrize("command", ["blank", "intake", "check", "results", "report"])
def test_a_damaged_ledger_names_rebuild(copied: Path, command: str) -> None:
    """The ledger is only a copy, so a damaged one ends in a line that names `rebuild`."""
    (copied / "season.db").write_bytes(b"not a database, but as long as a header of one" * 9)
    book = copied / "incoming" / "taken" / "back.xlsx"
    words = [book if word == "any.xlsx" else word for word in IN_A_SEASON[command](copied)]
    assert "rebuild" in run(*words, code=LOOK).output


def test_rebuild_mends_a_damaged_ledger(copied: Path) -> None:
    """Whatever became of season.db, `rebuild` brings it back from the kept books."""
    before = run("results", copied, "--json", "--as-of", AS_OF).output
    (copied / "season.db").write_bytes(b"not a database, but as long as a header of one" * 9)
    run("rebuild", copied, code=CLEAN)
    assert run("results", copied, "--json", "--as-of", AS_OF).output == before


# ---- folders that can't be written --------------------------------------------------------------

BLOCKED = [
    *((name, "intake") for name in ("weather", "blank", "incoming", "reports")),
    *((name, "intake") for name in ("kept/originals", "kept/events")),
    ("blank", "blank"),
    ("reports", "report"),
]


@pytest.mark.parametrize(("name", "command"), BLOCKED)
def test_a_file_in_place_of_a_folder_is_named(copied: Path, name: str, command: str) -> None:
    """The command that needs the folder names the place; what was there stays as it was."""
    shutil.rmtree(copied / name)
    (copied / name).write_text("in the way")
    before = files_of(copied)
    said = one_line(run(*IN_A_SEASON[command](copied), code=LOOK))
    assert str(copied / name) in said
    assert "Check the disk" in said
    assert before.items() <= files_of(copied).items()


@pytest.mark.parametrize(
    ("spoiled", "command"),
    [("weather", "results"), ("roster", "results"), ("roster", "report"), ("roster", "blank")],
)
def test_an_error_said_is_an_exit_code_of_1(copied: Path, spoiled: str, command: str) -> None:
    """Exit code 0 means clean: whatever prints ERROR does not end in it."""
    if spoiled == "weather":
        (copied / "weather" / "home.csv").write_text("a,b\n1,2\n")
    else:
        rows = [replace(ROWS[0], scout="scout1"), replace(ROWS[1], acres=-4.0)]
        data = write_roster(rows, year=2026, units=System.US, language="en", paper="letter")
        (copied / "roster.xlsx").write_bytes(data)
    result = run(*IN_A_SEASON[command](copied))
    assert "ERROR" in result.output
    assert result.exit_code == LOOK


@pytest.mark.parametrize("command", ["new", "demo"])
def test_a_season_below_a_file_cannot_be_made(tmp_path: Path, command: str) -> None:
    """`new` and `demo` into a path that runs through a file."""
    (tmp_path / "file").write_text("in the way")
    result = run(command, tmp_path / "file" / "season", code=LOOK)
    assert "Check the disk" in result.output.splitlines()[-1]
    assert (tmp_path / "file").read_text() == "in the way"


def test_a_folder_without_rights_is_named(copied: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The system refuses to write a report: that folder is named, and no traceback is shown.

    The refusal is played, since the tests may run as root, whom no folder refuses.
    """
    reports = copied / "reports"

    def refused(**_: object) -> None:
        raise PermissionError(errno.EACCES, "Permission denied", str(reports))

    monkeypatch.setattr("fieldbook.ledger.safely.tempfile.mkstemp", refused)
    said = run("report", copied, "--no-pdf", "--field", "A1", code=LOOK).output
    assert str(reports) in said
    assert "Permission denied" in said


def test_new_touches_no_folder_that_holds_something(tmp_path: Path) -> None:
    """One file is enough to refuse; an empty folder will do."""
    (tmp_path / "mine.txt").write_text("mine")
    said = one_line(run("new", tmp_path, "--year", 2026, code=LOOK))
    assert "already holds something" in said
    assert files_of(tmp_path).keys() == {"mine.txt"}
    (tmp_path / "empty").mkdir()
    run("new", tmp_path / "empty", "--year", 2026, code=CLEAN)


# ---- demo ---------------------------------------------------------------------------------------


def test_demo_runs_twice_and_gives_the_same(demo: Path, tmp_path: Path) -> None:
    """The second run clears what the first one made, and every file comes out alike."""
    folder = Path(shutil.copytree(demo, tmp_path / "demo"))
    made = files_of(folder)
    (folder / "left over.txt").write_text("left by an older demo")
    run("demo", folder, "--no-pdf", code=CLEAN)
    assert not list((folder / "reports").glob("*.pdf"))
    again = files_of(folder)
    assert again.keys() == made.keys()
    differing = {
        name for name, found in made.items() if found and found[0] != (again[name] or (b"",))[0]
    }
    assert differing <= {"season.db"}
    results = json.loads(run("results", folder, "--json", "--as-of", "2026-08-10").output)
    assert sum(field["yield"] is not None for field in results["fields"]) >= 4


@pytest.mark.parametrize("kind", ["folder", "file", "season"])
def test_demo_overwrites_nothing_of_others(tmp_path: Path, copied: Path, kind: str) -> None:
    """A folder, a file and a real season stay as they are; code 2."""
    place = {"folder": tmp_path / "mine", "file": tmp_path / "mine.txt", "season": copied}[kind]
    if kind == "folder":
        place.mkdir()
        (place / "notes.txt").write_text("mine")
    if kind == "file":
        place.write_text("mine")
    before = files_of(tmp_path)
    assert "did not make" in one_line(run("demo", place, code=USE))
    assert files_of(tmp_path) == before


# ---- odd input ----------------------------------------------------------------------------------

LONG = "x" * 300
ODD: list[tuple[str, int]] = [
    ("", USE),
    ("nonsense", USE),
    ("results SEASON more", USE),
    ("results SEASON --as-of yesterday", USE),
    ("results SEASON --as-of 2026-02-30", USE),
    ("results SEASON --as-of 0001-01-01", USE),
    ("results SEASON --as-of 9999-12-31 --json", USE),
    ("results SEASON/season.toml", LOOK),
    (f"results {LONG}", LOOK),
    ("report SEASON --as-of 9999-12-31 --no-pdf --field A1", USE),
    ("report SEASON --field= --no-pdf", USE),
    ("report SEASON --field ☃", USE),
    ("blank SEASON", USE),
    ("blank SEASON --round ../../x", USE),
    ("blank SEASON --round kernel-count --stops 0", USE),
    ("blank SEASON --round kernel-count --stops many", USE),
    ("blank SEASON --round kernel-count --scout ../up", USE),
    ("intake --season SEASON nowhere.xlsx", LOOK),
    ("intake --season SEASON SEASON/season.toml SEASON/roster.xlsx", LOOK),
    ("intake --season SEASON --as-of 0001-01-01 SEASON/roster.xlsx", USE),
    ("check SEASON --season SEASON", USE),
    ("check SEASON/season.db --season SEASON", LOOK),
    ("check SEASON/roster.xlsx --season SEASON --json", LOOK),
    (f"check {LONG}.xlsx --season SEASON", LOOK),
    ("check", USE),
    ("new", USE),
    (f"new HERE/{LONG}", LOOK),
    ("new HERE/a --year 1999", USE),
    ("new HERE/a --year twenty", USE),
    ("new HERE/a --units imperial", USE),
    ("new HERE/a --name ☃☃☃", CLEAN),
    ("demo", USE),
]


@pytest.mark.parametrize(("line", "code"), ODD, ids=[repr(line)[:60] for line, _ in ODD])
def test_odd_input_ends_in_plain_words(copied: Path, tmp_path: Path, line: str, code: int) -> None:
    """Whatever is typed: an exit code as documented and something to read, never a traceback."""
    words = [
        word.replace("SEASON", str(copied)).replace("HERE", str(tmp_path)) for word in line.split()
    ]
    result = run(*words, code=code)
    assert result.output.strip()


def test_missing_templates_are_named(copied: Path) -> None:
    """`--templates` with a folder that is not there names that folder."""
    result = run("report", copied, "--no-pdf", "--field", "A1", "--templates", "/not/there")
    assert result.exit_code in (LOOK, USE)
    assert "/not/there" in result.output


@pytest.mark.parametrize("name", ["two\nlines", "x" * 300])
def test_new_makes_only_seasons_that_open(tmp_path: Path, name: str) -> None:
    """Either the name is refused, or the season can be worked in."""
    folder = tmp_path / "s"
    made = run("new", folder, "--year", 2026, "--name", name)
    if made.exit_code == CLEAN:
        said = run("results", folder, code=LOOK).output
        assert "season.toml" not in said
    else:
        assert not folder.exists()


def test_a_reader_that_stops_early_is_no_fault(walked: dict[str, Any]) -> None:
    """`silkbook results --json | head -1`: the closed pipe is not told as a fault."""
    start = "from fieldbook.cli import main; main(prog_name='silkbook')"
    words = [sys.executable, "-c", start, "results", str(walked["folder"]), "--json"]
    with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        said = process.stderr.read().decode()
        process.wait(timeout=60)
    assert "Traceback" not in said


@pytest.mark.parametrize("more", [(), ("--json",)])
def test_an_old_console_encoding_takes_any_name(tmp_path: Path, more: tuple[str, ...]) -> None:
    """A name that the console can't show is shown in part, not answered with a traceback.

    Windows uses such an encoding whenever the output goes to a file.
    """
    small_season(tmp_path / "s", rows=(replace(ROWS[0], field="Поле 字"),))
    done = silkbook("results", str(tmp_path / "s"), *more, PYTHONIOENCODING="cp1252")
    assert b"Traceback" not in done.stderr
    assert done.returncode == CLEAN
