"""The folder of correction books: what was written there, and what may leave it again.

A file goes only while it is byte for byte what was written, by the note that is kept beside it.
"""

import json
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from pathlib import Path

from fieldbook.ledger.folder import SeasonFolder, digest
from fieldbook.ledger.safely import write_safely
from fieldbook.problems import Place, Problem, problem

_NOTE = ".written.json"


@dataclass(frozen=True, kw_only=True)
class Cleared:
    """What left the folder, and what stays in it though it asks nothing any more."""

    removed: tuple[Path, ...]
    kept: tuple[Problem, ...]


def ask_folder(folder: SeasonFolder) -> Path:
    """Return where correction books are written."""
    return folder.blank / "ask"


def write_noted(path: Path, data: bytes) -> None:
    """Write a file and note its hash; the note comes first, so no file of ours is without."""
    _note(path.parent, _noted(path.parent) | {path.name: digest(data)})
    write_safely(path, data)


def clear_ask_folder(folder: SeasonFolder, asking: Collection[str]) -> Cleared:
    """Remove what was written here and asks nothing any more; `asking` are names without ending.

    What somebody changed stays, and is told; of files that were not written here nothing is said.
    """
    place = ask_folder(folder)
    noted = _noted(place)
    over = [place / name for name in sorted(noted) if Path(name).stem not in asking]
    there = [path for path in over if path.is_file()]
    unchanged = [path for path in there if digest(path.read_bytes()) == noted[path.name]]
    for path in unchanged:
        path.unlink()
    gone = {path.name for path in over} - {path.name for path in there}
    gone |= {path.name for path in unchanged}
    if gone:
        _note(place, {name: known for name, known in noted.items() if name not in gone})
    kept = (path for path in there if path not in unchanged)
    return Cleared(
        removed=tuple(unchanged),
        kept=tuple(problem("ask-changed", Place(file=path.name)) for path in kept),
    )


def _noted(place: Path) -> dict[str, str]:
    """Return the hashes of what was written, by name; none where the note can't be read."""
    try:
        found = json.loads((place / _NOTE).read_text("utf-8"))
    except (OSError, ValueError):
        return {}
    named = found if isinstance(found, dict) else {}
    return {name: str(known) for name, known in named.items() if _is_plain(name)}


def _is_plain(name: str) -> bool:
    """Say whether a name is one of a file in the folder itself, whatever a note says."""
    return Path(name).name == name


def _note(place: Path, noted: Mapping[str, str]) -> None:
    text = json.dumps(noted, indent=1, sort_keys=True)
    write_safely(place / _NOTE, f"{text}\n".encode())
