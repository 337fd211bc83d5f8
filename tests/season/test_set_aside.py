"""Files that can't be taken in: they move aside with the reason, and stay as they are."""

import os
import shutil
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from openpyxl import load_workbook
from seasons import NOW, good_visit, small_season, write_filled

from fieldbook.ledger.folder import book_files, reason_of
from fieldbook.season.intake import take_in
from fieldbook.season.season import Season
from fieldbook.season.taken import Taken
from fieldbook.words import one_line
from fieldbook.worker import Outcome

LONG = "n" * 250 + ".xlsx"
HOSTILE = (
    "line\nbreak.xlsx",
    "\x1b[2Jclear.xlsx",
    "gpj.\u202exslx.xlsx",
    "$(touch x) `id` ;.xlsx",
    "'\"<b>&amp;.xlsx",
    "-rf",
    ".hidden.xlsx",
    "bytes-\udcff\udcfe.xlsx",
    "a." + "e" * 250,
    "answer.why.txt",
    LONG,
)


def drop(season: Season, name: str, data: bytes = b"hello, not a workbook") -> Path:
    """Drop a file into the incoming folder."""
    season.folder.make()
    path = season.folder.incoming / name
    path.write_bytes(data)
    return path


def take(season: Season, *paths: Path) -> list[Taken]:
    """Take files in, or all that lies in the incoming folder."""
    return list(take_in(season, book_files(list(paths) or [season.folder.incoming]), now=NOW))


def aside(season: Season) -> list[str]:
    """Return the names of what lies aside, without the reasons."""
    names = [path.name for path in season.folder.aside.iterdir()]
    return sorted(name for name in names if f"{name}.why.txt" in names)


def test_the_reason_says_why_when_and_what_to_do(season: Season) -> None:
    """Beside the file stands, in plain words: its name, the cause, the way out, when, by what."""
    path = drop(season, "ana.xlsx")
    (taken,) = take(season)
    assert not path.exists()
    assert taken.aside == season.folder.aside / "ana.xlsx"
    assert taken.said("en") == f"ana.xlsx: not taken in; set aside as {taken.aside}"
    assert taken.aside.read_bytes() == b"hello, not a workbook"
    assert reason_of(taken.aside).read_text("utf-8").splitlines() == [
        "ana.xlsx was set aside on 2026-08-20 13:00 by 'silkbook intake'.",
        "ana.xlsx: This is not a spreadsheet file. Save the book as .xlsx or .ods and send it "
        "again.",
        "Only filled books may come, as .xlsx or .ods. If this was meant to be one, put the book "
        "into incoming/ and run 'silkbook intake' again. If not, delete this file.",
    ]


def test_a_book_that_another_intake_may_take_is_told_so(
    season: Season, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file of a book's shape may come again as it is; a note never can, and that is said."""
    monkeypatch.setattr(
        "fieldbook.season.loading.isolated", lambda _, sent: (Outcome(died=True) for _ in sent)
    )
    write_filled(drop(season, "ana.xlsx"), season, good_visit("A1"))
    (taken,) = take(season)
    assert taken.aside
    assert reason_of(taken.aside).read_text("utf-8").splitlines()[-1] == (
        "Put a mended copy, or this file as it is, into incoming/ and run 'silkbook intake' again."
    )


def last_line(season: Season, name: str) -> str:
    """Return the way out that the reason beside a file names."""
    return reason_of(season.folder.aside / name).read_text("utf-8").splitlines()[-1]


def test_the_way_out_is_one_that_helps(season: Season, tmp_path: Path) -> None:
    """A file cut off, an empty one, an empty book, another season's, one with a password."""
    whole = write_filled(tmp_path / "whole.xlsx", season, good_visit("A1")).read_bytes()
    other = small_season(tmp_path / "other")
    foreign = replace(other, settings=replace(other.settings, season_id="north-2026"))
    drop(season, "cut.xlsx", whole[:-2000])
    drop(season, "none.xlsx", b"")
    write_filled(drop(season, "blank.xlsx"), season, {})
    write_filled(drop(season, "north.xlsx"), foreign, good_visit("A1"))
    locked = b"EncryptedPackage\0".decode().encode("utf-16-le")
    drop(season, "locked.xlsx", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 120 + locked)
    take(season)
    reason = reason_of(season.folder.aside / "cut.xlsx").read_text("utf-8")
    assert "its end is missing), so nothing of it was read. Send it again" in reason
    ways = {
        "cut.xlsx": "Nothing in this file can be mended here. Ask for the book again, ",
        "none.xlsx": "Nothing in this file can be mended here. Ask for the book again, ",
        "blank.xlsx": "There is nothing to do: delete this file. ",
        "north.xlsx": "If it belongs to that season, put this file as it is into incoming/ of ",
        "locked.xlsx": "Put a mended copy into incoming/ and run 'silkbook intake' again, and ",
    }
    assert aside(season) == sorted(ways)
    assert {name: way for name, way in ways.items() if way not in last_line(season, name)} == {}


def test_an_empty_book_that_lost_its_rows_may_be_mended(season: Season) -> None:
    """Where something heavier than emptiness is told, a mended copy is the way out."""
    path = write_filled(drop(season, "torn.xlsx"), season, good_visit("A1"))
    book = load_workbook(path)
    for title in ("Fields", "Stops", "Ears"):
        del book[title]
    book.save(path)
    take(season)
    assert "a mended copy, or this file as it is" in last_line(season, "torn.xlsx")


def test_what_lies_aside_is_not_met_again(season: Season) -> None:
    """Neither the file nor its reason is tried at the next intake of the folder."""
    drop(season, "ana.xlsx")
    take(season)
    assert take(season) == []
    assert aside(season) == ["ana.xlsx"]


def test_every_kind_of_refusal_is_set_aside(
    season: Season, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Not a book, another season's, an empty one, one that killed its reader, an old .xls."""
    other = small_season(tmp_path / "other")
    settings = other.folder.settings
    settings.write_text(settings.read_text().replace("test-2026", "north-2026"))
    roster = season.folder.roster
    assert roster is not None
    shutil.copy(roster, drop(season, "roster.xlsx"))
    write_filled(drop(season, "blank.xlsx"), season, {})
    drop(season, "old.xls", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600)
    found = {taken.name: [p.code for p in taken.problems] for taken in take(season)}
    monkeypatch.setattr(
        "fieldbook.season.loading.isolated", lambda _, sent: (Outcome(died=True) for _ in sent)
    )
    drop(season, "killer.xlsx")
    found |= {taken.name: [p.code for p in taken.problems] for taken in take(season)}
    assert found == {
        "roster.xlsx": ["file-not-a-book"],
        "blank.xlsx": ["book-nothing-filled"],
        "old.xls": ["file-not-workbook"],
        "killer.xlsx": ["file-reader-died"],
    }
    assert aside(season) == sorted(found)


def test_a_mended_copy_of_the_same_name_is_taken_in(season: Season) -> None:
    """The mended book goes its way; the bad one stays aside under its name."""
    path = drop(season, "ana.xlsx")
    take(season)
    write_filled(path, season, good_visit("A1"))
    (taken,) = take(season)
    assert taken.accepted
    assert taken.aside is None
    assert (season.folder.taken / "ana.xlsx").is_file()
    assert aside(season) == ["ana.xlsx"]


def test_the_same_bad_file_does_not_pile_up(season: Season) -> None:
    """Dropped three times it lies there once, with the last reason; another file lies beside it."""
    for hours in range(3):
        path = drop(season, "ana.xlsx")
        list(take_in(season, [path], now=NOW + timedelta(hours=hours)))
    assert aside(season) == ["ana.xlsx"]
    assert "15:00" in reason_of(season.folder.aside / "ana.xlsx").read_text("utf-8")
    drop(season, "ana.xlsx", b"another file")
    take(season)
    assert aside(season) == ["ana (2).xlsx", "ana.xlsx"]
    assert (season.folder.aside / "ana.xlsx").read_bytes() == b"hello, not a workbook"


def test_files_from_elsewhere_stay_where_they_are(season: Season, tmp_path: Path) -> None:
    """A file that was named by its path is told, and neither moved nor given a reason."""
    path = tmp_path / "ana.xlsx"
    path.write_bytes(b"hello, not a workbook")
    (taken,) = take(season, path)
    assert taken.aside is None
    assert path.is_file()
    assert not season.folder.aside.exists()
    assert not reason_of(path).exists()


def test_a_file_aside_can_be_tried_again_where_it_lies(season: Season) -> None:
    """Named itself, it is tried again: still bad it stays, good it is taken and its reason goes."""
    drop(season, "ana.xlsx")
    take(season)
    path = season.folder.aside / "ana.xlsx"
    assert [taken.aside for taken in take(season, season.folder.aside)] == [path]
    write_filled(path, season, good_visit("A1"))
    (taken,) = take(season, path)
    assert taken.accepted
    assert list(season.folder.aside.iterdir()) == []
    assert (season.folder.taken / "ana.xlsx").is_file()


@pytest.mark.parametrize("name", HOSTILE, ids=[ascii(name[:12]) for name in HOSTILE])
def test_names_are_only_data(season: Season, name: str) -> None:
    """Whatever a file is called, it comes to lie aside whole, with a reason that can be read."""
    path = drop(season, name)
    (taken,) = take(season, path)
    assert taken.aside is not None
    assert taken.aside.parent == season.folder.aside
    assert taken.aside.read_bytes() == b"hello, not a workbook"
    reason = reason_of(taken.aside)
    assert one_line(name) in reason.read_text("utf-8")
    assert len(reason.name.encode()) <= 255
    assert one_line(reason.name) == reason.name
    assert sorted(season.folder.aside.iterdir()) == sorted([taken.aside, reason])
    assert take(season) == []


def test_a_good_book_of_a_hostile_name_is_taken_in(season: Season, tmp_path: Path) -> None:
    """Bytes that are no text, in a name: the event and the ledger hold it as plain text."""
    good = write_filled(tmp_path / "good.xlsx", season, good_visit("A1"))
    (taken,) = take(season, drop(season, "bytes-\udcff\n.xlsx", good.read_bytes()))
    assert taken.accepted
    (event,) = season.folder.events.iterdir()
    assert '"file": "bytes-_ .xlsx"' in event.read_text("utf-8")
    assert [path.name for path in season.folder.taken.iterdir()] == ["bytes-_ .xlsx"]


def test_a_long_name_that_collides_is_numbered(season: Season) -> None:
    """Two files whose long names are cut to the same one lie side by side."""
    for number, ending in enumerate(("a", "b")):
        drop(season, "n" * 240 + f"{ending}.xlsx", b"file %d" % number)
    first, second = take(season)
    assert first.aside is not None
    assert second.aside is not None
    assert (first.aside.read_bytes(), second.aside.read_bytes()) == (b"file 0", b"file 1")


def test_a_reason_whose_file_never_came_is_cleared(season: Season) -> None:
    """Killed between reason and move, or taken out by hand: the next intake clears the reason."""
    drop(season, "ana.xlsx")
    take(season)
    (season.folder.aside / "ana.xlsx").unlink()
    (season.folder.aside / "mine.txt").write_text("mine")
    take(season)
    assert [path.name for path in season.folder.aside.iterdir()] == ["mine.txt"]


def test_a_place_that_is_no_folder_is_told_and_stops_no_other(season: Season) -> None:
    """A file called set-aside: the bad book stays in incoming/, the good one is taken in."""
    drop(season, "set-aside", b"in the way")
    bad = drop(season, "a.xlsx")
    good = write_filled(drop(season, "b.xlsx"), season, good_visit("A1"))
    first, second = take(season, bad, good)
    assert [found.code for found in first.problems] == ["file-not-workbook", "file-not-moved"]
    assert bad.is_file()
    assert second.accepted


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="there are no pipes with names here")
def test_a_pipe_is_no_file(season: Season, tmp_path: Path) -> None:
    """A pipe without a writer, named by hand, ends in one line instead of waiting for ever."""
    os.mkfifo(tmp_path / "pipe.xlsx")
    (taken,) = take(season, tmp_path / "pipe.xlsx")
    assert [found.code for found in taken.problems] == ["file-unreadable"]
