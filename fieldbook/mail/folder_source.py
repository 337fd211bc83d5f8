"""Messages that lie as files: a folder of .eml files, one of them, or an mbox file."""

import mailbox
from collections.abc import Collection, Iterator
from functools import partial
from pathlib import Path

from fieldbook.mail.message import MAX_MESSAGE_BYTES, RawMessage
from fieldbook.mail.refusal import refusal
from fieldbook.mail.source import Piece, Source
from fieldbook.problems import Problem
from fieldbook.season.incoming import free_place
from fieldbook.words import one_line

_BEGINNING_BYTES = 1_000_000
_MBOX_MARK = b"From "


def file_source(path: Path, move_to: str | None) -> Source:
    """Return what reads the messages at a path; raise `MailRefusal` where there are none."""
    if path.is_dir():
        return FolderSource(path, move_to)
    if not path.is_file():
        raise refusal("mail-source-missing", path=one_line(str(path)))
    with path.open("rb") as stream:
        is_mbox = stream.read(len(_MBOX_MARK)) == _MBOX_MARK
    if is_mbox:
        return MboxSource(path)
    if path.suffix.lower() != ".eml":
        raise refusal("mail-source-missing", path=one_line(str(path)))
    return FolderSource(path.parent, move_to, only=path)


class FolderSource:
    """A folder of .eml files; sub-folders are left alone, so a handled message may move there."""

    def __init__(self, folder: Path, move_to: str | None, *, only: Path | None = None) -> None:
        self._folder = folder
        self._move_to = move_to
        self._only = only
        self.problems: list[Problem] = []

    def pieces(self, known: Collection[str]) -> tuple[int, Iterator[Piece]]:
        """Go through the files by name; a file's name is no promise, so none is known by it."""
        every = [self._only] if self._only else sorted(self._folder.iterdir())
        paths = [path for path in every if path.suffix.lower() == ".eml" and path.is_file()]
        return len(paths), (_file_piece(path) for path in paths)

    def put_away(self, piece: Piece) -> None:
        """Move the file into the sub-folder that the season names."""
        path = self._folder / piece.label
        if self._move_to is None or not path.is_file():
            return
        place = self._folder / Path(self._move_to).name
        place.mkdir(exist_ok=True)
        path.replace(free_place(place, path))


def _file_piece(path: Path) -> Piece:
    return Piece(place="", label=path.name, load=partial(_load_file, path))


def _load_file(path: Path) -> RawMessage:
    with path.open("rb") as stream:
        data = stream.read(MAX_MESSAGE_BYTES + 1)
    return _within_limits(data)


def _within_limits(data: bytes) -> RawMessage:
    if len(data) <= MAX_MESSAGE_BYTES:
        return RawMessage(data=data)
    return RawMessage(data=data[:_BEGINNING_BYTES], is_cut=True)


class MboxSource:
    """One file that holds many messages; it is only read."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self.problems: list[Problem] = []

    def pieces(self, known: Collection[str]) -> tuple[int, Iterator[Piece]]:
        """Go through the messages in the order of the file."""
        box = mailbox.mbox(self._path, create=False)
        return len(box), self._each(box)

    def _each(self, box: mailbox.mbox) -> Iterator[Piece]:
        try:
            for number, key in enumerate(box.iterkeys(), start=1):
                label = f"{self._path.name} #{number}"
                yield Piece(place="", label=label, load=partial(_load_from, box, key))
        finally:
            box.close()

    def put_away(self, piece: Piece) -> None:
        """Leave it: a file that other programs write is not changed."""


def _load_from(box: mailbox.mbox, key: str) -> RawMessage:
    with box.get_file(key) as stream:
        return _within_limits(stream.read(MAX_MESSAGE_BYTES + 1))
