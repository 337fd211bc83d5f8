"""Measure how fast the work is, print the table, and keep it in `validation.md`.

``python tests/bench/table.py`` compares with the bare libraries, turn by turn in one run: some
minutes, or with ``--books 400 --reports 500`` a quarter of an hour (a roster has room for the
fields of 499 books). ``--sizes`` measures what grows with a season instead, which takes as long and
keeps a table of its own. Let the computer do nothing else meanwhile.
"""

import argparse
import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterable, Iterator
from datetime import date
from pathlib import Path

import pytest

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent)]
# Workers are started anew and look for these modules, too.
os.environ["PYTHONPATH"] = os.pathsep.join([str(HERE), str(HERE.parent), str(HERE.parents[1])])

from rows import Row  # noqa: E402

PAGE = HERE.parent / "validation.md"
PARTS = {"speeds": "test_ratios.py", "sizes": "test_sizes.py"}


def measured(name: str) -> list[Row]:
    """Run one file of measurements and return its rows."""
    with tempfile.TemporaryDirectory() as folder:
        kept = Path(folder) / "measured.json"
        words = ["-q", "-p", "no:cacheprovider", "-o", "faulthandler_timeout=0"]
        words += [f"--benchmark-json={kept}", str(HERE / name)]
        if pytest.main(words) != 0:
            sys.exit("A measurement failed; nothing is kept.")
        raw = json.loads(kept.read_text("utf-8"))
    return [Row(**row) for one in raw["benchmarks"] for row in one["extra_info"].get("rows", ())]


def figure_words(row: Row, figure: float) -> str:
    """Write a figure with its unit."""
    if row.unit == "ms":
        return f"{figure:.1f} ms"
    return f"{figure:.2f}{' x' if row.unit else ''}"


def table(rows: Iterable[Row]) -> Iterator[str]:
    """Write rows as a table."""
    yield "| Work | Against | Measured | At most | Holds | |"
    yield "|---|---|--:|--:|---|---|"
    for row in rows:
        holds = "yes" if row.holds else "**no**"
        figures = (figure_words(row, row.figure), figure_words(row, row.most))
        yield f"| {row.work} | {row.against} | {' | '.join(figures)} | {holds} | {row.told} |"


def commit() -> str:
    """Return the commit that is measured."""
    words = ["git", "rev-parse", "--short", "HEAD"]
    done = subprocess.run(words, capture_output=True, text=True, check=False, cwd=HERE)
    return done.stdout.strip() or "none"


def keep(part: str, lines: list[str]) -> None:
    """Put a table between its marks in the page."""
    begin, end = f"<!-- {part} -->", f"<!-- end of {part} -->"
    text = PAGE.read_text("utf-8")
    before, _, rest = text.partition(begin)
    _, _, after = rest.partition(end)
    PAGE.write_text(before + "\n".join([begin, *lines, end]) + after, "utf-8")


def main() -> None:
    """Measure, print and keep."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--sizes", action="store_true", help="what grows with a season")
    parser.add_argument("--books", default="40", help="how many returned books are taken in")
    parser.add_argument("--reports", default="48", help="how many reports are printed")
    parser.add_argument("--fields", default="1000", help="how many fields' yields are worked out")
    parser.add_argument("--divide", default="1", help="how many times smaller --sizes are")
    wish = parser.parse_args()
    os.environ.update(BENCH_BOOKS=wish.books, BENCH_REPORTS=wish.reports)
    os.environ.update(BENCH_FIELDS=wish.fields, BENCH_DIVIDE=wish.divide)
    part = "sizes" if wish.sizes else "speeds"
    lines = [
        f"Measured on {date.today()} at commit {commit()}, {os.cpu_count()} processors.",
        "",
        *table(measured(PARTS[part])),
    ]
    print("\n".join(lines))
    keep(part, lines)


if __name__ == "__main__":
    main()
