"""The one place that runs work in other processes.

`isolated` runs what may die (reading a file that somebody sent) in a worker process with a limit
of memory and time. `many` spreads independent work, such as rendering pages, over all processors.
Both run on the engine that `using` chose; what may die is kept apart on any of them.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from itertools import chain, islice
from typing import TypeVar

from fieldbook.engines import current, in_order
from fieldbook.worker import Outcome, Worker

A = TypeVar("A")
V = TypeVar("V")

_READ_TOGETHER = 8  # files; starting a reader takes as long as reading some 40


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
