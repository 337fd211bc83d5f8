"""Intakes that are killed, refused by the disk, or meet another one: what is left is whole."""

import errno
import shutil
from pathlib import Path

import killed
import pytest
from killed import Hindrance, Moment

from fieldbook.problems import problem, sentence

BOOKS = 9  # the one before the last is damaged, so that it is set aside


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make a season with books to take in."""
    return killed.make_season(tmp_path_factory.mktemp("killed") / "season", books=BOOKS)


@pytest.fixture(scope="module")
def wanted(template: Path) -> dict[str, str]:
    """Take all in undisturbed; give the ledger and all files as they should be."""
    calm = Path(shutil.copytree(template, template.with_name("calm")))
    killed.finish(calm)
    found = killed.state(calm)
    assert sum(name.startswith("kept/events/") for name in found) == BOOKS - 1
    assert "incoming/set-aside/007.xlsx.why.txt" in found
    return found


@pytest.fixture
def copied(template: Path, tmp_path: Path) -> Path:
    """Copy the season, to be disturbed."""
    return Path(shutil.copytree(template, tmp_path / "copy"))


@pytest.mark.parametrize("point", killed.POINTS)
def test_killed_at_a_step_and_run_again_all_is_as_undisturbed(
    point: str, copied: Path, wanted: dict[str, str]
) -> None:
    """Signal 9 at every named step: one more intake, and ledger and files are equal."""
    rare = "reason" in point or "aside" in point
    assert killed.killed_at(copied, Moment(point=point, nth=1 if rare else 2))
    killed.finish(copied)
    assert killed.differing(killed.state(copied), wanted) == []


@pytest.mark.parametrize(
    "point",
    [*(f"{when} {what}" for when in ("before", "written") for what in killed.WRITES), None],
)
def test_a_full_disk_ends_plainly_with_nothing_half_done(
    point: str | None, copied: Path, wanted: dict[str, str]
) -> None:
    """The disk fills up at a write, or under the ledger: `disk-full`; with room it goes on."""
    ((code, said),) = killed.commanded(copied, Hindrance(point=point))
    assert code == 1
    assert said.splitlines()[-1] == sentence(problem("disk-full"))
    half = [path for path in copied.rglob(".writing-*") if path.is_file()]
    assert half == []
    assert killed.commanded(copied, None)[0][1].splitlines()
    assert killed.differing(killed.state(copied), wanted) == []


@pytest.mark.parametrize("point", ["before original", "before event"])
def test_a_read_only_folder_ends_plainly_with_nothing_half_done(
    point: str, copied: Path, wanted: dict[str, str]
) -> None:
    """The system refuses to write: `not-writable` names the folder; later it goes on.

    The refusal is played, since the tests may run as root, whom no folder refuses.
    """
    ((code, said),) = killed.commanded(copied, Hindrance(point=point, refusal=errno.EROFS))
    assert code == 1
    params = {"folder": str(copied), "detail": "Read-only file system"}
    assert said.splitlines()[-1] == sentence(problem("not-writable", **params))
    killed.finish(copied)
    assert killed.differing(killed.state(copied), wanted) == []


def test_a_file_that_cant_be_moved_stops_no_other(copied: Path, wanted: dict[str, str]) -> None:
    """A book that an app holds open stays in incoming/; it is kept, told, and the rest goes on."""
    hindrance = Hindrance(point="before move", refusal=errno.EACCES)
    ((code, said),) = killed.commanded(copied, hindrance)
    assert code == 1
    assert sentence(problem("file-not-moved", detail="Permission denied")) in said
    assert killed.differing(killed.state(copied), wanted) == [
        "incoming/000.xlsx",
        "incoming/taken/000.xlsx",
    ]


def test_two_intakes_at_once_do_what_one_does(copied: Path, wanted: dict[str, str]) -> None:
    """Each file is taken in by one of them, in order; nothing is entered twice."""
    told = killed.commanded(copied, None, None)
    names = [line.partition(":")[0] for _, said in told for line in said.splitlines()]
    assert [names.count(f"{number:03d}.xlsx") for number in range(BOOKS)] == [1] * BOOKS
    assert killed.differing(killed.state(copied), wanted) == []


def test_moments_are_drawn_anew_only_by_another_seed() -> None:
    """One seed gives one list, over all of the intake; another seed another."""
    first, again, other = (
        killed.seeded_moments(seed, 20, steps=1000, seconds=2.0) for seed in ("a", "a", "b")
    )
    assert first == again != other
    assert sum(moment.steps is not None for moment in first) == 10
