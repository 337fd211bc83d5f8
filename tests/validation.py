"""Measure how far the tool can be trusted, print it, and keep it in `validation.md`.

``python tests/validation.py`` runs the checks against published numbers, walks 500 invented fields
whose yield is known, names and dates gaps planted in 6,000 more, and lets a careless scout fill
every form. It takes some minutes. The section on damaged files and kills is carried over.
"""

import contextlib
import io
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

import pytest

HERE = Path(__file__).parent
sys.path += [str(HERE), str(HERE / "whole")]

import careless  # noqa: E402  (tests are no package)
import gap_rates  # noqa: E402
import yield_truth  # noqa: E402
from yield_truth import FieldTold, Rate, Told  # noqa: E402

_PAGE = HERE / "validation.md"
_CARRIED = "## Damaged files, kills, second readers"
FIELDS = 500
FIELDS_A_CAUSE = 300
CARELESS_SEEDS = ("one", "two", "three")
_UNEVEN = ("one-sided", "silks clipped")


@dataclass
class Printed:
    """What pytest found in `tests/published`: how many agree, and which do not and why."""

    agree: int = 0
    differ: list[tuple[str, str]] = field(default_factory=list)
    failed: list[str] = field(default_factory=list)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Sort one test's outcome; pytest calls this by its name."""
        if report.failed:
            self.failed.append(report.nodeid)
        elif report.when == "call":
            name = report.nodeid.rsplit("/", 1)[-1]
            if hasattr(report, "wasxfail"):
                self.differ.append((name, report.wasxfail))
            else:
                self.agree += 1


def published() -> Printed:
    """Run the checks against printed numbers without pytest's own output."""
    found = Printed()
    with contextlib.redirect_stdout(io.StringIO()):
        pytest.main(["-q", "-p", "no:cacheprovider", str(HERE / "published")], plugins=[found])
    return found


def published_lines(found: Printed) -> Iterator[str]:
    """Tell the agreement with published numbers; cases of one test with one reason together."""
    total = found.agree + len(found.differ) + len(found.failed)
    yield f"{total} checks of printed numbers run: {found.agree} agree, to half of the last printed"
    yield f"digit. {len(found.differ)} do not, and stand as strict expected failures:\n"
    cases: dict[tuple[str, str], list[str]] = {}
    for name, reason in found.differ:
        test, _, case = name.rstrip("]").partition("[")
        cases.setdefault((test, reason), []).append(case)
    for (test, reason), values in cases.items():
        yield f"- `{test}`{''.join(f' {case},' for case in values if case).rstrip(',')}: {reason}"
    yield from (f"- **fails now**: `{name}`" for name in found.failed)


def yield_lines(full: Sequence[FieldTold], quick: Sequence[FieldTold]) -> Iterator[str]:
    """Tell how often the sampling interval held, for each form and number of stops."""
    even = [one for one in quick if one.story not in _UNEVEN]
    one_sided = [one for one in quick if one.story == "one-sided"]
    yield "| Walked with | Stops | Fields | Visits | Held [%] | that is, 95 % [%] | Too high [%] |"
    yield "|---|--:|--:|--:|--:|--:|--:|"
    for words, fields in (
        ("full form", full),
        ("quick form", quick),
        ("quick form, ears alike on all rows", even),
        ("quick form, one-sided ears", one_sided),
    ):
        for stops in yield_truth.SIZES:
            found = yield_truth.rate(fields, stops, _holds)
            high = 100 * yield_truth.too_high(fields, stops)
            yield f"| {words} | {_cells(stops, found)} | {high:+z.1f} |"


def _holds(told: Told) -> bool:
    return told.holds


def _cells(stops: int, found: Rate) -> str:
    share = f"{100 * found.held:.1f} | {100 * found.low:.1f} to {100 * found.high:.1f}"
    return f"{stops} | {found.fields} | {found.visits} | {share}"


def side_lines(full: Sequence[FieldTold]) -> Iterator[str]:
    """Tell on which side the full form's intervals missed, and what the whole range held."""
    sides: Sequence[tuple[str, Callable[[Told], bool]]] = (
        ("the truth lay under the interval", lambda one: one.truth < one.interval[0]),
        ("the truth lay over it", lambda one: one.truth > one.interval[1]),
        ("the range with kernel weight held the final yield", lambda one: one.range_holds_harvest),
    )
    numbers = ", ".join(map(str, yield_truth.SIZES))
    for words, said in sides:
        shares = (100 * yield_truth.rate(full, stops, said).held for stops in yield_truth.SIZES)
        yield f"- Full form, {numbers} stops: {words} in {_tenths(shares)} %."


def _tenths(numbers: Iterable[float]) -> str:
    return ", ".join(f"{number:.1f}" for number in numbers)


def careless_lines(rates: careless.Rates) -> Iterator[str]:
    """Tell what became of every kind of mistake, and what careful scouts were asked."""
    yield careless.table(rates)
    yield ""
    asked = Counter(found.code for found in rates.asked)
    words = ", ".join(f"`{code}` {count}" for code, count in asked.most_common())
    yield f"Of {rates.rightly} visits filled rightly, {asked.total()} readings were true but rare"
    yield f"and so asked about: {words}."


def stamp() -> str:
    """Say when and on which commit this was measured."""
    commit = _git("rev-parse", "--short", "HEAD")
    changed = " with changes" if _git("status", "--porcelain", "--", "fieldbook") else ""
    return f"Measured on {date.today().isoformat()} at commit {commit}{changed}."


def _git(*words: str) -> str:
    run = subprocess.run(
        ["git", *words], cwd=HERE.parent, capture_output=True, text=True, check=True
    )
    return run.stdout.strip()


def measured() -> Iterator[str]:
    """Give the whole page, line by line, as it is measured."""
    yield "# How far it can be trusted\n"
    yield f"Written by `python tests/validation.py`. {stamp()}\n"
    yield "## Published numbers\n"
    yield from published_lines(published())
    yield "\n## Does the yield's 95 % interval hold the truth?\n"
    yield _YIELD_WORDS
    full = yield_truth.told_of_fields(FIELDS)
    yield from yield_lines(full, yield_truth.told_of_fields(FIELDS, full=False))
    yield ""
    yield from side_lines(full)
    yield "\n## Are the causes of gaps named, and their days told?\n"
    yield _GAP_WORDS
    yield gap_rates.main(FIELDS_A_CAUSE)
    yield "\n## A careless scout\n"
    yield _CARELESS_WORDS
    with tempfile.TemporaryDirectory() as folder:
        careless.open_place(Path(folder) / "season")
        yield from careless_lines(careless.run(Path(folder) / "season", seeds=CARELESS_SEEDS))
    yield ""
    yield carried(_PAGE.read_text("utf-8"))


def carried(page: str) -> str:
    """Take the last section from the page as it is: what it tells takes longer to measure."""
    _, heading, section = page.partition(_CARRIED)
    assert heading, f"the page has lost its section '{_CARRIED}'"
    return heading + section.rstrip("\n")


_YIELD_WORDS = f"""\
{FIELDS} invented fields, different in stand, ears, ground, weather and trouble (seed
`{yield_truth.SEED}`), each walked at dent at {yield_truth.STOPS} stops with honest errors of count;
the stops are dealt out to visits. The truth is the mean of 2,000 other stops of the same field,
times the kernels per bushel that the visit took: so only sampling is tested, not kernel weight.
Fields are the sampling unit of the rates. The last lines of the table are a limit of the quick
form: it counts one row an ear, and where a scout takes the fuller side of one-sided ears, every
visit reads high and more stops do not help.
"""
_GAP_WORDS = """\
Fields with planted causes, made ear by ear and ring by ring, each drawn over the published ranges
and not from the values that the analysis takes for typical. Two visits about silking count silks at
5 stops; later 5 ears at each of 5 stops are counted, with errors. Causes are named from the ears
alone; with the tassels, silk lengths and beetles that those two visits saw as well; and with a walk
on one day from 3 to 10 after silking too, which is when the plan lays the pollination round. What
a scout sees is drawn with errors as well: tassels tell nothing in 15 % of the fields whose pollen
came late or ended, and in 15 % of the fields without clipping beetles sit on the silks (assumed).
`python tests/gap_rates.py` prints these tables alone.
"""
_CARELESS_WORDS = f"""\
Each kind of mistake is planted once in every form that it fits, in a visit that is right
otherwise; found means the right code at the right cell, false is anything else that was said of
that visit (seeds {", ".join(CARELESS_SEEDS)}). The mistakes are those that we thought of: ones
that look like a true reading, such as a day and a month exchanged or kilograms for pounds in a bag,
are not among them and are not found.
"""


def main() -> None:
    """Print the page as it comes and keep it."""
    lines = []
    for line in measured():
        print(line, flush=True)
        lines.append(line)
    _PAGE.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
