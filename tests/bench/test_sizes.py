"""What grows with a season: time by stage, and the most memory of a run.

``python tests/bench/table.py --sizes`` runs these: a quarter of an hour. ``--divide 10`` takes
seasons of a tenth of the size.
"""

import math
import os
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest
from counted import Walk, counted_season
from grown import AS_OF, filled, grown, taken
from rows import Row, note, timed

from fieldbook.forms.rounds import KERNEL_COUNT
from fieldbook.report.build import write_reports
from fieldbook.results.results import season_results
from fieldbook.season.blank import Order, write_books
from fieldbook.season.season import Season

_DIVIDE = int(os.environ.get("BENCH_DIVIDE", "1"))
SIZES = tuple(size // _DIVIDE for size in (250, 500, 1000, 2000))
SMALL, BIG = 200 // _DIVIDE, 2000 // _DIVIDE
WALK = Walk(stops=5, ears=5)
_STEEPEST, _MOST_MEMORY, _MOST_AGAIN = 1.1, 1.15, 0.05
_PAGES, _AGAIN = "writing all pages, HTML alone", "the same once more, nothing changed"


def exponent(sizes: Sequence[int], spans: Sequence[float]) -> float:
    """Return the slope of the line through the logarithms, by least squares."""
    points = [(math.log(size), math.log(span)) for size, span in zip(sizes, spans, strict=True)]
    mean_x, mean_y = (sum(axis) / len(points) for axis in zip(*points, strict=True))
    above = sum((x - mean_x) * (y - mean_y) for x, y in points)
    return above / sum((x - mean_x) ** 2 for x, _ in points)


def stages(season: Season, folder: Path) -> dict[str, Callable[[], object]]:
    """Return each stage of a season's work, in the order in which they rest on one another."""
    books: list[Path] = []
    wanted = {"as_of": AS_OF, "field_id": None, "templates": None}
    return {
        "writing blank books": lambda: list(write_books(season, Order(round_=KERNEL_COUNT))),
        "": lambda: books.extend(filled(season, folder)),
        "taking books in": lambda: all(taken(season, books)),
        "working fields out": lambda: season_results(season, as_of=AS_OF),
        _PAGES: lambda: list(
            write_reports(season, pdf=False, **wanted)  # type: ignore[arg-type]
        ),
        _AGAIN: lambda: list(
            write_reports(season, pdf=False, **wanted)  # type: ignore[arg-type]
        ),
    }


def test_time_grows_with_fields(benchmark: Any, tmp_path: Path) -> None:
    """The exponent of each stage over four sizes, and what a run costs that changes nothing."""
    spans: dict[str, list[float]] = {}

    def all_sizes() -> None:
        for size in SIZES:
            season = grown(tmp_path / f"season-{size}", size)
            for name, work in stages(season, tmp_path / f"back-{size}").items():
                spans.setdefault(name, []).append(timed(work))

    benchmark.pedantic(all_sizes, rounds=1)
    note(
        benchmark,
        *(
            Row(
                work=name,
                against=f"{', '.join(map(str, SIZES))} fields: exponent",
                most=_STEEPEST,
                figure=exponent(SIZES, found),
                unit="",
                told=", ".join(f"{span:.1f}" for span in found) + " s",
            )
            for name, found in spans.items()
            if name
        ),
        again(spans[_PAGES], spans[_AGAIN]),
    )


def again(first: Sequence[float], second: Sequence[float]) -> Row:
    """Hold the second run of unchanged pages against the first, at the size where it costs most."""
    shares = [two / one for one, two in zip(first, second, strict=True)]
    return Row(
        work=_AGAIN,
        against="the first run, HTML alone, where it costs most of it",
        most=_MOST_AGAIN,
        figure=max(shares),
        unit="x",
        told=", ".join(f"{100 * share:.1f}" for share in shares) + " %",
    )


def peak_mb(script: Path, what: str, season: Season, back: Path) -> tuple[float, float]:
    """Return the most memory of a run and of the largest of its workers [MB]."""
    words = [sys.executable, str(script), what, str(season.folder.path), str(back)]
    done = subprocess.run(words, capture_output=True, text=True, check=True)
    own, workers = (int(word) / 1024 for word in done.stdout.split()[-2:])
    return own, workers


MEASURED = {"intake": "taking books in", "report": _PAGES, "print": "writing all pages, with PDF"}


@pytest.mark.parametrize("what", MEASURED)
def test_memory_does_not_grow(benchmark: Any, tmp_path: Path, what: str) -> None:
    """The most that a command holds for 2,000 fields against 200."""
    script = Path(__file__).with_name("peak_of_a_run.py")
    found: list[tuple[float, float]] = []

    def both() -> None:
        for size in (SMALL, BIG):
            path, back = tmp_path / f"season-{size}", tmp_path / f"back-{size}"
            if what == "intake":
                season = grown(path, size)
                filled(season, back)
            else:
                season = counted_season(path, size, WALK)
            found.append(peak_mb(script, what, season, back))

    benchmark.pedantic(both, rounds=1)
    (small, _), (big, workers) = found
    note(
        benchmark,
        Row(
            work=f"most memory of {MEASURED[what]}",
            against=f"{BIG} fields against {SMALL}",
            most=_MOST_MEMORY,
            figure=big / small,
            unit="x",
            told=f"{big:.0f} against {small:.0f} MB; a worker {workers:.0f} MB at most",
        ),
    )
