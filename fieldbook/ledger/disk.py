"""What kind of disk a folder lies on: a ledger in a file needs one of this computer alone.

A network's disk or a folder that a program keeps alike on several computers may lose a lock or
half a write, and with it a ledger. What the system does not tell cheaply counts as this computer's.
"""

import os
import sys
from functools import cache
from itertools import pairwise
from pathlib import Path

_MOUNTS = Path("/proc/self/mountinfo")
_NETWORK = frozenset(
    (
        *("9p", "afs", "beegfs", "ceph", "cifs", "coda", "davfs", "glusterfs", "gpfs", "lustre"),
        *("ncpfs", "nfs", "nfs4", "ocfs2", "smb2", "smb3", "smbfs"),
        *("fuse.ceph", "fuse.glusterfs", "fuse.rclone", "fuse.s3fs", "fuse.sshfs"),
    )
)
_SYNC_MARKS = (".stfolder", ".dropbox.cache")  # lie at the top of a folder that is kept alike
_SYNC_PLACES = (("Library", "CloudStorage"), ("Library", "Mobile Documents"))  # on macOS
_DRIVE_REMOTE = 4
_CLOUD_TAG, _CLOUD_MASK = 0x9000001A, 0xFFFF0FFF  # of Windows' folders that a cloud fills


class SharedDiskError(Exception):
    """A folder that is no place for a ledger in a file: the folder, and what kind of disk it is."""

    def __init__(self, folder: Path, kind: str) -> None:
        super().__init__(str(folder), kind)


def must_be_local(folder: Path) -> None:
    """Raise SharedDiskError where a ledger in a file would not be safe."""
    kind = _kind(folder.resolve())
    if kind is not None:
        raise SharedDiskError(folder, kind)


@cache
def _kind(folder: Path) -> str | None:
    """Return what is wrong with this place, None for a disk of this computer alone."""
    return network_kind(folder) or ("synced" if is_synced(folder) else None)


def network_kind(folder: Path) -> str | None:
    """Return the kind of network disk that a folder lies on, as the system calls it."""
    if sys.platform == "win32":  # pragma: no cover - exercised on Windows only
        return _remote_drive(folder)
    try:
        text = _MOUNTS.read_text("utf-8", "surrogateescape")
    except OSError:
        return None
    kind = mounted_as(folder, text)
    return kind if kind in _NETWORK else None


def mounted_as(folder: Path, mounts: str) -> str | None:
    """Return the type of file system that a folder lies on, by a table as Linux writes it.

    A line is "36 35 98:0 /root /mount/point options - type source options"; the last one that
    holds the folder at the deepest mount point counts.
    """
    deepest, kind = -1, None
    for line in mounts.splitlines():
        before, dash, after = line.partition(" - ")
        parts = before.split(" ")
        if not dash or len(parts) < 5:  # noqa: PLR2004
            continue
        point = Path(_plain(parts[4]))
        if folder.is_relative_to(point) and len(point.parts) >= deepest:
            deepest, kind = len(point.parts), after.split(" ")[0]
    return kind


def _plain(point: str) -> str:
    r"""Write blanks back, which the table has as ``\040``, and the like."""
    for code, sign in ((r"\040", " "), (r"\011", "\t"), (r"\012", "\n"), (r"\134", "\\")):
        point = point.replace(code, sign)
    return point


def is_synced(folder: Path) -> bool:
    """Say whether a program keeps this folder alike on several computers, where that is sure."""
    tops = (folder, *folder.parents)
    parts = folder.parts
    pairs = set(pairwise(parts))
    if any((top / mark).exists() for top in tops for mark in _SYNC_MARKS):
        return True
    return bool(pairs & set(_SYNC_PLACES)) or any(map(_is_cloud, tops))


def _is_cloud(folder: Path) -> bool:
    """Say whether Windows fills this folder from a cloud."""
    try:
        tag: int = getattr(os.lstat(folder), "st_reparse_tag", 0)
    except OSError:
        return False
    return tag & _CLOUD_MASK == _CLOUD_TAG


def _remote_drive(folder: Path) -> str | None:  # pragma: no cover - exercised on Windows only
    import ctypes

    if folder.drive.startswith("\\\\"):
        return "network"
    kind = ctypes.windll.kernel32.GetDriveTypeW(f"{folder.drive}\\")  # type: ignore[attr-defined,unused-ignore]
    return "network" if kind == _DRIVE_REMOTE else None
