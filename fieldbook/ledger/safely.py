"""How a file is written so that it is there whole or not at all, whatever ends the program."""

import errno
import os
import tempfile
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

UNFINISHED = ".writing-"


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
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=UNFINISHED)
    try:
        with os.fdopen(handle, "wb") as stream:
            Path(name).chmod(_FILE_MODE)
            stream.writelines([data] if isinstance(data, bytes) else data)
            stream.flush()
            os.fsync(stream.fileno())
        _name(Path(name), path, new=new)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
    _sync_folder(path.parent)


def _name(written: Path, path: Path, *, new: bool) -> None:
    if new:
        with suppress(OSError):  # a share that knows no links
            os.link(written, path)
            written.unlink()
            return
        if path.exists():
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(path))
    written.replace(path)


def _sync_folder(folder: Path) -> None:
    """Make a rename last; not every system lets a folder be opened for that."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
