"""One process for work that may die: its limits of memory and time, and what became of the work.

`jobs.isolated` gives it its work.
"""

import contextlib
import os
import signal
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Generic, TypeVar

from fieldbook.garbage import seldom_collected

A = TypeVar("A")
V = TypeVar("V")

_START_LIMIT_S = 60.0
_GRACE_S = 5.0
_SHARE_OF_A_COPY = 0.4  # of the memory that its worker may have
_FIRST_FILE = 3  # behind what every process has: input, output, errors


@dataclass(frozen=True, kw_only=True)
class Outcome(Generic[V]):
    """What became of one argument: a value, or how its work ended without one.

    `error` names the type of a Python exception; a worker that was killed leaves no name.
    """

    value: V | None = None
    died: bool = False
    timed_out: bool = False
    error: str | None = None


class Worker(Generic[A, V]):
    """The parent's side of a worker process, which is started when it is first needed.

    Use it as a context manager; the limits are those of `jobs.isolated`. With `knows_nothing` it is
    never a copy of its caller, which may have a password in its memory.
    """

    def __init__(
        self,
        function: Callable[[A], V],
        *,
        seconds: float = 10.0,
        megabytes: int = 400,
        knows_nothing: bool = False,
    ) -> None:
        self._may_be_copy = not knows_nothing
        self._function = function
        self._seconds = seconds
        self._megabytes = megabytes
        self._process: Any = None
        self._pipe: Any = None
        self._failed: Outcome[V] | None = None

    def __enter__(self) -> "Worker[A, V]":
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()

    def outcome(self, argument: A) -> Outcome[V]:
        """Run one argument; after any failure the next one gets a fresh worker."""
        self.begin(argument)
        return self.finish()

    def begin(self, argument: A) -> None:
        """Let the worker begin with one argument; `finish` must be called before the next."""
        try:
            if self._process is None:
                self._start()
                if not self._pipe.poll(_START_LIMIT_S):
                    self._failed = Outcome(timed_out=True)
                    return
                self._pipe.recv()  # ready
            self._pipe.send(argument)
        except (EOFError, OSError):  # the worker is gone
            self._failed = Outcome(died=True)

    def finish(self) -> Outcome[V]:
        """Wait for what became of the argument that was begun."""
        outcome = self._failed or self._awaited()
        if outcome.died or outcome.timed_out:
            self.stop()
        return outcome

    def stop(self) -> None:
        """End the worker; harmless when there is none."""
        process, self._process, self._failed = self._process, None, None
        if process is not None:
            self._pipe.close()
            process.kill()  # whether stuck or idle: it holds nothing worth a farewell
            process.join()
            process.close()

    def _awaited(self) -> Outcome[V]:
        try:
            if not self._pipe.poll(self._seconds):
                return Outcome(timed_out=True)
            done, found = self._pipe.recv()
        except (EOFError, OSError):  # the worker is gone
            return Outcome(died=True)
        return Outcome(value=found) if done else Outcome(died=True, error=found)

    def _start(self) -> None:
        from multiprocessing import get_context

        forks = self._may_be_copy and _may_fork(self._megabytes)
        context: Any = get_context("fork" if forks else "spawn")
        self._pipe, theirs = context.Pipe()
        limits = (self._seconds + _GRACE_S, self._megabytes)
        process = context.Process(
            target=_serve_forked if forks else _serve,
            args=(theirs, self._function, *limits),
            daemon=True,
        )
        process.start()
        self._process = process
        theirs.close()  # so that its end is noticed here


def _may_fork(megabytes: int) -> bool:
    """Say whether a copy of this process starts safely: on Linux, while it has one thread.

    A copy has everything loaded that a new process would have to load once more. It all counts
    against the copy's limit, so it must be little.
    """
    own = Path("/proc/self")
    if sys.platform != "linux" or not (own / "task").is_dir():
        return False
    held_mb = int((own / "statm").read_text().split()[0]) * os.sysconf("SC_PAGE_SIZE") / 2**20
    return held_mb < _SHARE_OF_A_COPY * megabytes and len(list((own / "task").iterdir())) == 1


# ---- in the worker itself ------------------------------------------------------------------


def _serve_forked(pipe: Any, *rest: Any) -> None:
    """Do a copy's side, with none of the files, locks and connections of its parent."""
    own = pipe.fileno()
    os.closerange(_FIRST_FILE, own)
    os.closerange(own + 1, _open_files())
    _serve(pipe, *rest)


def _open_files() -> int:
    """Return a number above those of all open files."""
    return 1 + max(int(one.name) for one in Path("/proc/self/fd").iterdir())


def _serve(pipe: Any, function: Callable[[Any], Any], alarm_seconds: float, megabytes: int) -> None:
    """Do the worker's side: take arguments until the pipe closes or one of them fails."""
    _calm()
    _limit_memory(megabytes)
    with seldom_collected(), contextlib.suppress(EOFError, OSError):
        pipe.send("ready")
        while _serve_one(pipe, function, alarm_seconds):
            pass


def _serve_one(pipe: Any, function: Callable[[Any], Any], alarm_seconds: float) -> bool:
    argument = pipe.recv()
    _alarm(alarm_seconds)
    try:
        pipe.send((True, function(argument)))
    except BaseException as fault:  # a panic of a Rust library is not an Exception
        pipe.send((False, type(fault).__name__))
        return False
    _alarm(0.0)
    return True


def _calm() -> None:
    """Keep a dying library's words and an interrupted worker's traceback off the terminal."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), 2)
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def _limit_memory(megabytes: int) -> None:
    try:
        import resource
    except ImportError:  # not on this platform
        return
    with contextlib.suppress(ValueError, OSError):
        limit = megabytes * 1024 * 1024
        resource.setrlimit(resource.RLIMIT_AS, (limit, limit))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _alarm(seconds: float) -> None:
    """Let the worker end itself if nobody is left to end it; 0 calls the alarm off."""
    if hasattr(signal, "setitimer"):
        signal.setitimer(signal.ITIMER_REAL, seconds)
