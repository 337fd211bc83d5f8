"""A row of the table of speeds: what was done, against what, and how much that may be."""

import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from statistics import median
from typing import Any


@dataclass(frozen=True, kw_only=True)
class Row:
    """One line: `figure` is a ratio, or a span [ms] where `unit` is ms."""

    work: str
    against: str
    most: float
    figure: float
    unit: str = "x"
    told: str = ""

    @property
    def holds(self) -> bool:
        """Say whether the figure is as low as wanted."""
        return self.figure <= self.most


def timed(work: Callable[[], object]) -> float:
    """Return how long something takes [s]."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def compared(
    benchmark: Any,
    ours: Callable[..., object],
    bare: Callable[[], object],
    *,
    prepare: Callable[[], tuple[object, ...]] = tuple,
    work: str,
    against: str,
    most: float,
    rounds: int = 5,
    count: int = 1,
    each: str = "",
) -> None:
    """Time ours and the bare library's turn by turn; the ratio is that of the medians.

    `prepare` gives the arguments of each of our turns and is not timed. `count` things of a kind
    `each` are worked on in a turn, for the spans told beside the ratio.
    """
    spans: list[float] = []

    def before() -> tuple[tuple[object, ...], dict[str, object]]:
        spans.append(timed(bare))
        return prepare(), {}

    ours(*prepare())
    bare()
    benchmark.pedantic(ours, setup=before, rounds=rounds)
    mine, theirs = benchmark.stats.stats.median, median(spans)
    told = f"{1000 * mine / count:.1f} against {1000 * theirs / count:.1f} ms {each}".strip()
    note(benchmark, Row(work=work, against=against, most=most, figure=mine / theirs, told=told))


def note(benchmark: Any, *rows: Row) -> None:
    """Keep rows beside pytest-benchmark's own figures."""
    benchmark.extra_info["rows"] = [asdict(row) for row in rows]
