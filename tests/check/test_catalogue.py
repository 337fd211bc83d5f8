"""The catalogue of problems: every code explains itself, is told rightly, and is triggered."""

import string
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from problems_page import PAGE

import fieldbook
from fieldbook.cli import main
from fieldbook.explain import by_family, catalogue_page, example_sentence, near_code
from fieldbook.problems import Entry, Place, Problem, catalogue, lines, problem, sentence

TESTS, PACKAGE = Path(__file__).parents[1], Path(fieldbook.__file__).parent
LONGEST_LOOK = 40
ENTRIES = pytest.mark.parametrize("entry", catalogue().values(), ids=lambda entry: entry.code)

# What the checks must at least find, and the codes that say so.
PROMISED = {
    "impossible values": ("rows-odd", "out-of-range", "rings-impossible", "not-whole"),
    "parts that do not add up": (
        *("lost-over-rows", "barren-over-plants", "ears-over-plants"),
        *("part-over-whole", "silks-over-all"),
    ),
    "text in number cells": (
        *("not-a-number", "number-as-text", "date-for-number"),
        *("not-a-date", "date-as-text", "not-on-list"),
    ),
    "missing or doubled stops and ears": (
        *("row-doubled", "row-missing", "row-unknown"),
        *("ears-without-count", "count-without-ears", "part-missing"),
    ),
    "a date that cannot be": (
        *("date-other-season", "date-before-planting", "date-in-future"),
        *("date-after-sent", "date-missing"),
    ),
    "a stage that goes backwards": ("stage-backwards", "stage-ahead-of-later"),
    "a stage that the heat so far cannot have reached": ("stage-before-heat", "date-exchanged"),
    "readings that contradict": (
        *("gaps-contradict", "bare-contradicts", "none-contradicts", "all-fallen-contradicts"),
        *("silks-against-stage", "tassel-against-stage", "stage-too-early"),
    ),
    "a stop far from the field": ("stop-far-away",),
    "all stops on end rows": ("all-off-figure",),
    "too few stops for the area": ("few-stops",),
    "outliers against the field": ("ear-far-off",),
    "rows copied down": ("rows-copied",),
    "longitude without its minus": ("longitude-sign",),
    "measured length against row width": ("row-width-differs",),
    "plants per 1/1000 acre": ("unusual",),
    "kernels over 1,000 an ear": ("kernels-many",),
    "kernel weight": ("kernel-weight-odd", "bag-weight-odd"),
    "moisture over 40 % at black layer": ("unusual",),
    "a field that the roster does not know": ("field-unknown",),
    "a book of another season": ("book-other-season",),
    "an older form": ("book-form-older", "book-form-too-old", "book-form-newer"),
    "a changed form": (
        *("sheet-renamed", "sheet-missing", "column-moved", "column-missing"),
        *("key-column-missing", "identity-edited"),
    ),
    "formulas or errors where a value belongs": ("formula-in-entry",),
    "hidden rows with data": ("rows-hidden",),
}


def names_in(text: str) -> set[str]:
    """Return the {names} of a text."""
    return {name for _, name, _, _ in string.Formatter().parse(text) if name}


def explained(*words: str) -> Result:
    """Run `check --explain`."""
    return CliRunner().invoke(main, ["check", "--explain", *words])


@ENTRIES
def test_example_fills_the_message(entry: Entry) -> None:
    """Every example has the parameters of its message, no others, and leaves no hole in it."""
    assert names_in(entry.message) | names_in(entry.mailed) <= set(entry.example)
    assert set(entry.example) <= names_in(entry.message) | names_in(entry.look)
    filled = "".join(str(value) for value in entry.example.values())
    assert example_sentence(entry).count("?") <= (entry.message + filled).count("?")
    assert "{" not in example_sentence(entry)


@ENTRIES
def test_description_is_short_and_plain(entry: Entry) -> None:
    """A description is one to three short sentences, and a family is named."""
    assert entry.description.endswith(".")
    assert 1 <= entry.description.count(". ") + 1 <= 3
    assert 20 < len(entry.description) < 260
    assert entry.family != "Others"


@ENTRIES
def test_look_text_fits_its_column(entry: Entry) -> None:
    """The words of the live Look column are short once its numbers are filled in."""
    filled = entry.look.format_map(dict.fromkeys(names_in(entry.look), "12"))
    assert len(filled) <= LONGEST_LOOK


@ENTRIES
def test_code_is_raised_and_triggered(entry: Entry) -> None:
    """Every code stands in the program and in a test that names it."""
    told = [path.read_text("utf-8") for path in TESTS.rglob("test_*.py") if path != Path(__file__)]
    made = [path.read_text("utf-8") for path in PACKAGE.rglob("*.py")]
    ending = entry.code.removeprefix("trial-")
    assert any(f'"{entry.code}"' in text or f'"{ending}"' in text for text in made)
    assert any(f'"{entry.code}"' in text for text in told)


@pytest.mark.parametrize(
    ("family", "codes"),
    [pytest.param(family, codes, id=family) for family, codes in PROMISED.items()],
)
def test_promised_families_have_a_code(family: str, codes: tuple[str, ...]) -> None:
    """Every promised family of checks has codes, all of them in the catalogue."""
    assert codes
    assert set(codes) <= set(catalogue()), family


def test_families_hold_every_code_once() -> None:
    """The headings of the page list every code once."""
    listed = [entry.code for entries in by_family().values() for entry in entries]
    assert sorted(listed) == sorted(catalogue())
    assert len(catalogue()) >= 60


def test_page_is_current() -> None:
    """The page of all checks says what the catalogue says; `tests/problems_page.py` renews it."""
    assert PAGE.read_text("utf-8") == catalogue_page()


def test_one_code_is_explained_with_its_example() -> None:
    """A code given is explained alone, with the sentence that a person would be told."""
    shown = explained("rows-odd")
    assert shown.exit_code == 0
    assert shown.output.startswith("rows-odd (error): Odd number of kernel rows")
    assert "For example: 17 rows can't be" in shown.output
    assert "not-whole" not in shown.output


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("odd-rows", "rows-odd"), ("ROWS_ODD", "rows-odd"), ("weather-stail", "weather-stale")],
)
def test_unknown_code_names_the_nearest(typed: str, meant: str) -> None:
    """A misspelled code is wrong use and gets the nearest known one, in any order of words."""
    shown = explained(typed)
    assert shown.exit_code == 2
    assert f"Did you mean '{meant}'?" in shown.output


def test_code_like_nothing_gets_the_way_to_all() -> None:
    """A code that is like no other gets the command that lists them."""
    assert near_code("zzz") == "'silkbook check --explain' lists them all."


def _missing(cell: str, visit_id: str = "A1.KC1") -> Problem:
    place = Place(file="ana.xlsx", sheet="Ears", cell=cell, visit_id=visit_id, row=cell[1:])
    return problem("part-missing", place, column="Kernels in row", needs="Tip bare")


def test_what_differs_in_its_cell_alone_is_told_in_one_line() -> None:
    """Ears without one number are one thing to mend; another visit's are another."""
    many = [_missing(f"F{row}") for row in range(5, 28)]
    other, odd = _missing("F20", "B2.KC1"), problem("rows-odd", many[0].place, column="Rows")
    told = list(lines([*many[:2], odd, *many[2:], other]))
    assert [weight for weight, _ in told] == [found.weight for found in (many[0], odd, other)]
    assert [text.partition(": ")[0] for _, text in told] == [
        f"ana.xlsx, Ears, {', '.join(f'F{row}' for row in range(5, 25))} and 3 more",
        "ana.xlsx, Ears, F5",
        "ana.xlsx, Ears, F20",
    ]


def test_few_cells_and_whole_rows_are_all_named() -> None:
    """In the reader's language, each once."""
    rows = [_missing(cell) for cell in ("row 5", "row 6", "row 6")]
    ((_, text),) = lines(rows, "es")
    assert text.startswith("ana.xlsx, Ears, renglón 5, renglón 6: ")
    assert [text for _, text in lines([problem("roster-empty")])] == [
        sentence(problem("roster-empty"))
    ]
