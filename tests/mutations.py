"""Damage good books in seeded ways and take them in among good neighbours.

``python tests/mutations.py --count 5000 --seed mutations-1`` damages the books of all rounds, quick
and full, as written in .xlsx and as LibreOffice saves them in .ods, and sends them through
`silkbook intake`, 50 at a time with a good book of every round between them. It prints lines for
`validation.md`. What must hold each time stands in `hostile/neighbours.py`.
"""

import argparse
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE / "whole")]

import careless  # noqa: E402  (tests are no package)
from hostile.damage import Damaged, damaged  # noqa: E402
from hostile.damage_kinds import KINDS  # noqa: E402
from hostile.named import NAMED  # noqa: E402
from hostile.neighbours import Aftermath, Ground, make_ground, taken_among_good  # noqa: E402
from office import Office  # noqa: E402

from fieldbook.forms.rounds import ROUNDS, Round  # noqa: E402
from fieldbook.season.blank import Order, book_plans, keep_identity  # noqa: E402
from fieldbook.season.season import Season  # noqa: E402
from fieldbook.simulate import place  # noqa: E402
from fieldbook.workbook.plan import BookPlan  # noqa: E402
from fieldbook.workbook.write import write_book  # noqa: E402

COUNT, SEED, BATCH = 5_000, "mutations-1", 50
_FIELDS = [plot.field_id for plot in place.PLOTS]
_DAMAGED, _GOOD = _FIELDS[:2], _FIELDS[2 : 2 + len(ROUNDS)]


# ---- the season and its books ----------------------------------------------------------------


def make_books(folder: Path) -> tuple[Ground, dict[str, bytes]]:
    """Make a season with its good neighbours, and every round's two forms, filled rightly."""
    season = careless.open_place(folder / "season")
    season.folder.make()
    books = {}
    for round_ in ROUNDS.values():
        for full in (False, True):
            plan = _filled(season, round_, full=full, fields=_DAMAGED)
            if not full:  # of the others only what stands in the file itself is known
                keep_identity(season, plan)
            books[f"{round_.name}-{'full' if full else 'quick'}.xlsx"] = write_book(plan)
    good = {
        f"good-{round_.name}.xlsx": write_book(
            _filled(season, round_, full=False, fields=[field_id])
        )
        for round_, field_id in zip(ROUNDS.values(), _GOOD, strict=True)
    }
    return make_ground(season.folder.path, good), books


def _filled(season: Season, round_: Round, *, full: bool, fields: Sequence[str]) -> BookPlan:
    """Plan a book of these fields, filled rightly."""
    form = round_.form(full=full)
    walked = careless.walked(round_, form, seed=SEED)
    entries = {field_id: walked[field_id] for field_id in fields}
    order = Order(round_=round_, full=full)
    parts = [
        next(iter(book_plans(season, replace(order, field_id=one), entries=entries)))
        for one in fields
    ]
    visits = tuple(visit for part in parts for visit in part.visits)
    identity = replace(parts[0].identity, visits=tuple(visit.slip for visit in visits))
    cells = {key: value for part in parts for key, value in part.entries.items()}
    return replace(parts[0], identity=identity, visits=visits, entries=cells)


def saved_as_ods(
    office: Office, books: Mapping[str, bytes], folder: Path
) -> Iterator[tuple[str, bytes]]:
    """Let LibreOffice save each book again as .ods."""
    for name, data in books.items():
        path = folder / name
        path.write_bytes(data)
        yield f"{path.stem}.ods", office.convert(path, path.with_suffix(".ods")).read_bytes()


# ---- many damaged ones -------------------------------------------------------------------------


@dataclass(kw_only=True)
class Tally:
    """What became of damaged books, by format, family and end; ``wrong`` must stay empty."""

    ends: Counter[tuple[str, str, str]] = field(default_factory=Counter)
    runs: int = 0
    longest_s: float = 0.0
    peak_mb: float = 0.0
    wrong: list[str] = field(default_factory=list)

    def add(self, batch: Mapping[str, Damaged], after: Aftermath) -> None:
        """Count a batch in; what went wrong is told with what might have done it."""
        for name, one in batch.items():
            ended = "reader ended" if name in after.reader_ended else "set aside"
            end = "taken in" if name in after.taken else ended
            self.ends[Path(name).suffix, one.family, end] += 1
        self.runs += 1
        self.longest_s = max(self.longest_s, after.longest_s)
        self.peak_mb = max(self.peak_mb, after.peak_mb)
        first, *_, last = batch.values()
        where = f"numbers {first.number} to {last.number}"
        self.wrong += [f"{where}: {text}" for text in after.wrong]


def run(
    ground: Ground, books: Mapping[str, bytes], numbers: Sequence[int], seed: str, *, at_once: int
) -> Tally:
    """Damage one book a number and take all in, a batch at a time."""
    batches = [numbers[start : start + BATCH] for start in range(0, len(numbers), BATCH)]
    tally = Tally()
    with ThreadPoolExecutor(at_once) as threads:
        for batch, after in threads.map(partial(_batch, ground, books, seed), batches):
            tally.add(batch, after)
            if sys.stderr.isatty():
                print(f"\r{tally.runs} of {len(batches)}", end="", file=sys.stderr)
    return tally


def _batch(
    ground: Ground, books: Mapping[str, bytes], seed: str, numbers: Sequence[int]
) -> tuple[dict[str, Damaged], Aftermath]:
    made = [damaged(seed, number, books) for number in numbers]
    batch = {f"{one.number:05d}-{one.kind}{Path(one.of).suffix}": one for one in made}
    return batch, taken_among_good(ground, {name: one.data for name, one in batch.items()})


# ---- the full run ------------------------------------------------------------------------------


def lines(tally: Tally, seed: str, named: Aftermath) -> Iterator[str]:
    """Tell what became of them, for the validation page."""
    ends = ("set aside", "taken in", "reader ended")
    yield f"{tally.ends.total():,} damaged books (seed `{seed}`), {BATCH} to an intake, among good"
    yield f"ones of every round: {tally.runs} intakes, the longest time for one file"
    yield f"{tally.longest_s:.1f} s, the most that a process held {tally.peak_mb:.0f} MB, and"
    yield f'{len(tally.wrong)} things wrong. "Reader ended" are files whose worker died or was'
    yield "stopped; they are set aside like the others that can't be read.\n"
    yield f"| Format | Damage to | Files | {' | '.join(end.capitalize() for end in ends)} |"
    yield "|---|---|--:|--:|--:|--:|"
    for suffix in (".xlsx", ".ods"):
        for family in KINDS:
            counts = [tally.ends[suffix, family, end] for end in ends]
            yield f"| {suffix} | {family} | {sum(counts)} | {' | '.join(map(str, counts))} |"
    yield ""
    yield f"The {len(NAMED)} named hostile files in one intake among the same good ones:"
    yield f"{len(named.aside)} set aside, {len(named.reader_ended)} of them as their reader ended,"
    yield f"{len(named.taken & NAMED.keys())} taken in; the longest time {named.longest_s:.1f} s,"
    yield f"the most held {named.peak_mb:.0f} MB, {len(named.wrong)} things wrong."
    yield from (f"- **wrong**: {text}" for text in (*tally.wrong, *named.wrong))


def main() -> None:
    """Run it all and print the lines."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--count", type=int, default=COUNT)
    parser.add_argument("--seed", default=SEED)
    parser.add_argument("--at-once", type=int, default=2)
    wish = parser.parse_args()
    with tempfile.TemporaryDirectory() as place_, Office() as office:
        folder = Path(place_)
        ground, books = make_books(folder)
        books |= dict(saved_as_ods(office, books, folder))
        named = taken_among_good(ground, NAMED)
        tally = run(ground, books, range(wish.count), wish.seed, at_once=wish.at_once)
    print("\n".join(lines(tally, wish.seed, named)))
    sys.exit(bool(tally.wrong or named.wrong))


if __name__ == "__main__":
    main()
