"""Damaged and hostile books in one intake with good ones: only they are set aside."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import mutations
import pytest
from office import Office

from hostile.damage import damaged
from hostile.damage_kinds import KINDS
from hostile.named import NAMED
from hostile.neighbours import Ground, taken_among_good

COUNT, SEED = 250, "mutations-ci"  # in each format


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Ground, dict[str, bytes]]:
    """Make a season, good books of every round, and the books to be damaged."""
    return mutations.make_books(tmp_path_factory.mktemp("damaged"))


def damage_and_take_in(ground: Ground, books: Mapping[str, bytes]) -> None:
    """Send as many as CI runs; nothing may be wrong, and not all end in the same way."""
    tally = mutations.run(ground, books, range(COUNT), SEED, at_once=2)
    assert tally.wrong == []
    assert tally.ends.total() == COUNT
    for family in ("parts", "XML", "cells", "structure"):
        ends = {end for _, known, end in tally.ends if known == family}
        assert ends >= {"taken in", "set aside"}


def test_damaged_xlsx_books(made: tuple[Ground, dict[str, bytes]]) -> None:
    """250 damaged .xlsx books: no crash, hang or hog, and every good book is taken in whole."""
    damage_and_take_in(*made)


@pytest.mark.office
def test_damaged_ods_books(
    office: Office, made: tuple[Ground, dict[str, bytes]], tmp_path: Path
) -> None:
    """250 damaged .ods books, saved by LibreOffice before: as with .xlsx."""
    ground, books = made
    damage_and_take_in(ground, dict(mutations.saved_as_ods(office, books, tmp_path)))


def test_named_hostile_files(made: tuple[Ground, dict[str, bytes]]) -> None:
    """Every hostile file we can name is set aside with its reason, and no good book is lost."""
    after = taken_among_good(made[0], NAMED)
    assert after.wrong == ()
    assert after.aside == NAMED.keys()
    assert after.reader_ended == frozenset()


def test_a_lost_neighbour_would_be_noticed(made: tuple[Ground, dict[str, bytes]]) -> None:
    """A good book that is not among those sent is missed: the proof can fail."""
    ground, books = made
    _, *others = ground.good
    fewer = replace(ground, good={name: ground.good[name] for name in others})
    after = taken_among_good(fewer, {"harmless.xlsx": next(iter(books.values()))})
    assert len(after.wrong) == 1
    assert "is not as it was undisturbed" in after.wrong[0]


def test_one_seed_gives_one_file() -> None:
    """The same seed and number give the same bytes, and another seed gives others."""
    books = {"one.xlsx": NAMED["limits.xlsx"]}
    for number in range(0, 3 * len(KINDS), len(KINDS)):
        first, again, other = (damaged(seed, number, books) for seed in ("a", "a", "b"))
        assert first == again
        assert first.data != other.data
