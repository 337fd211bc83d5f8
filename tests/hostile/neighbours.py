"""Send files through `silkbook intake` among good books, and see what became of all of them.

The command must end with code 0 or 1 and no traceback, leave every file taken in or set aside with
its reason, hold all cells of the good books, and leave a season with which the doctor finds no
fault. Memory is the most that the command or any of its workers held; time is from line to line.
"""

import os
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from launcher import LAUNCHER

from fieldbook.ledger.folder import reason_of
from fieldbook.ledger.ledger import Ledger
from fieldbook.problems import problem, sentence
from fieldbook.season.doctor import checkup
from fieldbook.season.season import open_season
from fieldbook.simulate import place

MOST_SECONDS, MOST_MB = 10.0, 500.0
_GIVEN_UP_S = 900.0
_AS_OF = f"{place.YEAR}-12-01"
_NAMES_DIFFER = {"field-of-other-names", "field-grower-changed", "field-renamed"}
_COMMAND = "from fieldbook.cli import main; main()"

Cells = Mapping[str, Mapping[tuple[str, str, str], str]]


@dataclass(frozen=True, kw_only=True)
class Ground:
    """A season before any book comes back; good books; and their cells once taken in."""

    template: Path
    good: Mapping[str, bytes]
    cells: Cells


@dataclass(frozen=True, kw_only=True)
class Aftermath:
    """What became of the files: names of those taken in, aside, and of those a reader died of."""

    taken: frozenset[str]
    aside: frozenset[str]
    reader_ended: frozenset[str]
    longest_s: float
    peak_mb: float
    wrong: tuple[str, ...]


def make_ground(season: Path, good: Mapping[str, bytes]) -> Ground:
    """Take the good books into a copy of a season, undisturbed, and note their cells."""
    calm = Path(shutil.copytree(season, season.with_name("calm")))
    for name, data in good.items():
        (calm / "incoming" / name).write_bytes(data)
    told = command(calm)
    cells = typed(calm)
    assert told.fault is None, told.fault
    assert len(cells) >= len(good)
    return Ground(template=season, good=good, cells=cells)


def typed(season: Path, visits: Sequence[str] | None = None) -> Cells:
    """Return all cells that the ledger holds of some visits, or of all."""
    opened, problems = open_season(season)
    assert opened is not None, problems
    with Ledger(opened.folder) as ledger:
        known = [visit.visit_id for visit in ledger.visits()] if visits is None else visits
        return ledger.typed_now(known)


@dataclass(frozen=True, kw_only=True)
class Told:
    """How the command ended: after how long it told of each file, its peak, and a fault."""

    seconds: Mapping[str, float]
    peak_mb: float
    fault: str | None


def command(season: Path) -> Told:
    """Take in whatever lies in incoming/, in a process of its own."""
    run = [sys.executable, "-c", _COMMAND, "intake", "--season", str(season)]
    launched = [sys.executable, "-c", LAUNCHER, *run, "--as-of", _AS_OF]
    with (
        tempfile.TemporaryFile("w+") as words,
        subprocess.Popen(
            launched,
            stdout=subprocess.PIPE,
            stderr=words,
            text=True,
            errors="replace",
            start_new_session=True,
        ) as process,
    ):
        watch = threading.Timer(_GIVEN_UP_S, os.killpg, (process.pid, signal.SIGKILL))
        watch.start()
        seconds = dict(_timed(process))
        code = process.wait()
        watch.cancel()
        words.seek(0)
        *said, peak = words.read().splitlines() or ["nan"]
    fault = None if code in (0, 1) and not said else f"code {code}: {' / '.join(said)[-400:]}"
    return Told(seconds=seconds, peak_mb=float(peak) / 1024, fault=fault)


def _timed(process: "subprocess.Popen[str]") -> Iterator[tuple[str, float]]:
    """Give each file's name and the time since the one before; the first has the start as well."""
    assert process.stdout is not None
    before = time.monotonic()
    for text in process.stdout:
        name, _, rest = text.partition(": ")
        if rest.startswith(("taken in", "not taken in", "nothing new")):
            now = time.monotonic()
            yield name, now - before
            before = now


# ---- many files at once ------------------------------------------------------------------------


def taken_among_good(ground: Ground, files: Mapping[str, bytes]) -> Aftermath:
    """Lay the files into incoming/, the good books spread between them, and take all in."""
    with tempfile.TemporaryDirectory() as scratch:
        season = Path(shutil.copytree(ground.template, Path(scratch) / "season"))
        sent = _spread(files, ground.good)
        for name, data in sent.items():
            (season / "incoming" / name).write_bytes(data)
        told = command(season)
        return _aftermath(season, ground, sent, told)


def _spread(files: Mapping[str, bytes], good: Mapping[str, bytes]) -> dict[str, bytes]:
    """Give all files numbers in the order of intake: a good book first, the rest in between."""
    order, step = list(files.items()), max(1, len(files) // len(good))
    for at, book in enumerate(good.items()):
        order.insert(at * (step + 1), book)
    return {f"{number:04d}-{name}": data for number, (name, data) in enumerate(order)}


def _aftermath(season: Path, ground: Ground, sent: Iterable[str], told: Told) -> Aftermath:
    incoming, died = season / "incoming", sentence(problem("file-reader-died"))
    taken = {path.name for path in (incoming / "taken").glob("*")}
    aside = {name: _reason(incoming / "set-aside" / name) for name in sent}
    reasons = {name: reason for name, reason in aside.items() if reason is not None}
    return Aftermath(
        taken=frozenset(map(_plain, taken)),
        aside=frozenset(map(_plain, reasons)),
        reader_ended=frozenset(_plain(name) for name, why in reasons.items() if died in why),
        longest_s=max(told.seconds.values(), default=0.0),
        peak_mb=told.peak_mb,
        wrong=(
            *([told.fault] if told.fault else []),
            *(f"{name} took {s:.1f} s" for name, s in told.seconds.items() if s > MOST_SECONDS),
            *([f"{told.peak_mb:.0f} MB"] if not told.peak_mb < MOST_MB else []),
            *(f"{name} is nowhere" for name in sent if name not in taken | reasons.keys()),
            *(f"{name} has no reason" for name, why in reasons.items() if not why),
            *_lost(season, ground),
        ),
    )


def _plain(name: str) -> str:
    """Take the number off a name again."""
    return name.partition("-")[2]


def _reason(path: Path) -> str | None:
    """Return why a file was set aside, empty if nobody wrote it; None if it was not."""
    if not path.is_file():
        return None
    return reason_of(path).read_text("utf-8") if reason_of(path).is_file() else ""


def _lost(season: Path, ground: Ground) -> Iterator[str]:
    """Tell which good books are not in the ledger as undisturbed, and what the doctor finds."""
    found = typed(season, list(ground.cells))
    for visit_id, cells in ground.cells.items():
        if found[visit_id] != cells:
            yield f"the good visit {visit_id} is not as it was undisturbed"
    good = {visit_id.partition(".")[0] for visit_id in ground.cells}
    for one in checkup(season).problems:
        # A damaged book may say another name than the roster: the doctor is right to tell of it.
        if one.code not in _NAMES_DIFFER or dict(one.params)["field_id"] in good:
            yield f"the doctor says: {sentence(one)}"
