"""What a command loads before it does anything: the help must come at once."""

import subprocess
import sys
from pathlib import Path

import pytest
from seasons import NOW, good_visit, write_filled

from fieldbook.cli import main
from fieldbook.season.intake import take_in
from fieldbook.season.season import Season

HEAVY = (
    *("pandas", "weasyprint", "openpyxl", "sqlalchemy", "scipy"),
    *("xlsxwriter", "python_calamine", "jinja2", "numpy", "babel", "rich"),
)
COMMANDS = tuple(main.commands)

_LOADED = """
import sys
from fieldbook.cli import main
try:
    main(sys.argv[1:], prog_name="silkbook")
except SystemExit as end:
    assert end.code == 0, end.code
print("\\nLOADED", *sorted({name.split(".")[0] for name in sys.modules}))
print("ROOMS", *sorted(name for name in sys.modules if name.startswith("fieldbook.")))
"""


def loaded(*words: str) -> tuple[set[str], set[str]]:
    """Return the packages and our own modules that a command has loaded when it ends."""
    run = subprocess.run(
        [sys.executable, "-c", _LOADED, *words], capture_output=True, text=True, check=True
    )
    lines = {line.split()[0]: set(line.split()[1:]) for line in run.stdout.splitlines()[-2:]}
    return lines["LOADED"], lines["ROOMS"]


@pytest.mark.parametrize(
    "words", [("--help",), ("--version",), *((command, "--help") for command in COMMANDS)], ids=str
)
def test_help_loads_nothing_heavy(words: tuple[str, ...]) -> None:
    """Neither a table library nor a drawing, spreadsheet or database one, and no room below."""
    packages, rooms = loaded(*words)
    assert {"click", "fieldbook"} <= packages
    assert packages.isdisjoint(HEAVY)
    assert {room.split(".")[1] for room in rooms} == {"cli", "commands"}


def test_python_runs_it_as_a_module() -> None:
    """Where the command itself is not on the path, ``python -m fieldbook`` is the same."""
    words = [sys.executable, "-m", "fieldbook", "--help"]
    run = subprocess.run(words, capture_output=True, text=True, check=True)
    assert run.stdout.startswith("Usage: silkbook ")


def test_the_measure_sees_what_is_loaded() -> None:
    """A command that works with workbooks does load their libraries: the list above is not idle."""
    packages, _ = loaded("new", "--help")
    assert not packages & set(HEAVY)
    script = "import sys, fieldbook.workbook.write; print(*sys.modules)"
    run = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert "xlsxwriter" in run.stdout.split()


@pytest.mark.parametrize(
    ("module", "not_needed"),
    [
        ("fieldbook.agronomy.forecast", ("pandas", "sqlalchemy", "weasyprint", "xlsxwriter")),
        ("fieldbook.forms.rounds", ("numpy", "pandas", "xlsxwriter", "babel", "click")),
        ("fieldbook.season.intake", ("numpy", "scipy", "pandas", "xlsxwriter", "weasyprint")),
        ("fieldbook.season.checking", ("sqlalchemy", "numpy", "babel", "xlsxwriter", "weasyprint")),
        (
            "fieldbook.season.foresight",
            ("sqlalchemy", "numpy", "babel", "xlsxwriter", "weasyprint"),
        ),
        ("fieldbook.season.judging", ("sqlalchemy", "numpy", "babel", "xlsxwriter", "weasyprint")),
        ("fieldbook.check.book", ("scipy", "pandas", "numpy", "sqlalchemy", "click")),
        ("fieldbook.workbook.write", ("pandas", "sqlalchemy", "weasyprint", "scipy")),
        ("fieldbook.workbook.read", ("pandas", "sqlalchemy", "weasyprint", "scipy")),
    ],
)
def test_lower_floors_load_no_library_of_the_upper_ones(
    module: str, not_needed: tuple[str, ...]
) -> None:
    """A worker process that only reads a book starts without the ledger's and the pages' weight."""
    script = f"import sys, {module}; print(*sys.modules)"
    run = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert set(run.stdout.split()).isdisjoint(not_needed)


def test_a_check_beside_earlier_visits_loads_no_database_library(
    season: Season, tmp_path: Path
) -> None:
    """Only a ledger that must be made or brought up first takes SQLAlchemy."""
    book = write_filled(tmp_path / "ana.xlsx", season, good_visit("A1"))
    (taken,) = take_in(season, [book], now=NOW)
    assert taken.accepted
    words = ("check", str(book), "--season", str(season.folder.path))
    packages, rooms = loaded(*words)
    assert "sqlalchemy" not in packages
    assert "fieldbook.season.past" in rooms
    season.folder.ledger.unlink()
    assert "sqlalchemy" in loaded(*words)[0]
