"""Files are written whole or not at all, one or several at a time."""

import os
from pathlib import Path

import pytest

from fieldbook.ledger import safely
from fieldbook.ledger.safely import write_all_safely, write_safely

FILES = {"b.json": b"2", "a.json": b"1", "c.json": b"3"}


def files(folder: Path) -> dict[str, bytes]:
    """Return what lies in a folder, hidden files as well."""
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_files_of_several_folders_are_all_there(tmp_path: Path) -> None:
    """Folders are made, pieces are joined, and what was there before is replaced."""
    write_safely(tmp_path / "one" / "a", [b"be", b"fore"])
    write_all_safely({tmp_path / "one" / "a": b"after", tmp_path / "two" / "b": iter([b"x", b"y"])})
    assert files(tmp_path / "one") == {"a": b"after"}
    assert files(tmp_path / "two") == {"b": b"xy"}


def test_nothing_to_write_is_nothing(tmp_path: Path) -> None:
    """No file, no folder, no fault."""
    write_all_safely({})
    assert files(tmp_path) == {}


@pytest.mark.parametrize("at", [1, 2, 3])
def test_what_cant_be_flushed_leaves_none_of_them(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, at: int
) -> None:
    """The disk is full at any of them: no name is given, nothing half written is left."""
    count = 0

    def full(_: int) -> None:
        nonlocal count
        count += 1
        if count == at:
            raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space"):
        write_all_safely({tmp_path / name: data for name, data in FILES.items()})
    assert files(tmp_path) == {}


def test_names_are_given_in_order_once_all_is_on_disk(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An end in the midst of naming leaves the first ones whole: events come in their order."""
    done: list[str] = []
    real = os.fsync

    def seen(handle: int) -> None:
        real(handle)
        done.append("on disk")

    def named(written: Path, path: Path, *, new: bool) -> None:
        if len(done) == len(FILES) + 2:
            raise KeyboardInterrupt
        done.append(path.name)
        written.replace(path)

    monkeypatch.setattr(os, "fsync", seen)
    monkeypatch.setattr(safely, "_name", named)
    with pytest.raises(KeyboardInterrupt):
        write_all_safely({tmp_path / name: data for name, data in FILES.items()})
    assert done == ["on disk"] * len(FILES) + ["b.json", "a.json"]
    assert files(tmp_path) == {"b.json": b"2", "a.json": b"1"}


def test_a_new_file_never_replaces_another(tmp_path: Path) -> None:
    """A number that somebody else used stays theirs, and what came before it is whole."""
    write_safely(tmp_path / "a.json", b"theirs", new=True)
    with pytest.raises(FileExistsError):
        write_all_safely({tmp_path / name: data for name, data in FILES.items()}, new=True)
    assert files(tmp_path) == {"a.json": b"theirs", "b.json": b"2"}
