"""Work in other processes: what dies or stalls there is one argument's fault alone."""

import os
import signal
import subprocess
import sys
import textwrap
import time
from collections.abc import Iterator
from multiprocessing import active_children
from pathlib import Path

import pytest

from fieldbook.jobs import isolated, many
from fieldbook.worker import Outcome
from hostile.work import (
    double,
    files_open,
    misbehave,
    process_of,
    slowly_double,
    start,
    started,
    touch,
)

pytestmark = pytest.mark.usefixtures("new_processes")

TESTS = Path(__file__).parents[1]


def outcomes(*how: str, seconds: float = 20.0) -> list[Outcome[str]]:
    return list(isolated(misbehave, how, seconds=seconds))


def test_results_come_in_order_from_one_process() -> None:
    """All arguments are done by the same worker, and that is not the caller."""
    found = [outcome.value for outcome in isolated(process_of, range(5))]
    assert len(set(found)) == 1
    assert found[0] != os.getpid()
    assert [outcome.value for outcome in isolated(double, range(4))] == [0, 2, 4, 6]


def test_the_next_argument_is_worked_on_while_an_outcome_is_looked_at(tmp_path: Path) -> None:
    """The worker is already at the second argument when the caller has the first outcome."""
    first, second = tmp_path / "1", tmp_path / "2"
    found = isolated(touch, [first, second])
    assert next(found).value == first
    until = time.monotonic() + 20
    while not second.exists() and time.monotonic() < until:
        time.sleep(0.01)
    assert second.exists()
    assert [outcome.value for outcome in found] == [second]


def test_abort_takes_one_argument_only() -> None:
    """A process that is aborted, as by a Rust library, costs its own argument and no other."""
    assert outcomes("a", "abort", "b") == [
        Outcome(value="A"),
        Outcome(died=True),
        Outcome(value="B"),
    ]


def test_exit_takes_one_argument_only() -> None:
    """Leaving the interpreter inside the work is a death like any other."""
    assert outcomes("exit", "b") == [Outcome(died=True, error="SystemExit"), Outcome(value="B")]


@pytest.mark.parametrize("how", ["hog", "grow"])
def test_memory_hog_takes_one_argument_only(how: str) -> None:
    """More memory than allowed, at once or bit by bit, ends the worker and not the machine."""
    before, found, after = outcomes("a", how, "b")
    assert found.died
    assert found.error in (None, "MemoryError")
    assert (before.value, after.value) == ("A", "B")


@pytest.mark.skipif(sys.platform != "linux", reason="limits of memory hold on Linux")
def test_no_worker_holds_more_than_is_allowed() -> None:
    """A worker that takes all it can get never holds 500 MB in memory, whatever it asked for."""
    script = """
        import resource
        from fieldbook.jobs import isolated
        from hostile.work import misbehave
        if __name__ == "__main__":
            ended = [outcome.died for outcome in isolated(misbehave, ["hog", "grow", "fine"])]
            held = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss  # [KB] on Linux
            print(ended, held / 1024)
    """
    ended, held = in_python(script).stdout.rsplit(maxsplit=1)
    assert ended == "[True, True, False]"
    assert 200 < float(held) < 500


def test_endless_loop_is_ended_in_time() -> None:
    """What takes longer than its limit is stopped; its neighbours still get results."""
    begun = time.monotonic()
    found = outcomes("a", "loop", "b", seconds=1.0)
    assert found == [Outcome(value="A"), Outcome(timed_out=True), Outcome(value="B")]
    assert time.monotonic() - begun < 10


def test_exception_is_named_not_raised() -> None:
    """An exception counts as died and leaves the name of its type."""
    assert outcomes("raise", "b") == [
        Outcome(died=True, error="LookupError"),
        Outcome(value="B"),
    ]


def test_result_that_cannot_be_sent() -> None:
    """A result that cannot leave the worker counts as died."""
    found = list(isolated(generator_of, [1]))
    assert found[0].died
    assert found[0].error == "TypeError"


def generator_of(number: int) -> Iterator[int]:
    return iter(n for n in (number,))


def test_no_worker_is_left() -> None:
    """The worker is gone after the last argument, after a fault, and when nobody asks on."""
    list(isolated(double, [1]))
    assert not active_children()
    half = isolated(double, [1, 2, 3])
    next(half)
    assert len(active_children()) == 1
    del half
    assert not active_children()


def test_no_worker_without_arguments() -> None:
    """Nothing to do starts nothing."""
    assert list(isolated(double, [])) == []


def test_worker_keeps_the_terminal_clean() -> None:
    """Neither a dying library's words nor a traceback reach the caller's terminal."""
    script = """
        from fieldbook.jobs import isolated
        from hostile.work import misbehave
        if __name__ == "__main__":
            print([o.value for o in isolated(misbehave, ["abort", "raise", "exit", "fine"])])
    """
    ran = in_python(script)
    assert ran.stdout.strip() == "[None, None, None, 'FINE']"
    assert ran.stderr == ""


@pytest.mark.skipif(os.name != "posix", reason="signals to a group are POSIX")
def test_interrupt_stops_the_worker_too() -> None:
    """Ctrl-C while the worker is busy ends both, and only the caller's own words are seen."""
    script = """
        from fieldbook.jobs import isolated
        from hostile.work import misbehave
        if __name__ == "__main__":
            for outcome in isolated(misbehave, ["who", "loop"], seconds=60.0):
                print(outcome.value, flush=True)
    """
    with running(script) as process:
        assert process.stdout is not None
        worker = int(process.stdout.readline())
        os.killpg(process.pid, signal.SIGINT)
        _, words = process.communicate(timeout=20)
    assert process.returncode == -signal.SIGINT
    assert words.count("Traceback") == 1
    with pytest.raises(ProcessLookupError):
        os.kill(worker, 0)


@pytest.mark.skipif(os.name != "posix", reason="one process can't interrupt another")
def test_worker_does_not_answer_interrupts() -> None:
    """Ctrl-C reaches the whole group; a caller that carries on finds its worker at work."""
    found = isolated(process_of, range(2))
    worker = next(found).value
    assert worker is not None
    os.kill(worker, signal.SIGINT)
    assert next(found) == Outcome(value=worker)


@pytest.mark.skipif(sys.platform != "linux", reason="workers are copies on Linux alone")
@pytest.mark.parametrize(
    ("threads", "megabytes", "copied"), [(0, 0, True), (1, 0, False), (0, 300, False)]
)
def test_a_worker_is_a_copy_of_a_small_caller_with_one_thread(
    threads: int, megabytes: int, copied: bool
) -> None:
    """A copy has what was loaded; it would also have a thread's locks, and what fills its limit."""
    script = f"""
        import threading
        from fieldbook.jobs import isolated
        from hostile.work import loaded
        if __name__ == "__main__":
            import wave
            held = bytearray({megabytes} * 2**20)
            done = threading.Event()
            for _ in range({threads}):
                threading.Thread(target=done.wait).start()
            print(*[one.value for one in isolated(loaded, ["wave"])])
            done.set()
    """
    ran = in_python(script)
    assert (ran.stdout.strip(), ran.stderr) == (str(copied), "")


def test_a_worker_that_shall_know_nothing_is_no_copy() -> None:
    """What a mail server's password may have been loaded beside is not handed on."""
    script = """
        from fieldbook.worker import Worker
        from hostile.work import loaded
        if __name__ == "__main__":
            import wave
            with Worker(loaded, knows_nothing=True) as worker:
                print(worker.outcome("wave").value)
    """
    assert in_python(script).stdout.strip() == "False"


@pytest.mark.skipif(sys.platform != "linux", reason="open files are listed on Linux")
def test_a_worker_holds_no_file_of_its_caller(tmp_path: Path) -> None:
    """What may be hostile is read where neither a ledger nor a lock is open."""
    with (tmp_path / "ledger").open("w"):
        (found,) = isolated(files_open, [1])
    assert found.value is not None
    assert str(tmp_path / "ledger") not in str(found.value)


@pytest.mark.skipif(os.name != "posix", reason="signals are POSIX")
def test_a_killed_caller_leaves_no_worker() -> None:
    """A worker that waits for its next argument ends by itself once its caller is gone."""
    script = """
        import time
        from fieldbook.jobs import isolated
        from hostile.work import misbehave
        if __name__ == "__main__":
            for outcome in isolated(misbehave, ["who", "who"]):
                print(outcome.value, flush=True)
                time.sleep(60)
    """
    with running(script) as process:
        assert process.stdout is not None
        worker = int(process.stdout.readline())
        process.kill()
    deadline = time.monotonic() + 20
    while _runs(worker) and time.monotonic() < deadline:
        time.sleep(0.05)
    assert not _runs(worker)


def _runs(process: int) -> bool:
    """Say whether a process is at work: not gone, and not only waiting to be counted as gone."""
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    status = Path(f"/proc/{process}/stat")
    return not (status.exists() and status.read_text("utf-8").rpartition(")")[2].split()[0] == "Z")


def in_python(script: str) -> subprocess.CompletedProcess[str]:
    with running(script) as process:
        out, err = process.communicate(timeout=60)
    return subprocess.CompletedProcess(process.args, process.returncode, out, err)


def running(script: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", textwrap.dedent(script)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": str(TESTS)},
        start_new_session=True,
    )


def test_many_keeps_the_order() -> None:
    """Results come in the order of the arguments, not in the order they are ready."""
    assert list(many(slowly_double, range(6), workers=2)) == [0, 2, 4, 6, 8, 10]


def test_many_uses_other_processes() -> None:
    """With two workers the work leaves this process; each worker is made ready once."""
    assert os.getpid() not in set(many(process_of, range(4), workers=2))
    assert set(many(started, range(4), workers=2, initializer=start)) == {1}


@pytest.mark.parametrize(("arguments", "workers"), [([7], 2), ([7, 8], 1)])
def test_many_stays_here_for_little_work(arguments: list[int], workers: int) -> None:
    """One argument or one worker is not worth a process."""
    assert set(many(process_of, arguments, workers=workers)) == {os.getpid()}


def test_many_of_nothing() -> None:
    """Without arguments there is no result and no initializer is called."""
    assert list(many(double, [], initializer=exit)) == []


def test_many_raises_in_place() -> None:
    """A fault in the work reaches the caller where its result would have stood."""
    found = many(misbehave, ["a", "raise", "b"], workers=2)
    assert next(found) == "A"
    with pytest.raises(LookupError):
        next(found)
    assert not active_children()
