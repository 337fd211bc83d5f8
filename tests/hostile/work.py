"""Functions that a worker process runs badly; they are imported by it, so they live in a module."""

import os
import signal
import sys
import time
from pathlib import Path


def double(number: int) -> int:
    """Do what was asked."""
    return 2 * number


def process_of(number: int) -> int:
    """Say which process works."""
    return os.getpid()


def touch(path: Path) -> Path:
    """Leave a mark."""
    path.touch()
    return path


def files_open(_: int) -> set[str]:
    """Say what this process holds open, as the system names it."""
    return {str(one.readlink()) for one in Path("/proc/self/fd").iterdir() if one.is_symlink()}


def loaded(name: str) -> bool:
    """Say whether a module was loaded before it was needed."""
    return name in sys.modules


def slowly_double(number: int) -> int:
    """Finish the first argument last."""
    time.sleep(0.2 if number == 0 else 0.0)
    return 2 * number


def misbehave(how: str) -> str:
    """Do what the word says."""
    match how:
        case "who":
            return str(os.getpid())
        case "abort":
            os.write(2, b"thread panicked at the last cell\n")
            os.abort()
        case "exit":
            sys.exit(3)
        case "hog":
            return str(len(b"x" * 4_000_000_000))
        case "grow":
            held = []
            while True:
                held.append(b"x" * 5_000_000)  # written to, so that it is in memory indeed
        case "loop":
            while True:
                pass
        case "raise":
            raise LookupError(how)
    return how.upper()


def double_and_die_once(task: tuple[Path, int]) -> int:
    """Do the work, but let the process that is first to do it die in the middle."""
    marker, number = task
    if number == 3 and not marker.exists():
        marker.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return 2 * number


def wait_long(number: int) -> int:
    """Take a second, for a caller that loses patience."""
    time.sleep(1.0)
    return number


_started: list[str] = []


def start() -> None:
    """Note that this process was made ready."""
    _started.append("ready")


def started(number: int) -> int:
    """Say how often this process was made ready."""
    return len(_started)
