"""What becomes of a file in the incoming folder: it moves to taken/, or aside with its reason.

A file that was named from elsewhere stays where it is. The name that a file came with is only data:
it is cut and cleaned before it becomes another name, a line of text or a line of an event.
"""

import filecmp
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from itertools import count
from pathlib import Path

from fieldbook.ledger.folder import SeasonFolder, is_reason, reason_of
from fieldbook.ledger.safely import write_safely
from fieldbook.problems import Problem, Weight, line
from fieldbook.words import one_line, say

_COMMAND = "silkbook intake"
_MOST_NAME_BYTES = 200  # most systems take 255; the rest is for a number and the reason's ending
_MOST_SUFFIX_BYTES = 12

_HEAD = "{file} was set aside on {when} by '{command}'."
_TAIL = "Put a mended copy, or this file as it is, into {incoming} and run '{command}' again."
_MEND_TAIL = "Put a mended copy into {incoming} and run '{command}' again, and delete this file."
_AGAIN_TAIL = (
    "Nothing in this file can be mended here. Ask for the book again, put it into {incoming}, "
    "run '{command}' again, and delete this file."
)
_THERE_TAIL = (
    "If it belongs to that season, put this file as it is into {incoming} of that season's folder "
    "and run '{command}' there. If not, ask for the book of this season and delete this file."
)
_NOTHING_TAIL = (
    "There is nothing to do: delete this file. If a filled book was meant, ask for that one."
)
_NO_BOOK_TAIL = (
    "Only filled books may come, as .xlsx or .ods. If this was meant to be one, put the book "
    "into {incoming} and run '{command}' again. If not, delete this file."
)
_TAILS = {
    "file-not-workbook": _NO_BOOK_TAIL,
    "file-not-a-book": _NO_BOOK_TAIL,
    "file-old-xls": _NO_BOOK_TAIL,
    "file-empty": _AGAIN_TAIL,
    "file-broken": _AGAIN_TAIL,
    "file-protected": _MEND_TAIL,
    "file-too-large": _MEND_TAIL,
    "file-over-limit": _MEND_TAIL,
    "file-unsafe": _MEND_TAIL,
    "book-form-too-old": _MEND_TAIL,
    "book-other-season": _THERE_TAIL,
    "book-nothing-filled": _NOTHING_TAIL,
}


def move_to_taken(folder: SeasonFolder, path: Path) -> None:
    """Move a kept book out of the incoming folder; its reason goes if it had been set aside."""
    if not _is_incoming(folder, path) or _is_in(folder.taken, path):
        return
    folder.taken.mkdir(parents=True, exist_ok=True)
    path.replace(free_place(folder.taken, path))
    if _is_in(folder.aside, path):
        reason_of(path).unlink(missing_ok=True)


def set_aside(
    folder: SeasonFolder, path: Path, problems: Iterable[Problem], *, when: datetime, language: str
) -> Path | None:
    """Move a file that can't be taken in aside, with the reason beside it.

    The reason is written first: a file set aside always has one, and a reason whose file did not
    follow, since the command was killed, is cleared by `tidy`.

    Returns
    -------
    Path or None
        Where the file is now; None if it lies outside the incoming folder and stays there.

    Raises
    ------
    OSError
        If the file can't be moved; it then lies where it was, without a reason.
    """
    if not _is_incoming(folder, path):
        return None
    lies_there = _is_in(folder.aside, path)
    place = folder.aside / path.name if lies_there else free_place(folder.aside, path)
    reason = reason_of(place)
    write_safely(reason, _reason(path.name, problems, when, language).encode("utf-8", "replace"))
    try:
        path.replace(place)
    except OSError:
        reason.unlink(missing_ok=True)
        raise
    return place


def tidy(folder: SeasonFolder) -> None:
    """Remove reasons whose file is not there; call it with the season's lock held."""
    for reason in lone_reasons(folder):
        reason.unlink(missing_ok=True)


def lone_reasons(folder: SeasonFolder) -> list[Path]:
    """Find reasons whose file was taken away, or never came since the command was killed."""
    names, reasons = _aside(folder)
    return [path for path in reasons if path.name not in {reason_of(one).name for one in names}]


def without_reason(folder: SeasonFolder) -> list[Path]:
    """Find files set aside that have no reason beside them."""
    names, reasons = _aside(folder)
    return [path for path in names if reason_of(path) not in reasons]


def _aside(folder: SeasonFolder) -> tuple[list[Path], list[Path]]:
    """Return what was set aside, and the reasons; not what is hidden."""
    found = [path for path in sorted(folder.aside.glob("[!.]*")) if path.is_file()]
    reasons = [path for path in found if is_reason(path)]
    return [path for path in found if not is_reason(path)], reasons


def _reason(name: str, problems: Iterable[Problem], when: datetime, language: str) -> str:
    """Write why, heaviest first, when, by which command, and the way out."""
    ranks = list(Weight)
    told = sorted(problems, key=lambda found: ranks.index(found.weight))
    params = {
        "file": one_line(name),
        "when": when.strftime("%Y-%m-%d %H:%M"),
        "command": _COMMAND,
        "incoming": "incoming/",
    }
    why = [line(found, language) for found in told]
    tail = say(_tail(told), language, **params)
    return "\n".join((say(_HEAD, language, **params), *why, tail, ""))


def _tail(told: Sequence[Problem]) -> str:
    """Return the way out of what is heaviest: some causes a mended copy does not help."""
    heaviest = [found for found in told if found.weight is told[0].weight]
    known = (_TAILS[found.code] for found in heaviest if found.code in _TAILS)
    return next(known, _TAIL)


def _is_incoming(folder: SeasonFolder, path: Path) -> bool:
    return folder.incoming.resolve() in path.resolve().parents


def _is_in(place: Path, path: Path) -> bool:
    return path.parent.resolve() == place.resolve()


def free_place(place: Path, path: Path) -> Path:
    """Return the first name that is free there, or that the same bytes bear already."""
    return next(
        place / name
        for name in _names(one_line(path.name))
        if not (place / name).exists() or _is_same(place / name, path)
    )


def _names(name: str) -> Iterator[str]:
    """Write a name, then numbered ones; short enough, and never one that a reason has."""
    whole = Path(name)
    suffix = whole.suffix if len(whole.suffix.encode()) <= _MOST_SUFFIX_BYTES else ""
    stem = name.removesuffix(suffix)
    stem = stem.encode()[: _MOST_NAME_BYTES - len(suffix.encode())].decode("utf-8", "ignore")
    stem = stem.lstrip(".") or "file"
    if stem.endswith(".why") and suffix == ".txt":
        stem += "_"
    yield f"{stem}{suffix}"
    yield from (f"{stem} ({number}){suffix}" for number in count(2))


def _is_same(one: Path, other: Path) -> bool:
    """Say whether two files hold the same bytes; what can't be read is never the same."""
    try:
        return filecmp.cmp(one, other, shallow=False)
    except OSError:
        return False
