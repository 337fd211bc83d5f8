"""A ledger in a file is kept on this computer's own disk; elsewhere the way out is told."""

import os
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace

import pytest
from click.testing import CliRunner
from database import Postgres
from seasons import NOW, good_visit, write_filled

from fieldbook.cli import main
from fieldbook.ledger import disk
from fieldbook.ledger.disk import SharedDiskError, is_synced, mounted_as, network_kind
from fieldbook.ledger.ledger import Ledger
from fieldbook.problems import problem, sentence
from fieldbook.season.intake import take_in
from fieldbook.season.season import Season

# Lines as Linux writes them, with the optional fields that a line may have or lack.
MOUNTS = """\
6 1 254:0 / / rw,relatime shared:1 - ext4 /dev/vda rw
30 6 0:40 / /home rw,relatime shared:4 master:2 - nfs4 files:/home rw,vers=4.2
31 30 0:41 / /home/ana/own\\040disk rw,relatime - ext4 /dev/sdb1 rw
32 6 0:42 / /srv/corn rw - cifs //files/corn rw
33 6 0:43 / /srv/corn rw - ext4 /dev/sdc1 rw
34 6 0:44 / /mnt/a rw - fuse.sshfs ana@files:/ rw
broken line
"""


@pytest.fixture(autouse=True)
def _forget() -> Iterator[None]:
    """Look at each folder anew."""
    disk._kind.cache_clear()
    yield
    disk._kind.cache_clear()


@pytest.mark.parametrize(
    ("folder", "kind"),
    [
        ("/season", "ext4"),
        ("/home/ana/season", "nfs4"),
        ("/home/ana/own disk/season", "ext4"),
        ("/homestead", "ext4"),
        ("/srv/corn", "ext4"),
        ("/mnt/a/b", "fuse.sshfs"),
    ],
)
def test_the_deepest_and_last_mount_counts(folder: str, kind: str) -> None:
    """A disk mounted inside another one, or over it, is the one that a folder lies on."""
    assert mounted_as(Path(folder), MOUNTS) == kind


def mount(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, kind: str) -> None:
    """Let the system say that a folder lies on such a disk."""
    table = tmp_path / "mountinfo"
    table.write_text(
        f"6 1 254:0 / / rw - ext4 /dev/vda rw\n7 6 0:9 / {tmp_path} rw - {kind} x rw\n"
    )
    monkeypatch.setattr(disk, "_MOUNTS", table)


@pytest.mark.skipif(os.name != "posix", reason="Windows is asked otherwise")
@pytest.mark.parametrize("kind", ["nfs", "nfs4", "cifs", "smb3", "9p", "fuse.sshfs", "afs"])
def test_a_network_disk_is_refused_with_the_way_out(
    season: Season, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kind: str
) -> None:
    """`ledger-on-shared-disk` from every command that needs the ledger; nothing is written."""
    book = write_filled(tmp_path / "ana.xlsx", season, good_visit("A1"))
    season.folder.ledger.unlink()
    disk._kind.cache_clear()
    mount(monkeypatch, tmp_path, kind)
    folder = str(season.folder.path)
    words = sentence(problem("ledger-on-shared-disk", folder=folder, kind=kind))
    for command in (
        ["results", folder],
        ["intake", "--season", folder, str(book)],
        ["rebuild", folder],
    ):
        done = CliRunner().invoke(main, command)
        assert done.exit_code == 1
        assert done.output.splitlines()[-1] == words
    assert not season.folder.ledger.exists()
    assert list(season.folder.events.iterdir()) == []


@pytest.mark.skipif(os.name != "posix", reason="Windows is asked otherwise")
def test_the_way_out_is_open(
    season: Season, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, postgres: Postgres
) -> None:
    """On a network's disk the ledger can be moved into a database, and then all goes on."""
    mount(monkeypatch, tmp_path, "nfs4")
    folder, url = str(season.folder.path), postgres.new_url()
    moved = CliRunner().invoke(main, ["rebuild", folder, "--ledger", url])
    assert moved.exit_code == 0
    settings = season.folder.settings
    text = settings.read_text("utf-8").replace("[ledger]", f'[ledger]\nurl = "{url}"')
    settings.write_text(text, "utf-8")
    done = CliRunner().invoke(main, ["results", folder, "--as-of", "2026-08-20"])
    assert "A1" in done.output
    assert not season.folder.ledger.exists()


@pytest.mark.skipif(os.name != "posix", reason="Windows is asked otherwise")
@pytest.mark.parametrize("kind", ["ext4", "xfs", "btrfs", "tmpfs", "overlay", "apfs", "virtiofs"])
def test_a_disk_of_this_computer_is_not_refused(
    season: Season, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kind: str
) -> None:
    """Nothing is said of an ordinary disk."""
    mount(monkeypatch, tmp_path, kind)
    book = write_filled(tmp_path / "ana.xlsx", season, good_visit("A1"))
    assert [taken.accepted for taken in take_in(season, [book], now=NOW)] == [True]


def test_without_a_table_of_mounts_nothing_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What the system does not tell counts as this computer's own."""
    monkeypatch.setattr(disk, "_MOUNTS", tmp_path / "none")
    assert network_kind(tmp_path) is None


@pytest.mark.parametrize("mark", [".stfolder", ".dropbox.cache"])
def test_a_synced_folder_is_refused(season: Season, mark: str) -> None:
    """A folder that a program keeps alike on several computers, known by what lies at its top."""
    assert not is_synced(season.folder.path)
    (season.folder.path.parent / mark).mkdir()
    with pytest.raises(SharedDiskError) as refused, Ledger(season.folder):
        pass
    assert refused.value.args == (str(season.folder.path), "synced")


def test_a_place_that_a_system_syncs_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """MacOS has such folders at one place, Windows marks them."""
    assert is_synced(Path("/Users/ana/Library/CloudStorage/Drive/season"))
    assert is_synced(Path("/Users/ana/Library/Mobile Documents/season"))
    assert not is_synced(Path("/Users/ana/Library/season"))
    for tag, synced in ((0x9000701A, True), (0x9000001A, True), (0xA0000003, False)):
        stat = SimpleNamespace(st_reparse_tag=tag)
        monkeypatch.setattr("fieldbook.ledger.disk.os.lstat", lambda _, stat=stat: stat)
        assert is_synced(tmp_path) is synced
