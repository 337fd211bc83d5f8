"""The example books are what the demo makes today."""

import zipfile
from pathlib import Path

from examples import EXAMPLES, FOLDER, made_now


def content(path: Path) -> dict[str, bytes]:
    """Return a file's parts, so that another compression counts as the same book."""
    if path.suffix != ".xlsx":
        return {path.suffix: path.read_bytes()}
    with zipfile.ZipFile(path) as book:
        return {name: book.read(name) for name in book.namelist()}


def test_examples_are_current(tmp_path: Path) -> None:
    """Every example holds what the demo season gives today; renew with tests/examples.py."""
    made = made_now(tmp_path / "demo")
    stale = [name for name, path in made.items() if content(FOLDER / name) != content(path)]
    assert stale == []
    known = {path.name for path in FOLDER.iterdir()}
    assert known == {*EXAMPLES, "README.md"}
