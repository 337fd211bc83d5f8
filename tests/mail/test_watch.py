"""The watch: folder and mail taken in, answers, reports renewed; one a season; a clean end."""

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from datetime import date
from itertools import count
from pathlib import Path
from threading import Event
from types import FrameType
from typing import Any

import pytest
from post import book, laid, mail_season, message

from fieldbook.commands.shared import moment_of
from fieldbook.ledger.events import book_events
from fieldbook.mail.refusal import MailRefusal
from fieldbook.mail.watch import Stop, Wish, watch
from fieldbook.problems import problem, sentence
from fieldbook.season.season import Season

DAY = date(2026, 8, 20)
_WAIT_S = 60.0


@pytest.fixture
def season(tmp_path: Path) -> Season:
    """Make a season whose scouts have addresses."""
    return mail_season(tmp_path / "season")


class Rounds:
    """A watch that runs a number of rounds without waiting; `between` is called after each."""

    def __init__(self, count: int, between: Callable[[int], None]) -> None:
        self._count, self._between, self.lines, self._done = count, between, list[str](), 0
        self.stop = Stop()
        self.stop.wait = self._wait  # type: ignore[method-assign]

    def _wait(self, _seconds: float) -> None:
        self._done += 1
        self._between(self._done)
        if self._done == self._count:
            self.stop.set()

    def run(self, season: Season, place: Path | None, every_minutes: float = 10) -> list[str]:
        """Run them all; return the log."""
        wish = Wish(
            every_minutes=every_minutes,
            mail=place,
            asks_mail=place is not None,
            sends=False,
            pdf=False,
            clock=lambda: moment_of(None).replace(year=2026, month=8, day=20),
            day=lambda: DAY,
        )
        watch(season.folder.path, wish, self.stop, self.lines.append)
        return self.lines


def test_each_round_takes_in_answers_and_renews_what_changed(
    season: Season, tmp_path: Path
) -> None:
    """Round 1 a file; 2 nothing; 3 a message: reports are written in 1 and 3 alone."""
    (season.folder.incoming / "a.xlsx").write_bytes(book(season))
    place = laid(tmp_path / "in", {})

    def between(done: int) -> None:
        if done == 2:
            laid(place, {"m": message(("b.xlsx", book(season, "A2")))})

    lines = Rounds(3, between).run(season, place)
    kinds = [
        "watching"
        if "watching" in line
        else "reports"
        if line.startswith("reports renewed")
        else "file"
        if line.startswith("a.xlsx: taken in: A1.KC1")
        else "message"
        if "taken in: A2.KC1" in line
        else "stopped"
        if line == "stopped"
        else line
        for line in lines
    ]
    assert kinds == ["watching", "file", "reports", "message", "reports", "stopped"]
    assert len(list(book_events(season.folder))) == 2
    assert (season.folder.reports / "board.html").is_file()
    assert len(list(season.folder.outbox.glob("*.eml"))) == 1


@pytest.mark.parametrize(
    ("minutes", "words"),
    [(1, "every minute"), (10, "every 10 minutes"), (0.5, "every 0.5 minutes")],
)
def test_a_watch_says_how_often_it_looks(season: Season, minutes: float, words: str) -> None:
    """One minute is every minute."""
    first, *_ = Rounds(1, lambda _: None).run(season, None, minutes)
    assert first.endswith(words)


def test_a_round_that_fails_is_told_and_the_next_one_goes_on(
    season: Season, tmp_path: Path
) -> None:
    """Settings broken and mended between rounds; a mail folder that comes late."""
    text = season.folder.settings.read_text("utf-8")
    place = tmp_path / "late"
    season.folder.settings.write_text("format = [", "utf-8")

    def between(done: int) -> None:
        if done == 1:
            season.folder.settings.write_text(text, "utf-8")
        if done == 2:
            laid(place, {"m": message(("a.xlsx", book(season)))})

    lines = Rounds(3, between).run(season, place)
    assert any(line.startswith("ERROR season.toml") for line in lines)
    missing = sentence(problem("mail-source-missing", path=str(place)))
    assert f"ERROR {missing}" in lines
    assert any("taken in: A1.KC1" in line for line in lines)


def test_a_watch_ends_between_two_things(season: Season, tmp_path: Path) -> None:
    """Stopped after the first message: the second one waits for the next watch."""
    messages = {n: message((f"{n}.xlsx", book(season, n)), name=n) for n in ("A1", "A2")}
    place = laid(tmp_path / "in", messages)
    rounds = Rounds(1, lambda _: None)
    said = rounds.lines

    class Ending(list[str]):
        def append(self, line: str) -> None:
            said.append(line)
            if "taken in" in line:
                rounds.stop.set()

    rounds.lines = Ending()
    rounds.run(season, place)
    assert len(list(book_events(season.folder))) == 1
    assert said[-1] == "stopped"
    Rounds(1, lambda _: None).run(season, place)
    assert len(list(book_events(season.folder))) == 2


def test_one_watch_a_season(season: Season) -> None:
    """The second one is refused."""
    refused: list[str] = []

    def second(_: int) -> None:
        with pytest.raises(MailRefusal) as found:
            Rounds(1, lambda _: None).run(season, None)
        refused.append(found.value.why.code)

    Rounds(1, second).run(season, None)
    assert refused == ["watch-running"]


def test_a_wish_to_stop_may_come_at_any_line_of_a_wait() -> None:
    """As a signal may, in the thread that waits: no line of the wait holds what `set` needs."""
    for line in count(1):
        stop, reached = Stop(), Event()
        thread = threading.Thread(target=_set_at, args=(line, stop, reached), daemon=True)
        thread.start()
        thread.join(_WAIT_S / 6)
        assert not thread.is_alive(), f"set at line {line} of the wait, it waits for ever"
        if not reached.is_set():
            break
        assert stop.is_set()
    assert line > 2


def _set_at(line: int, stop: Stop, reached: Event) -> None:
    """Wait a moment; call `set` when the wait is about to run its line of that number."""
    lines = count(1)

    def traced(_frame: FrameType, event: str, _argument: Any) -> Any:
        if event == "line" and next(lines) == line:
            sys.settrace(None)
            reached.set()
            stop.set()
        return traced

    sys.settrace(traced)
    stop.wait(0.05)
    sys.settrace(None)


def test_a_wait_ends_when_it_is_wished() -> None:
    """Before the wait, and in the middle of it."""
    stop = Stop()
    threading.Timer(0.2, stop.set).start()
    for _ in range(2):
        begun = time.monotonic()
        stop.wait(_WAIT_S)
        assert time.monotonic() - begun < _WAIT_S / 6
        stop.set()


@pytest.mark.parametrize("kind", [signal.SIGTERM, signal.SIGINT])
def test_a_signal_ends_the_command_cleanly(
    season: Season, tmp_path: Path, kind: signal.Signals
) -> None:
    """A line for each thing with its time, at once; exit 0 soon after the signal."""
    place = laid(tmp_path / "in", {"m": message(("a.xlsx", book(season)))})
    run = [sys.executable, "-c", "from fieldbook.cli import main; main()", "watch"]
    options = [str(season.folder.path), "--no-pdf", "--mail", str(place), "--as-of", "2026-08-20"]
    with subprocess.Popen([*run, *options], stdout=subprocess.PIPE, text=True) as process:
        lines = list(_until(process, "reports renewed"))
        begun = time.monotonic()
        os.kill(process.pid, kind)
        try:
            assert process.wait(_WAIT_S) == 0
        finally:
            process.kill()
        assert time.monotonic() - begun < 10
        assert process.stdout is not None
        assert process.stdout.read().endswith("stopped\n")
    assert all(line[:2] == "20" and line[10] == " " for line in lines)
    assert len(list(book_events(season.folder))) == 1


def _until(process: "subprocess.Popen[str]", words: str) -> Iterator[str]:
    assert process.stdout is not None
    for line in process.stdout:
        yield line
        if words in line:
            return


def test_only_heavy_words_fill_the_log(season: Season, tmp_path: Path) -> None:
    """A stranger's book is told; other mail of strangers is one line without a note."""
    place = laid(tmp_path / "in", {"m": message(sender="news@example.net")})
    lines = Rounds(1, lambda _: None).run(season, place)
    assert any("news@example.net" in line for line in lines)
    assert not any(line.startswith("NOTE") for line in lines)
