"""Where batch work runs: in this process, over a pool of processes, or on a cluster.

Each of the three is an executor as `concurrent.futures` has it. `using` says which one holds for
all that is called inside; without it there is a pool of as many processes as processors. What runs
on an engine can't tell on which one, and results come in the order of their arguments.
"""

import os
import signal
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import BrokenExecutor, CancelledError, Executor, Future, wait
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from functools import partial
from itertools import islice
from pathlib import Path
from typing import Any, Generic, TypeVar

from fieldbook.cluster import MOST_LOSSES, Cluster, EngineError, connected, told

A = TypeVar("A")
V = TypeVar("V")

_LOOK_S = 2.0
_AHEAD = 4  # tasks on their way for each worker, so that none waits for the next


@dataclass(frozen=True, kw_only=True)
class Engine:
    """What work runs on: a cluster, or this many processes (None: one for each processor)."""

    workers: int | None = None
    cluster: Cluster | None = None

    @property
    def is_chosen(self) -> bool:
        """Say whether somebody asked for more than the usual."""
        return self.cluster is not None or (self.workers or 1) > 1

    @property
    def is_there(self) -> bool:
        """Say whether what was sent out can still come back."""
        return self.cluster is None or self.cluster.is_there

    @property
    def count(self) -> int:
        """How many workers there are."""
        return self.cluster.count if self.cluster else self.workers or _processors()

    def opened(self, count: int, initializer: Callable[[], object] | None = None) -> Executor:
        """Return an executor of this engine; with one worker the work stays here."""
        if count == 1:
            if initializer is not None:
                initializer()
            return Here()
        if self.cluster is not None:
            return self.cluster.executor(initializer)
        return _pool(count, initializer)


_USUAL = Engine()
_ENGINE: ContextVar[Engine] = ContextVar("engine", default=_USUAL)


@contextmanager
def using(*, workers: int | None = None, scheduler: str | None = None) -> Iterator[Engine]:
    """Let all batch work inside run on so many processes, or on the cluster of a scheduler.

    Raises
    ------
    EngineError
        If no cluster can be reached there.
    """
    if scheduler is None:
        with _held(Engine(workers=workers)) as engine:
            yield engine
        return
    with connected(scheduler) as cluster, _held(Engine(cluster=cluster)) as engine:
        yield engine


@contextmanager
def _held(engine: Engine) -> Iterator[Engine]:
    token = _ENGINE.set(engine)
    try:
        yield engine
    finally:
        _ENGINE.reset(token)


def current() -> Engine:
    """Return the engine that holds here."""
    return _ENGINE.get()


def share(file: Path) -> None:
    """Let every task on a cluster first make sure that this very file lies where it runs."""
    cluster = current().cluster
    if cluster is not None:
        cluster.share(file)


def _processors() -> int:
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


class Here(Executor):
    """An executor that does the work at once, in this process."""

    def submit(self, fn: Callable[..., V], /, *args: Any, **kwargs: Any) -> "Future[V]":
        """Do the work and return what came of it."""
        future: Future[V] = Future()
        try:
            future.set_result(fn(*args, **kwargs))
        except Exception as fault:
            future.set_exception(fault)
        return future


def _pool(count: int, initializer: Callable[[], object] | None) -> Executor:
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    return ProcessPoolExecutor(
        count,
        mp_context=get_context("spawn"),
        initializer=partial(_start_pooled, initializer),
    )


def _start_pooled(initializer: Callable[[], object] | None) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent decides, without tracebacks
    if initializer is not None:
        initializer()


# ---- work in order -------------------------------------------------------------------------


def in_order(
    function: Callable[[A], V],
    arguments: Iterable[A],
    *,
    workers: int,
    initializer: Callable[[], object] | None = None,
) -> Iterator[V]:
    """Run `function` on each argument; results come in order.

    Arguments are taken when their turn is near, so that few are in memory at once.

    Raises
    ------
    EngineError
        If the work of one argument ended its process again and again.
    Exception
        Whatever `function` raises, at its place in the order.
    """
    line: _Line[A, V] = _Line(current(), function, workers=workers, initializer=initializer)
    yield from line.results(arguments)


class _Line(Generic[A, V]):
    """Work under way, in order; what a lost process was doing is begun again."""

    def __init__(
        self,
        engine: Engine,
        function: Callable[[A], V],
        *,
        workers: int,
        initializer: Callable[[], object] | None,
    ) -> None:
        self._engine = engine
        self._opened = partial(engine.opened, workers, initializer)
        self._function = function
        self._ahead = 1 if workers == 1 else _AHEAD * workers
        self._executor = self._opened()
        self._waiting: deque[tuple[A, Future[V]]] = deque()

    def results(self, arguments: Iterable[A]) -> Iterator[V]:
        """Yield what comes of each argument, and keep the next ones on their way."""
        left = iter(arguments)
        try:
            while True:
                for argument in islice(left, self._ahead - len(self._waiting)):
                    self._waiting.append((argument, self._begun(argument)))
                if not self._waiting:
                    return
                yield self._first()
        finally:
            self._executor.shutdown(cancel_futures=True)

    def _first(self) -> V:
        for _ in range(MOST_LOSSES):
            try:
                found = self._awaited(self._waiting[0][1])
            except BrokenExecutor:
                self._begin_again()
            except CancelledError:
                raise EngineError("cluster-lost", {}) from None
            except Exception as fault:
                raise told(fault) from fault
            else:
                self._waiting.popleft()
                return found
        raise EngineError("work-lost", {"count": MOST_LOSSES})

    def _awaited(self, future: "Future[V]") -> V:
        while not wait([future], timeout=_LOOK_S).done:
            if not self._engine.is_there:
                raise EngineError("cluster-lost", {})
        return future.result()

    def _begun(self, argument: A) -> "Future[V]":
        try:
            return self._executor.submit(self._function, argument)
        except BrokenExecutor as broken:
            lost: Future[V] = Future()
            lost.set_exception(broken)
            return lost

    def _begin_again(self) -> None:
        """Open the engine anew for all that was not done when it broke."""
        self._executor.shutdown(cancel_futures=True)
        self._executor = self._opened()
        self._waiting = deque(
            (argument, future if _is_done(future) else self._begun(argument))
            for argument, future in self._waiting
        )


def _is_done(future: "Future[Any]") -> bool:
    if future.cancelled() or not future.done():
        return False
    return not isinstance(future.exception(), BrokenExecutor)
