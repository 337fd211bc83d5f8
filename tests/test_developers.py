"""The page for contributors names files that are there."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PAGE = (ROOT / "DEVELOPERS.md").read_text("utf-8")
ROOMS = (ROOT / "fieldbook", ROOT / "templates", ROOT / "tests")
SPAN = re.compile(r"`([\w.*-]+/[\w./*-]*|[\w-]+\.(?:py|j2|toml|md))`")
# What a season folder holds, and patterns of names that a contributor fills in.
OF_A_SEASON = re.compile(r"(incoming|reports)/|season\.toml$")
FILLED_IN = re.compile(r"[A-Z]{3,}")


def named() -> list[str]:
    """Return every path of the code that the page names."""
    words = re.sub(r"```.*?```", "", PAGE, flags=re.DOTALL)
    found = {one for one in SPAN.findall(words) if not OF_A_SEASON.match(one)}
    return sorted(one for one in found if not FILLED_IN.search(Path(one).parent.as_posix()))


def is_there(name: str) -> bool:
    """Say whether a path stands in a room; a bare name may stand anywhere in the code."""
    bare = name.rstrip("/")
    if "/" in name:
        return any(any(room.glob(bare)) for room in (ROOT, *ROOMS))
    return any(any(room.glob(f"**/{bare}")) for room in ROOMS) or (ROOT / bare).exists()


@pytest.mark.parametrize("name", named())
def test_every_path_on_the_page_is_there(name: str) -> None:
    """A file that was moved or renamed is told here."""
    assert is_there(name)


def test_many_paths_are_looked_at() -> None:
    """The page names its files in a way that this finds, and a wrong one is told."""
    assert len(named()) > 80
    assert not is_there("check/nowhere.py")
    assert not is_there("nowhere.py")
