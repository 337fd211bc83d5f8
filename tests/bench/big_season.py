"""What a big season takes: measured for a small one, and reckoned for a very big one.

``python tests/bench/big_season.py`` makes the demo season and measures, with one, two and four Dask
workers on this computer, what a visit costs to read and a field to work out and to print; with
either database, what a visit costs to judge and enter; and what all of it takes on disk. Then it
prints the sums for 3,000 scouts, 200,000 fields and 800,000 visits. It prints a section for
`validation.md`. Workers beyond the processors of a computer add nothing; the figures show it.
"""

import argparse
import os
import shutil
import sys
import tempfile
import time
import tracemalloc
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[1])]

from cluster import DaskCluster  # noqa: E402
from database import Postgres  # noqa: E402

from fieldbook.demo.run import AS_OF, run_demo  # noqa: E402
from fieldbook.engines import using  # noqa: E402
from fieldbook.ledger.database import season_database  # noqa: E402
from fieldbook.ledger.events import book_events, event_name, event_paths  # noqa: E402
from fieldbook.ledger.folder import SeasonFolder  # noqa: E402
from fieldbook.ledger.ledger import Ledger  # noqa: E402
from fieldbook.report.build import write_reports  # noqa: E402
from fieldbook.results.results import season_results  # noqa: E402
from fieldbook.season import intake  # noqa: E402
from fieldbook.season.season import Season, open_season  # noqa: E402

SCOUTS, FIELDS, VISITS = 3_000, 200_000, 800_000
WORKERS = (1, 2, 4)
NIGHT_H, DAYS, PEAK = 8, 60, 3  # a night's work; a season's days of walking; its busiest day
HOUR = 3600.0


@dataclass(frozen=True, kw_only=True)
class Spread:
    """What one visit and one field cost on so many workers [s]."""

    workers: int
    read_s: float
    worked_s: float
    printed_s: float


@dataclass(frozen=True, kw_only=True)
class Line:
    """What a visit costs where one follows another, and what a ledger's rows take in memory."""

    entered_s: float
    loaded_s: float
    loaded_bytes: float


def opened(path: Path) -> Season:
    """Open a season."""
    season, problems = open_season(path)
    assert season is not None, problems
    return season


def timed(work: Callable[[], object]) -> float:
    """Return how long something takes [s]."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def originals(season: Season) -> list[Path]:
    """Return the kept books in the order they came."""
    place = season.folder.originals
    return [next(place.glob(f"{one.sha256}.*")) for one in book_events(season.folder)]


def visits_of(season: Season) -> int:
    """Count the visits that all kept books hold, whether or not another book holds them too."""
    return sum(len(event.verdict.visits) for event in book_events(season.folder))


# ---- what is spread over workers -----------------------------------------------------------


def spread(season: Season, workers: int, *, times: int, pdf: bool) -> Spread:
    """Measure reading, working out and printing on a cluster of so many workers."""
    books = originals(season) * times
    visits, fields = visits_of(season) * times, len(season.roster.fields)
    with DaskCluster(workers=workers) as cluster, using(scheduler=cluster.address):
        _warm(season, workers)
        reading = timed(lambda: list(intake.read_books(season, books)))
        working = timed(lambda: season_results(season, as_of=AS_OF))
        printing = timed(lambda: _print_all(season, pdf=pdf))
    return Spread(
        workers=workers,
        read_s=reading / visits,
        worked_s=working / fields,
        printed_s=(printing - working) / fields,
    )


def _warm(season: Season, workers: int) -> None:
    """Let every worker load what it needs, which a long run does once."""
    list(intake.read_books(season, originals(season) * workers))
    for _ in range(2):
        season_results(season, as_of=AS_OF)
    _print_all(season, pdf=True)


def _print_all(season: Season, *, pdf: bool) -> None:
    """Print every page of the season, also those that are as they would be."""
    wanted = {"as_of": AS_OF, "field_id": None, "templates": None, "everything": True}
    list(write_reports(season, pdf=pdf, **wanted))  # type: ignore[arg-type]


# ---- what follows one another --------------------------------------------------------------


def in_line(season: Season, path: Path, url: str | None) -> Line:
    """Measure judging, keeping and entering books that are read already, and loading the ledger."""
    shutil.copytree(season.folder.path, path, ignore=shutil.ignore_patterns("kept", "season.db"))
    shutil.copytree(season.folder.identities, path / "kept" / "books")
    database = season_database(url, season.settings.season_id) if url else None
    folder = SeasonFolder(path, database)
    folder.make()
    fresh = Season(
        folder=folder, settings=season.settings, roster=season.roster, problems=season.problems
    )
    books = originals(season)
    read = list(intake.read_books(season, books))
    now = intake.datetime.fromisoformat("2026-11-10T20:00:00+00:00")
    real, intake.read_books = intake.read_books, lambda *_, **__: iter(read)
    try:
        entered = timed(lambda: list(intake.take_in(fresh, books, now=now)))
    finally:
        intake.read_books = real
    visits = visits_of(fresh)
    with Ledger(folder) as ledger:
        loaded = timed(ledger.visits)
        tracemalloc.start()
        stored = ledger.visits()
        size, _ = tracemalloc.get_traced_memory()
        tracemalloc.stop()
    return Line(
        entered_s=entered / visits,
        loaded_s=loaded / len(stored),
        loaded_bytes=size / len(stored),
    )


def listing_s(scratch: Path, events: int) -> float:
    """Measure how long it takes to list so many events, once a command [s]."""
    folder = SeasonFolder(scratch / "listed")
    folder.make()
    for number in range(1, events + 1):
        (folder.events / event_name(number)).touch()
    found = timed(lambda: event_paths(folder))
    shutil.rmtree(folder.path)
    return found


def on_disk(season: Season) -> dict[str, float]:
    """Return the bytes of a visit kept, of its rows, and of a field's report."""
    visits, fields = visits_of(season), len(season.roster.fields)
    folder = season.folder

    def size(place: Path, names: str = "*") -> int:
        return sum(path.stat().st_size for path in place.glob(names) if path.is_file())

    return {
        "originals": size(folder.originals) / visits,
        "events": size(folder.events) / visits,
        "ledger": folder.ledger.stat().st_size / visits,
        "pages": (size(folder.reports, "*.html") + size(folder.reports, "*.pdf")) / fields,
    }


# ---- the sums ------------------------------------------------------------------------------


def told(
    spreads: list[Spread],
    lines: dict[str, Line],
    disk: dict[str, float],
    listing: float,
    books: int,
) -> Iterator[str]:
    """Write the tables and the sums."""
    yield "| Workers | Read a visit | Work a field out | Print a field |"
    yield "|--:|--:|--:|--:|"
    for one in spreads:
        spans = (one.read_s, one.worked_s, one.printed_s)
        yield f"| {one.workers} | " + " | ".join(f"{span * 1000:.1f} ms" for span in spans) + " |"
    yield ""
    yield "| Ledger | Judge, keep and enter a visit | Load a visit | of memory |"
    yield "|---|--:|--:|--:|"
    for name, line in lines.items():
        spans = f"{line.entered_s * 1000:.1f} ms | {line.loaded_s * 1000:.2f} ms"
        yield f"| {name} | {spans} | {line.loaded_bytes / 1000:.1f} kB |"
    yield ""
    yield from _sums(spreads[0], lines["PostgreSQL"], disk, listing, books)


def _sums(
    one: Spread, line: Line, disk: dict[str, float], listing: float, books: int
) -> Iterator[str]:
    read_h, entered_h, loaded_h = (
        VISITS * span / HOUR for span in (one.read_s, line.entered_s, line.loaded_s)
    )
    worked_h, printed_h = (FIELDS * span / HOUR for span in (one.worked_s, one.printed_s))
    workers = (worked_h + printed_h) / NIGHT_H
    kept = {name: count * (FIELDS if name == "pages" else VISITS) for name, count in disk.items()}
    sizes = ", ".join(f"{name} {size / 1e9:.1f} GB" for name, size in kept.items())
    held = VISITS * line.loaded_bytes / 1e9
    yield f"For {SCOUTS:,} scouts, {FIELDS:,} fields and {VISITS:,} visits, by one worker:"
    yield ""
    yield f"- Reading all visits: {read_h:.1f} hours of one worker in the whole season."
    yield f"- Working all fields out: {worked_h:.1f} hours of one worker each time; printing all"
    yield f"  of them: {printed_h:.1f} hours. In a night of {NIGHT_H} hours: {workers:.1f} workers"
    yield f"  with a processor each, so {-(-workers // 4):.0f} computers of 4."
    yield "- Judging, keeping and entering is one line, however many computers there are:"
    yield f"  {entered_h:.1f} hours in the season; on a day with {PEAK} times the mean of {DAYS}"
    yield f"  days {entered_h / DAYS * PEAK:.1f} hours."
    yield f"- On disk: {sizes}."
    yield f"- A command that works all fields out at once loads all visits: {held:.1f} GB of memory"
    yield f"  and {loaded_h:.1f} hours. A computer with less memory can't do it in one go."
    yield f"- Listing {books:,} events, once a command: {listing:.1f} s."


def main() -> None:
    """Measure, and print a section."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--times", type=int, default=4, help="how often each book is read")
    wish = parser.parse_args()
    with ExitStack() as held:
        scratch = Path(held.enter_context(tempfile.TemporaryDirectory()))
        for _ in run_demo(scratch / "season", pdf=True):
            pass
        season = opened(scratch / "season")
        disk = on_disk(season)
        spreads = [spread(season, count, times=wish.times, pdf=True) for count in WORKERS]
        url = held.enter_context(Postgres()).new_url()
        lines = {
            "SQLite": in_line(season, scratch / "sqlite", None),
            "PostgreSQL": in_line(season, scratch / "postgres", url),
        }
        books = VISITS * len(originals(season)) // visits_of(season)
        listing = listing_s(scratch, books)
        print(
            f"`python tests/bench/big_season.py`: {len(originals(season))} books with "
            f"{visits_of(season)} visits, read {wish.times} times; "
            f"{len(season.roster.fields)} fields; {os.cpu_count()} processors."
        )
        print()
        for text in told(spreads, lines, disk, listing, books):
            print(text)


if __name__ == "__main__":
    main()
