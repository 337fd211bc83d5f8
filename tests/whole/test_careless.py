"""What a careless scout types is found where it stands, and little is asked of a careful one."""

from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest
from careless import Rates, open_place, run, table, truths
from seasons import book_plan, good_visit, small_season

from fieldbook.forms.rounds import ROUNDS
from fieldbook.problems import Problem, sentence
from fieldbook.simulate.files import cut_off, with_sheet_renamed
from fieldbook.simulate.mistake_kinds import MISTAKES
from fieldbook.workbook.read import read_book
from fieldbook.workbook.write import write_book

# True but rare, so asked about: pollen that came after the silks, ears that carry next to nothing
# or not the same on every row, and a bare cob whose rows were counted all the same.
_RARE = {"tassel-against-stage", "bag-weight-odd", "kernel-weight-odd"}
_BARE_COB = ("part-missing", "kernels_set")


@pytest.fixture(scope="module")
def rates(tmp_path_factory: pytest.TempPathFactory) -> Rates:
    """Plant every kind of mistake once in every full form that it fits."""
    folder = tmp_path_factory.mktemp("careless") / "season"
    open_place(folder)
    return run(folder, seeds=["tired"], quick=False)


def test_quick_forms_ask_for_nothing_that_the_full_ones_do_not() -> None:
    """Every column of a quick form is in the full one, so that full forms show every mistake."""
    for round_ in ROUNDS.values():
        for sheet in round_.quick.sheets:
            asked = [column.name for column in sheet.entries]
            assert round_.full.has(sheet.sheet.name, *asked), (round_.name, sheet.sheet.name)


def test_every_kind_of_mistake_is_planted(rates: Rates) -> None:
    """No kind is left out for want of a field or a row that it fits."""
    assert rates.unplanted == []
    assert [kind.name for kind in MISTAKES if not rates.tallies[kind.name].planted] == []


def test_every_mistake_is_found_at_its_cell(rates: Rates) -> None:
    """The right code at the right row and column, for every mistake."""
    missed = {name: tally.missed for name, tally in rates.tallies.items() if tally.missed}
    assert missed == {}
    assert sum(tally.found for tally in rates.tallies.values()) >= 100


def test_one_mistake_is_told_once(rates: Rates) -> None:
    """Nothing else is said of a visit with one mistake."""
    false = {name: tally.false for name, tally in rates.tallies.items() if tally.false}
    assert false == {}


def test_careful_scouts_are_asked_about_rare_things_only(rates: Rates) -> None:
    """Of 120 visits filled rightly at most one in ten is asked about, and only about rarities."""
    assert rates.rightly == 5 * len(truths())
    strange = [found for found in rates.asked if not _is_rare(found)]
    assert strange == []
    assert len({found.place.visit_id for found in rates.asked}) <= rates.rightly / 10


def _is_rare(found: Problem) -> bool:
    return found.code in _RARE or (found.code, found.place.column) == _BARE_COB


FILES: list[tuple[Callable[[bytes], bytes], list[str], str]] = [
    (cut_off, ["file-broken"], "damaged or cut off"),
    (
        partial(with_sheet_renamed, old="Ears", new="Ears north"),
        ["sheet-renamed"],
        "Ears came back as 'Ears north'",
    ),
]


@pytest.mark.parametrize(("spoiled", "codes", "words"), FILES, ids=["cut off", "sheet renamed"])
def test_a_spoiled_file_is_told_in_one_line(
    tmp_path: Path, spoiled: Callable[[bytes], bytes], codes: list[str], words: str
) -> None:
    """A broken connection and a renamed sheet each give one problem, and it says what it is."""
    season = small_season(tmp_path / "season")
    data = write_book(book_plan(season, entries={"A1": good_visit("A1")}))
    read = read_book(spoiled(data), "ana.xlsx")
    problems = read.problems if read.book is None else read.book.problems
    assert [found.code for found in problems] == codes
    told = sentence(problems[0])
    assert words in told
    assert "\n" not in told


@pytest.mark.slow
def test_every_form_finds_every_mistake(tmp_path: Path) -> None:
    """The same in quick and full forms with other seeds."""
    open_place(tmp_path / "season")
    rates = run(tmp_path / "season", seeds=["one", "two", "three"])
    assert not any(tally.missed or tally.false for tally in rates.tallies.values()), table(rates)
