"""Kill an intake, run it again to the end, and compare with a run that nobody disturbed.

``python tests/killed.py --moments 200`` kills an intake of 40 books with signal 9 at every named
step and at 200 seeded moments: every other one after a seeded number of the interpreter's own
steps, the rest after a seeded share of the time that an undisturbed intake takes, so that waiting
for the disk is hit as well. It prints two lines for `validation.md`. The tests kill at the named
steps. Nothing in the product knows of this: the steps are found by wrapping its functions.
"""

import argparse
import errno
import hashlib
import os
import random
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any

sys.path[:0] = [str(Path(__file__).parent)]

import sqlalchemy as sa  # noqa: E402
from seasons import ROWS, good_visit, small_season  # noqa: E402

from fieldbook.forms.rounds import KERNEL_COUNT  # noqa: E402
from fieldbook.ledger.folder import book_files  # noqa: E402
from fieldbook.ledger.ledger import Ledger  # noqa: E402
from fieldbook.season import incoming, intake  # noqa: E402
from fieldbook.season.blank import Order, book_plans  # noqa: E402
from fieldbook.season.intake import take_in  # noqa: E402
from fieldbook.season.season import open_season  # noqa: E402
from fieldbook.workbook.write import write_book  # noqa: E402

BOOKS, MOMENTS, SEED = 40, 200, "killed-1"
NOW = datetime(2026, 8, 20, 20, tzinfo=UTC)  # as the command takes "--as-of 2026-08-20"
_BAD_EVERY = 8
_MENDED_EVERY = 5
INSIDE = 4  # statements of a transaction before it is broken off
AT_ONCE = 3  # files; an intake that is killed ends in the midst of them

SEVERAL = ("original", "event")
WRITES = ("original", "event", "reason")
POINTS = (
    *(f"{when} {what}" for what in WRITES for when in ("before", "begun", "written", "renamed")),
    *(f"after {what}" for what in WRITES),
    *("before ledger", "inside ledger", "committing ledger", "after ledger"),
    *("before move", "after move", "before set aside", "after set aside"),
)


# ---- the season and how it looks in the end ------------------------------------------------


def make_season(path: Path, *, books: int = BOOKS) -> Path:
    """Make a season with books in incoming/: most good, some mended ones, some that are none."""
    rows = [replace(ROWS[0], field_id=f"K{n:02d}", field=f"Bend {n}") for n in range(books)]
    season = small_season(path, rows=tuple(rows))
    season.folder.make()
    entries = {row.field_id: good_visit(row.field_id, stops=1, pulled=2) for row in rows}
    order = Order(round_=KERNEL_COUNT, one_field=True)
    plans = list(book_plans(season, order, entries=entries))
    for number, plan in enumerate(plans):
        place = season.folder.incoming / f"{number:03d}.xlsx"
        if number % _BAD_EVERY == _BAD_EVERY - 1:
            place.write_bytes(b"PK\x03\x04 book %d, cut off" % number)
        elif number % _MENDED_EVERY == _MENDED_EVERY - 1:
            before = plans[number - 1]
            changed = {("fields", (before.visits[0].slip.field_id,), "remark"): f"mended {number}"}
            place.write_bytes(write_book(replace(before, entries={**before.entries, **changed})))
        else:
            place.write_bytes(write_book(plan))
    return path


def finish(path: Path) -> None:
    """Take in whatever lies in the incoming folder, to the end."""
    season, problems = open_season(path)
    assert season is not None, problems
    for _ in take_in(season, book_files([season.folder.incoming]), now=NOW):
        pass


def state(path: Path) -> dict[str, str]:
    """Return the ledger's dump and every file of kept/ and incoming/ by its bytes."""
    season, problems = open_season(path)
    assert season is not None, problems
    with Ledger(season.folder) as ledger:
        dump = "\n".join(ledger.dump())
    found = {"the ledger": hashlib.sha256(dump.encode()).hexdigest()}
    for place in ("kept", "incoming"):
        for file in sorted((path / place).rglob("*")):
            if file.is_file():
                name = file.relative_to(path).as_posix()
                found[name] = hashlib.sha256(file.read_bytes()).hexdigest()
    return found


def differing(found: dict[str, str], wanted: dict[str, str]) -> list[str]:
    """Name what differs between two states."""
    names = sorted(found.keys() | wanted.keys())
    return [name for name in names if found.get(name) != wanted.get(name)]


# ---- named steps ---------------------------------------------------------------------------


class Watch:
    """Counts the named steps of an intake and acts at one of them, the n-th time it is met."""

    def __init__(self, point: str, nth: int, act: Callable[[], object]) -> None:
        assert point in POINTS
        self._point, self._left, self._act = point, nth, act
        self.doing = ""
        self.done: list[str] = []

    def reached(self, point: str) -> None:
        """Note a step; act where it is the one."""
        if point == self._point:
            self._left -= 1
            if self._left == 0:
                self._act()

    def part(self, step: str, *, nth: int | None = None) -> None:
        """Note a step of whatever is being done, the n-th time it is done in that.

        Where several files are kept at once it is the second one's.
        """
        nth = nth or (2 if self.doing in SEVERAL else 1)
        self.done.append(step)
        if self.done.count(step) == nth and f"{step} {self.doing}" in POINTS:
            self.reached(f"{step} {self.doing}")

    @contextmanager
    def while_doing(self, what: str) -> Iterator[None]:
        """Name what is being done; what it was part of goes on afterwards."""
        before, self.doing, self.done = self.doing, what, []
        try:
            yield
        finally:
            self.doing = before


def install(watch: Watch) -> None:
    """Wrap what an intake calls, so that the watch sees every named step."""
    for room, name, what in (
        (intake, "write_all_safely", "original"),
        (intake, "write_events", "event"),
        (incoming, "write_safely", "reason"),
        (Ledger, "apply", "ledger"),
        (intake, "move_to_taken", "move"),
        (intake, "set_aside", "set aside"),
    ):
        setattr(room, name, _around(watch, what, getattr(room, name)))
    Ledger.together = _ending(watch, Ledger.together)
    intake._MOST_AT_ONCE = AT_ONCE
    for system, name, step in (
        (tempfile, "mkstemp", "begun"),
        (os, "fsync", "written"),
        (Path, "replace", "renamed"),
    ):
        setattr(system, name, _after(watch, step, getattr(system, name)))
    sa.event.listen(sa.Engine, "before_cursor_execute", lambda *_: watch.part("inside", nth=INSIDE))
    sa.event.listen(sa.Engine, "commit", lambda _: watch.part("committing"))


def _around(watch: Watch, what: str, real: Callable[..., Any]) -> Callable[..., Any]:
    """Wrap a function: a step before it and one after it."""

    def wrapped(*args: Any, **params: Any) -> Any:
        watch.reached(f"before {what}")
        with watch.while_doing(what):
            found = real(*args, **params)
        watch.reached(f"after {what}")
        return found

    return wrapped


def _ending(watch: Watch, real: Callable[..., Any]) -> Callable[..., Any]:
    """Wrap what ends with a commit: that belongs to the ledger."""

    @contextmanager
    def wrapped(*args: Any) -> Iterator[None]:
        with ExitStack() as held:
            held.enter_context(real(*args))
            yield
            with watch.while_doing("ledger"):
                held.close()

    return wrapped


def _after(watch: Watch, step: str, real: Callable[..., Any]) -> Callable[..., Any]:
    """Wrap a call of the system: a step of whatever is being written."""

    def wrapped(*args: Any, **params: Any) -> Any:
        found = real(*args, **params)
        watch.part(step)
        return found

    return wrapped


# ---- the process that is killed ------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Moment:
    """When an intake ends early: at a step, after some of the interpreter's steps, or of time."""

    point: str | None = None
    nth: int = 1
    steps: int | None = None
    seconds: float | None = None


def killed_at(path: Path, moment: Moment) -> bool:
    """Run an intake in a process of its own until the moment; say whether it was killed."""
    process, pipe = _started(_intake, path, moment)
    pipe.recv()  # everything is loaded
    if moment.seconds is not None:
        time.sleep(moment.seconds)
        process.kill()
    process.join()
    assert process.exitcode in (0, -signal.SIGKILL), process.exitcode
    return bool(process.exitcode)


def undisturbed(path: Path, *, counting: bool) -> tuple[int, float]:
    """Run an intake to the end; return how many steps of the interpreter and seconds it took."""
    process, pipe = _started(_intake, path, Moment(steps=sys.maxsize if counting else None))
    pipe.recv()
    begun = time.monotonic()
    steps: int = pipe.recv()
    process.join()
    return steps, time.monotonic() - begun


def commanded(path: Path, *hindrances: "Hindrance | None") -> list[tuple[int, str]]:
    """Run the command once for each hindrance, all at once; return exit codes and words."""
    started = [_started(_command, path, hindrance) for hindrance in hindrances]
    told: list[tuple[int, str]] = [pipe.recv() for _, pipe in started]
    for process, _ in started:
        process.join()
    return told


def _started(target: Callable[..., None], *args: Any) -> tuple[BaseProcess, Connection]:
    here, there = _PROCESSES.Pipe()
    process = _PROCESSES.Process(target=target, args=(*args, there))
    process.start()
    there.close()  # so that its end is noticed here
    return process, here


_PROCESSES = get_context("forkserver" if os.name == "posix" else "spawn")
if os.name == "posix":
    _PROCESSES.set_forkserver_preload(["killed"])


def _die() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def _intake(path: Path, moment: Moment, pipe: Connection) -> None:
    """Take in until the moment has come; in a process of its own."""
    count = 0

    def step(*_: object) -> None:
        nonlocal count
        count += 1
        if count == moment.steps:
            _die()

    if moment.point is not None:
        install(Watch(moment.point, moment.nth, _die))
    pipe.send("ready")
    if moment.steps is not None:
        sys.setprofile(step)
    finish(path)
    sys.setprofile(None)
    pipe.send(count)


@dataclass(frozen=True, kw_only=True)
class Hindrance:
    """What the system refuses a command: a write at a named step, or a ledger that grows."""

    point: str | None
    refusal: int = errno.ENOSPC
    nth: int = 1


def _command(path: Path, hindrance: Hindrance | None, pipe: Connection) -> None:
    """Run `intake` in a process of its own, with a system that refuses something."""
    from click.testing import CliRunner

    from fieldbook.cli import main

    def refuse() -> None:
        assert hindrance is not None
        raise OSError(hindrance.refusal, os.strerror(hindrance.refusal), str(path))

    if hindrance and hindrance.point:
        install(Watch(hindrance.point, hindrance.nth, refuse))
    elif hindrance:  # SQLite gives a file that may not grow the same answer as a full disk
        limit = "PRAGMA max_page_count=1"
        sa.event.listen(sa.Engine, "connect", lambda connection, _: connection.execute(limit))
    done = CliRunner().invoke(main, ["intake", "--season", str(path), "--as-of", "2026-08-20"])
    assert done.exception is None or isinstance(done.exception, SystemExit), repr(done.exception)
    pipe.send((done.exit_code, done.output))


# ---- the full run --------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Tally:
    """How many intakes were killed, and what was not as undisturbed afterwards."""

    killed: int
    wrong: tuple[str, ...]


def run(moments: list[Moment], template: Path, wanted: dict[str, str], scratch: Path) -> Tally:
    """Kill an intake at each moment, take in the rest, and compare."""
    killed, wrong = 0, []
    for number, moment in enumerate(moments):
        path, met = _killed_in_time(moment, template, scratch / f"run-{number}")
        killed += met
        finish(path)
        odd = differing(state(path), wanted)
        if odd:
            wrong.append(f"{moment}: {', '.join(odd)}")
        shutil.rmtree(path)
        if sys.stderr.isatty():
            print(f"\r{number + 1} of {len(moments)}", end="", file=sys.stderr)
    return Tally(killed=killed, wrong=tuple(wrong))


def _killed_in_time(moment: Moment, template: Path, path: Path) -> tuple[Path, bool]:
    """Kill an intake of a fresh copy; one that had ended before is begun anew, for half the time.

    A machine that has less to do now than when the time was taken makes that happen.
    """
    while True:
        shutil.copytree(template, path)
        if killed_at(path, moment):
            return path, True
        if moment.seconds is None:
            return path, False
        moment = Moment(seconds=moment.seconds / 2)
        shutil.rmtree(path)


def seeded_moments(seed: str, count: int, *, steps: int, seconds: float) -> list[Moment]:
    """Draw moments over the whole of an intake: by steps and by time, in turn."""
    draw = random.Random(seed)
    return [
        Moment(seconds=draw.uniform(0, seconds))
        if number % 2
        else Moment(steps=draw.randint(1, steps))
        for number in range(count)
    ]


def main() -> None:
    """Run it all and print the lines for the validation page."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--moments", type=int, default=MOMENTS)
    parser.add_argument("--books", type=int, default=BOOKS)
    parser.add_argument("--seed", default=SEED)
    wish = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        scratch = Path(place)
        template = make_season(scratch / "template", books=wish.books)
        calm, counted = (shutil.copytree(template, scratch / name) for name in ("calm", "counted"))
        _, seconds = undisturbed(calm, counting=False)
        steps, _ = undisturbed(counted, counting=True)
        wanted = state(calm)
        assert differing(state(counted), wanted) == []
        points = [Moment(point=point, nth=nth) for point in POINTS for nth in (1, 3)]
        drawn = seeded_moments(wish.seed, wish.moments, steps=steps, seconds=seconds)
        at_points, at_moments = (run(some, template, wanted, scratch) for some in (points, drawn))
    print(
        f"Kill -9 at {len(POINTS)} named steps of an intake of {wish.books} books, the first and "
        f"the third time each is met: {at_points.killed} killed, {len(at_points.wrong)} not equal "
        "to the undisturbed run after one more intake."
    )
    print(
        f"Kill -9 at {wish.moments} seeded moments of it (seed `{wish.seed}`; {steps:,} steps of "
        f"the interpreter, {seconds:.1f} s undisturbed): {at_moments.killed} killed, "
        f"{len(at_moments.wrong)} not equal."
    )
    for text in (*at_points.wrong, *at_moments.wrong):
        print(f"- {text}")
    sys.exit(bool(at_points.wrong or at_moments.wrong))


if __name__ == "__main__":
    import killed  # processes find its functions under this name

    killed.main()
