"""The one place that runs work in other processes.

`isolated` runs what may die (reading a file that somebody sent) in a worker process with a limit
of memory and time. `many` spreads independent work, such as rendering pages, over all processors.
Both run on the engine that `using` chose; what may die is kept apart on any of them.
"""

import contextlib
import os
import signal
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import chain, islice
from pathlib import Path
from typing import Any, Generic, TypeVar

from fieldbook.engines import current, in_order

A = TypeVar("A")
V = TypeVar("V")

_START_LIMIT_S = 60.0
_GRACE_S = 5.0
_SHARE_OF_A_COPY = 0.4  # of the memory that its worker may have
_FIRST_FILE = 3  # behind what every process has: input, output, errors
_READ_TOGETHER = 8  # files; starting a reader takes as long as reading some 40


@dataclass(frozen=True, kw_only=True)
class Outcome(Generic[V]):
    """What became of one argument: a value, or how its work ended without one.

    `error` names the type of a Python exception; a worker that was killed leaves no name.
    """

    value: V | None = None
    died: bool = False
    timed_out: bool = False
    error: str | None = None


# ---- one worker, for work that may die -----------------------------------------------------


def isolated(
    function: Callable[[A], V],
    arguments: Iterable[A],
    *,
    seconds: float = 10.0,
    megabytes: int = 400,
) -> Iterator[Outcome[V]]:
    """Run `function` on each argument, in order, in a worker process with limits.

    Parameters
    ----------
    function
        A function of a module, of one argument; it and its results are sent between processes.
    seconds
        Time that one argument may take [s]; starting the worker is not counted.
    megabytes
        Address space of the worker [MB], so that what it holds in memory is always less. A book
        takes some 30, the largest files that the guard lets through 260. Not limited where the
        platform cannot.

    Yields
    ------
    Outcome
        One for each argument. After a failure the worker is replaced, so that no argument
        suffers from another one.
    """
    if current().is_chosen:
        guard = partial(_guarded, function, seconds, megabytes)
        done = in_order(guard, _bundles(arguments, _READ_TOGETHER), workers=current().count)
        yield from chain.from_iterable(done)
    else:
        yield from _apart(function, arguments, seconds, megabytes)


def _guarded(
    function: Callable[[A], V], seconds: float, megabytes: int, arguments: Sequence[A]
) -> list[Outcome[V]]:
    """Run a bundle of arguments apart, in the midst of another worker's work."""
    return list(_apart(function, arguments, seconds, megabytes))


def _apart(
    function: Callable[[A], V], arguments: Iterable[A], seconds: float, megabytes: int
) -> Iterator[Outcome[V]]:
    """Keep the worker at the next argument while the caller looks at an outcome."""
    with Worker(function, seconds=seconds, megabytes=megabytes) as worker:
        left = iter(arguments)
        for first in islice(left, 1):
            worker.begin(first)
            for argument in left:
                outcome = worker.finish()
                worker.begin(argument)
                yield outcome
            yield worker.finish()


class Worker(Generic[A, V]):
    """The parent's side of a worker process, which is started when it is first needed.

    Use it as a context manager; the limits are those of `isolated`. With `knows_nothing` it is
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
    with contextlib.suppress(EOFError, OSError):
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


# ---- a pool, for much work -----------------------------------------------------------------


def many(
    function: Callable[[A], V],
    arguments: Iterable[A],
    *,
    workers: int | None = None,
    initializer: Callable[[], object] | None = None,
    together: int = 1,
) -> Iterator[V]:
    """Run independent work on the engine that was chosen; results come in order.

    Arguments are taken when their turn is near, so that few are in memory at once.

    Parameters
    ----------
    function
        A function of a module, of one argument; it and its results are sent between processes.
    workers
        Number of processes; None takes as many as the engine has. With one worker, or one
        bundle, the work is done in this process.
    initializer
        A function of a module, called once in each worker before its first argument.
    together
        Arguments that go to a worker in one bundle; what they share is then sent once.

    Raises
    ------
    EngineError
        If a piece of the work ended its process again and again, or the cluster is no more.
    Exception
        Whatever `function` raises, at its place in the order.
    """
    bundles = _bundles(arguments, together)
    first = list(islice(bundles, workers or current().count))
    if first:
        one, all_ = partial(_each, function), chain(first, bundles)
        done = in_order(one, all_, workers=len(first), initializer=initializer)
        yield from chain.from_iterable(done)


def _each(function: Callable[[A], V], arguments: Sequence[A]) -> list[V]:
    return [function(argument) for argument in arguments]


def _bundles(arguments: Iterable[A], size: int) -> Iterator[tuple[A, ...]]:
    left = iter(arguments)
    while bundle := tuple(islice(left, size)):
        yield bundle
