"""Batch work on a cluster that Dask schedules; its package is imported only when one is asked for.

Every worker needs the same version of Silkbook and sees the season folder under the same path;
each task makes sure of both before it begins. What dies with its worker is done again by another
one, as Dask's scheduler decides.
"""

import hashlib
import logging
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import Executor, Future
from concurrent.futures import wait as wait_for
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cache, partial
from pathlib import Path
from typing import Any
from weakref import WeakSet

from fieldbook import __version__

Param = str | int
_ANSWER_S = 10.0
_TALKERS = ("distributed", "distributed.client", "tornado.application")
MOST_LOSSES = 3  # Dask gives a task up after as many lost workers, too


class EngineError(Exception):
    """Work that an engine could not do: the code of a problem and its parameters."""

    def __init__(self, code: str, params: Mapping[str, Param]) -> None:
        super().__init__(code, params)
        self.code = code
        self.params = params


def told(fault: Exception) -> Exception:
    """Say in our own words what a cluster says of lost work; other faults stay as they are."""
    kind, lacking = type(fault).__name__, getattr(fault, "name", None)
    if kind == "KilledWorker":
        return EngineError("work-lost", {"count": MOST_LOSSES})
    if kind == "CommClosedError":  # results come by way of the scheduler
        return EngineError("cluster-lost", {})
    if isinstance(fault, ModuleNotFoundError) and lacking == "fieldbook":
        return EngineError("cluster-other-version", {"here": __version__, "there": "none"})
    return fault


@dataclass(frozen=True, kw_only=True)
class Home:
    """What a task's worker must have in common with the command: version, and a file's hash."""

    version: str = __version__
    file: Path | None = None
    sha256: str = ""


@dataclass(kw_only=True)
class Cluster:
    """An open connection to a scheduler."""

    client: Any
    home: Home = field(default_factory=Home)

    @property
    def count(self) -> int:
        """How many tasks can run at once; 2 where the workers are still to come."""
        threads: int = sum(self.client.nthreads().values())
        return max(2, threads)

    @property
    def is_there(self) -> bool:
        """Say whether the scheduler can still be heard."""
        return str(self.client.status) == "running"

    def share(self, file: Path) -> None:
        """Let every task make sure that its worker sees this very file."""
        whole = file.resolve()
        self.home = Home(file=whole, sha256=_hash(whole))

    def executor(self, initializer: Callable[[], object] | None) -> Executor:
        """Return an executor of this cluster."""
        return _OnCluster(self.client, self.home, initializer)


@contextmanager
def connected(address: str) -> Iterator[Cluster]:
    """Connect to a scheduler; EngineError where that can't be."""
    try:
        from distributed import Client
    except ImportError:
        raise EngineError("cluster-package-missing", {}) from None
    for name in _TALKERS:
        logging.getLogger(name).setLevel(logging.CRITICAL + 1)  # we say it in our own words
    try:
        client = Client(address, timeout=_ANSWER_S, set_as_default=False)
    except (OSError, ValueError, TypeError) as fault:
        detail = str(fault).splitlines()[0] if str(fault) else type(fault).__name__
        told = {"address": address, "detail": detail}
        raise EngineError("cluster-no-answer", told) from None
    try:
        if not client.nthreads():
            raise EngineError("cluster-no-workers", {"address": address})
        yield Cluster(client=client)
    finally:
        client.close(timeout=_ANSWER_S)


class _OnCluster(Executor):
    """An executor of a cluster, with a look around before each task.

    Dask's own one mistakes a result for a fault where its worker is lost right after it.
    """

    def __init__(self, client: Any, home: Home, initializer: Callable[[], object] | None) -> None:
        self._client = client
        self._home = home
        self._initializer = initializer
        self._sent: WeakSet[Any] = WeakSet()
        self._promised: WeakSet[Future[Any]] = WeakSet()

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> "Future[Any]":
        """Send one task out."""
        task = (self._home, self._initializer, fn)
        sent = self._client.submit(_at_work, *task, *args, pure=False, **kwargs)
        promised: Future[Any] = Future()
        self._sent.add(sent)
        self._promised.add(promised)
        sent.add_done_callback(partial(_hand_on, promised))
        return promised

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        """Call off what has not begun, and take no more."""
        if wait and not cancel_futures:
            wait_for([*self._promised])
        else:
            self._client.cancel([*self._sent])


def _hand_on(promised: "Future[Any]", sent: Any) -> None:
    """Give what became of a task to who waits for it."""
    if not promised.set_running_or_notify_cancel():
        return
    try:
        promised.set_result(sent.result())
    except BaseException as fault:  # whatever it is, it belongs to who waits
        promised.set_exception(fault)


# ---- on a worker ---------------------------------------------------------------------------


def _at_work(
    home: Home,
    initializer: Callable[[], object] | None,
    function: Callable[..., Any],
    *args: Any,
    **kwargs: Any,
) -> Any:
    """Do one task on a worker."""
    _may_have_children()
    _look_around(home)
    if initializer is not None:
        _once(initializer)
    return function(*args, **kwargs)


def _may_have_children() -> None:
    """Let the reader of untrusted files be a process of its own here, too.

    Dask starts workers as processes that may have none, so that none is left; ours end by
    themselves once the worker is gone.
    """
    from multiprocessing import current_process

    if current_process().daemon:
        current_process().daemon = False


def _look_around(home: Home) -> None:
    if home.version != __version__:
        raise EngineError("cluster-other-version", {"here": home.version, "there": __version__})
    if home.file is not None and _hash(home.file) != home.sha256:
        raise EngineError("cluster-other-folder", {"folder": str(home.file.parent)})


def _hash(file: Path) -> str:
    """Return the hash of a small file; nothing where it can't be read."""
    try:
        return hashlib.sha256(file.read_bytes()).hexdigest()
    except OSError:
        return ""


@cache
def _once(initializer: Callable[[], object]) -> None:
    initializer()
