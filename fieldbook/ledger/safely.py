"""How a file is written so that it is there whole or not at all, whatever ends the program."""

import errno
import os
import tempfile
from collections import deque
from collections.abc import Collection, Iterable, Mapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from pathlib import Path

UNFINISHED = ".writing-"
_MOST_WAITING = 16  # threads, each with a file that the disk has not taken yet


def _usual_mode() -> int:
    """Return the rights that a new file gets here: colleagues may share a season folder."""
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


_FILE_MODE = _usual_mode()


def write_safely(path: Path, data: bytes | Iterable[bytes], *, new: bool = False) -> None:
    """Write a file so that it is there whole or not at all: write, flush to disk, rename.

    A long one may come in pieces. With `new` a file that is there already is never replaced:
    FileExistsError.
    """
    write_all_safely({path: data}, new=new)


def write_all_safely(files: Mapping[Path, bytes | Iterable[bytes]], *, new: bool = False) -> None:
    """Write each of these files as `write_safely` does, and let the disk take all at once.

    They get their names one by one, in this order, once every one of them is on disk.
    """
    written: dict[Path, Path] = {}
    try:
        for path, data in files.items():
            path.parent.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(dir=path.parent, prefix=UNFINISHED)
            written[path] = Path(name)
            with os.fdopen(handle, "wb") as stream:
                written[path].chmod(_FILE_MODE)
                stream.writelines([data] if isinstance(data, bytes) else data)
        _flush(written.values())
        for path, unnamed in written.items():
            _name(unnamed, path, new=new)
    except BaseException:
        for unnamed in written.values():
            unnamed.unlink(missing_ok=True)
        raise
    _flush({path.parent for path in files} if os.name == "posix" else ())


def _flush(paths: Collection[Path]) -> None:
    """Make files or folders last; a disk takes those that wait for it together in one go."""
    if len(paths) <= 1:
        deque(map(_sync, paths), maxlen=0)
        return
    with ThreadPoolExecutor(_MOST_WAITING) as threads:
        deque(threads.map(_sync, paths), maxlen=0)


def _sync(path: Path) -> None:
    handle = os.open(path, os.O_RDONLY if path.is_dir() else os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _name(written: Path, path: Path, *, new: bool) -> None:
    if new:
        with suppress(OSError):  # a share that knows no links
            os.link(written, path)
            written.unlink()
            return
        if path.exists():
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(path))
    written.replace(path)
