"""One Dask cluster of two workers on this computer alone, for a whole test session."""

import os
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Self

import pytest

_START_S = 60.0
WORKERS = 2


class DaskCluster:
    """A scheduler and its workers, each a process as a person would start it; use it in `with`."""

    def __init__(self, *, workers: int = WORKERS) -> None:
        self._home = tempfile.TemporaryDirectory(ignore_cleanup_errors=True)
        self._said = Path(self._home.name) / "said.txt"
        self._file = Path(self._home.name) / "scheduler.json"
        self._processes: list[subprocess.Popen[bytes]] = []
        self._workers = workers
        self.address = ""

    def __enter__(self) -> Self:
        try:
            self._start("scheduler", "--host", "127.0.0.1", "--port", "0")
            for number in range(self._workers):
                name = ("--name", f"worker-{number}", "--nworkers", "1", "--nthreads", "1")
                self._start("worker", "--host", "127.0.0.1", *name)
            self._wait()
        except BaseException:
            self.stop()
            raise
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()

    def _start(self, kind: str, *options: str) -> None:
        command = [sys.executable, "-m", f"distributed.cli.dask_{kind}", "--no-dashboard"]
        with self._said.open("ab") as said:
            process = subprocess.Popen(
                [*command, "--scheduler-file", str(self._file), *options],
                stdout=said,
                stderr=said,
                cwd=self._home.name,
                env={**os.environ, "PYTHONPATH": os.pathsep.join(map(str, _paths()))},
                start_new_session=True,
            )
        self._processes.append(process)

    def _wait(self) -> None:
        """Wait until every worker has told the scheduler that it is there."""
        from distributed import Client

        until = time.monotonic() + _START_S
        while not self._file.is_file():
            self._must_go_on(until)
        client = Client(scheduler_file=str(self._file), set_as_default=False)
        self.address = client.scheduler.address
        while len(client.nthreads()) < self._workers:
            self._must_go_on(until)
        client.close()

    def _must_go_on(self, until: float) -> None:
        ended = any(process.poll() is not None for process in self._processes)
        if ended or time.monotonic() > until:
            raise RuntimeError(f"The cluster did not start: {self._said.read_text()}")
        time.sleep(0.05)

    def lose_scheduler(self) -> None:
        """Let the scheduler die without a word."""
        os.killpg(self._processes[0].pid, signal.SIGKILL)

    def lose_worker(self) -> None:
        """Let one worker die in the middle of whatever it does; its keeper starts another one."""
        from distributed import Client

        with Client(self.address, set_as_default=False) as client:
            _, process = sorted(client.run(os.getpid).items())[0]
            os.kill(process, signal.SIGKILL)

    def stop(self) -> None:
        """End everything with all that it started; nothing there is worth a farewell."""
        for process in self._processes:
            with suppress(ProcessLookupError):
                os.killpg(process.pid, signal.SIGKILL)
            process.wait()
        self._home.cleanup()


def _paths() -> tuple[Path, Path]:
    """Return where workers find the package and the tests' own functions."""
    tests = Path(__file__).parent
    return tests.parent, tests


@pytest.fixture(scope="session")
def cluster_session() -> Iterator[DaskCluster]:
    """Run one cluster for the whole test session."""
    with DaskCluster() as cluster:
        yield cluster
