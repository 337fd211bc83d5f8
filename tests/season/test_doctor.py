"""The doctor finds what is wrong in a season folder, says how to mend it, and changes nothing."""

import json
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from click.testing import CliRunner
from seasons import NOW, book_plan, good_visit, write_filled

from fieldbook.cli import main
from fieldbook.ledger.folder import SeasonFolder, season_lock
from fieldbook.problems import Weight
from fieldbook.season.blank import keep_identity
from fieldbook.season.doctor import checkup
from fieldbook.season.intake import take_in
from fieldbook.season.rebuild import rebuild
from fieldbook.season.season import Season


@pytest.fixture
def sound(season: Season, tmp_path: Path) -> SeasonFolder:
    """Give a season with two books taken in, one set aside, and one book known."""
    entries = good_visit("A1")
    first = write_filled(tmp_path / "a.xlsx", season, entries)
    changed = {**entries, ("ears", ("A1", 1, 1), "remark"): "worm"}
    second = write_filled(tmp_path / "b.xlsx", season, changed)
    season.folder.make()
    bad = season.folder.incoming / "bad.xlsx"
    bad.write_bytes(b"no book")
    assert len(list(take_in(season, [first, second, bad], now=NOW))) == 3
    keep_identity(season, book_plan(season))
    return season.folder


def files_of(folder: SeasonFolder) -> dict[str, bytes]:
    """Return every file below the season folder."""
    paths = (path for path in folder.path.rglob("*") if path.is_file())
    return {str(path): path.read_bytes() for path in paths}


def codes(folder: SeasonFolder) -> list[str]:
    """Look through a folder; return what is told, having made sure that nothing changed."""
    before = files_of(folder)
    found = checkup(folder.path)
    assert files_of(folder) == before
    return [problem.code for problem in found.problems]


def test_a_sound_season_has_nothing_to_tell(sound: SeasonFolder) -> None:
    """All is counted, nothing is told, nothing changes."""
    assert codes(sound) == []
    found = checkup(sound.path)
    assert (found.originals, found.events, found.books_known) == (2, 2, 1)
    assert found.ledger_rows > 100


def spoil_ledger(folder: SeasonFolder, statement: str) -> None:
    """Change the ledger behind the tool's back."""
    with closing(sqlite3.connect(folder.ledger)) as connection:
        connection.execute(statement)
        connection.commit()


@pytest.mark.parametrize(
    ("statement", "counts"),
    [
        ("UPDATE sheet_stops SET ears = 99 WHERE stop = 1", (1, 1)),
        ("DELETE FROM sheet_stops WHERE stop = 1", (1, 0)),
        ("INSERT INTO sheet_stops (visit_id, stop, ears) VALUES ('x', 1, 1)", (0, 1)),
    ],
)
def test_a_changed_ledger_row_is_found_and_rebuild_mends_it(
    sound: SeasonFolder, statement: str, counts: tuple[int, int]
) -> None:
    """One figure changed, lost or added by hand: the table and the row are named."""
    spoil_ledger(sound, statement)
    (found,) = checkup(sound.path).problems
    params = dict(found.params)
    assert (found.code, params["table"]) == ("ledger-differs", "sheet_stops")
    assert (params["lacking"], params["extra"]) == counts
    rebuild(sound)
    assert codes(sound) == []


def test_a_ledger_that_lacks_an_event_is_a_note(sound: SeasonFolder) -> None:
    """Killed between event and ledger, or without a ledger: the next command enters the event."""
    for table in ("events", "visits", "readings", "questions", "sheet_ears", "sheet_stops"):
        spoil_ledger(sound, f"DELETE FROM {table}")
    for table in ("sheet_fields", "sheet_leaves"):
        spoil_ledger(sound, f"DELETE FROM {table}")
    assert codes(sound) == ["ledger-behind"]
    sound.ledger.unlink()
    assert codes(sound) == ["ledger-behind"]


def cut_ledger(folder: SeasonFolder) -> None:
    folder.ledger.write_bytes(folder.ledger.read_bytes()[:5000])


def change_original(folder: SeasonFolder) -> None:
    next(folder.originals.iterdir()).write_bytes(b"changed")


def lose_original(folder: SeasonFolder) -> None:
    next(folder.originals.iterdir()).unlink()


def lose_event(folder: SeasonFolder) -> None:
    (folder.events / "000001.json").unlink()


def damage_event(folder: SeasonFolder) -> None:
    (folder.events / "000001.json").write_text("{")


def lose_kept(folder: SeasonFolder) -> None:
    shutil.rmtree(folder.path / "kept")


def copy_event(folder: SeasonFolder) -> None:
    shutil.copy(folder.events / "000001.json", folder.events / "000003.json")


def spare_original(folder: SeasonFolder) -> None:
    digest = "2cf24dba5fb0a30e26e83b2ac5b9e29e1b161e5c1fa7425e73043362938b9824"
    (folder.originals / f"{digest}.xlsx").write_bytes(b"hello")


def stray_original(folder: SeasonFolder) -> None:
    (folder.originals / "mine.xlsx").write_bytes(b"hello")


def damage_identity(folder: SeasonFolder) -> None:
    next(folder.identities.iterdir()).write_text("{")


def rename_identity(folder: SeasonFolder) -> None:
    path = next(folder.identities.iterdir())
    path.rename(path.with_name("other.json"))


def leave_half(folder: SeasonFolder) -> None:
    (folder.reports / ".writing-abc").write_bytes(b"half")


def leave_rebuilt(folder: SeasonFolder) -> None:
    folder.rebuilt.write_bytes(b"half")


def lose_reason(folder: SeasonFolder) -> None:
    (folder.aside / "bad.xlsx.why.txt").unlink()


def lose_aside(folder: SeasonFolder) -> None:
    (folder.aside / "bad.xlsx").unlink()


def wait(folder: SeasonFolder) -> None:
    (folder.incoming / "more.xlsx").write_bytes(b"more")


def hold_open(folder: SeasonFolder) -> None:
    (folder.incoming / "~$more.xlsx").write_bytes(b"more")


def break_settings(folder: SeasonFolder) -> None:
    folder.settings.write_text("year = ")


def lose_roster(folder: SeasonFolder) -> None:
    (folder.path / "roster.xlsx").unlink()


MISHAPS = {
    cut_ledger: ["ledger-damaged"],
    change_original: ["kept-original-damaged"],
    lose_original: ["kept-original-damaged"],
    lose_event: ["kept-event-missing", "kept-original-spare"],
    damage_event: ["kept-event-damaged"],
    lose_kept: ["kept-empty"],
    copy_event: ["kept-event-misplaced"],
    spare_original: ["kept-original-spare"],
    stray_original: ["kept-original-misnamed"],
    damage_identity: ["kept-identity-damaged"],
    rename_identity: ["kept-identity-damaged"],
    leave_half: ["unfinished-write"],
    leave_rebuilt: ["unfinished-write"],
    lose_reason: ["aside-without-reason"],
    lose_aside: ["aside-reason-alone"],
    wait: ["incoming-waiting"],
    hold_open: ["incoming-unseen"],
    break_settings: ["season-broken"],
    lose_roster: ["roster-missing"],
}


@pytest.mark.parametrize("mishap", MISHAPS, ids=lambda mishap: mishap.__name__)
def test_each_mishap_is_told_by_its_code(sound: SeasonFolder, mishap: object) -> None:
    """One thing spoiled: that thing is named, with exit code 1 unless it is only a note."""
    assert callable(mishap)
    mishap(sound)
    assert codes(sound) == MISHAPS[mishap]
    done = CliRunner().invoke(main, ["doctor", str(sound.path)])
    heavy = [one for one in checkup(sound.path).problems if one.weight is not Weight.NOTE]
    assert done.exit_code == (1 if heavy else 0)
    assert done.output.splitlines()[-1].startswith("Looked at ")


def test_an_event_twice_cant_be_replayed(sound: SeasonFolder) -> None:
    """A copy of an event under the next number, and with it inside: a replay would fail."""
    text = (sound.events / "000001.json").read_text("utf-8")
    (sound.events / "000003.json").write_text(text.replace('"sequence": 1', '"sequence": 3'))
    assert codes(sound) == ["kept-replay-fails"]


def test_as_json_it_says_the_same(sound: SeasonFolder) -> None:
    """`--json`: what was looked at, and each problem with its code."""
    lose_reason(sound)
    done = CliRunner().invoke(main, ["doctor", str(sound.path), "--json"])
    found = json.loads(done.output)
    assert found["checked"] == checkup(sound.path).counts
    assert [problem["code"] for problem in found["problems"]] == ["aside-without-reason"]


def test_it_waits_for_a_command_at_work(
    sound: SeasonFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While another command writes in the folder there is nothing sound to look at."""
    monkeypatch.setattr("fieldbook.season.doctor._WAIT_S", 0.1)
    with season_lock(sound):
        done = CliRunner().invoke(main, ["doctor", str(sound.path)])
    assert done.exit_code == 1
    assert "Another silkbook is working" in done.output


def test_a_folder_that_cant_be_locked_is_looked_at_all_the_same(
    sound: SeasonFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A season on a read-only disk: told, and the rest is still looked at."""
    lose_reason(sound)

    def refused(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("fieldbook.season.doctor.season_turn", refused)
    assert codes(sound) == ["not-writable", "aside-without-reason"]


def test_a_folder_without_a_season_is_no_patient(tmp_path: Path) -> None:
    """One line that names the folder, and no file made in it."""
    done = CliRunner().invoke(main, ["doctor", str(tmp_path)])
    assert done.exit_code == 1
    assert f"There is no season.toml in '{tmp_path}'" in done.output
    assert len(done.output.splitlines()) == 1
    assert list(tmp_path.iterdir()) == []
