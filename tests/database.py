"""One PostgreSQL server on a socket of this computer alone, for a whole test session."""

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from itertools import count
from pathlib import Path
from typing import Self

import pytest
from parts import postgres_folder

_ACCOUNT = "postgres"  # the server refuses to run as root
_NUMBERS = count(1)


class Postgres:
    """A running server with an empty folder of its own; use it in a ``with`` statement."""

    def __init__(self) -> None:
        programs = postgres_folder()
        if programs is None:
            raise FileNotFoundError("PostgreSQL is not here: install postgresql.")
        self._programs = programs
        self._home = Path(tempfile.mkdtemp(prefix="silkbook-db-"))
        self._data = self._home / "data"

    def __enter__(self) -> Self:
        if os.geteuid() == 0:
            shutil.chown(self._home, _ACCOUNT)
        self._home.chmod(0o755)
        try:
            self._run(
                "initdb", "-A", "trust", "-U", _ACCOUNT, "-E", "UTF8", "--locale=C.UTF-8", "-N"
            )
            self.start()
        except BaseException:
            shutil.rmtree(self._home)
            raise
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()
        shutil.rmtree(self._home)

    def start(self) -> None:
        """Start the server and wait until it answers; no port, only a socket in its folder."""
        options = f"-c listen_addresses='' -k {self._home} -c fsync=off -c max_connections=60"
        self._run("pg_ctl", "-w", "-t", "60", "-l", str(self._home / "log"), "-o", options, "start")

    def stop(self) -> None:
        """Stop the server and cut all who are connected."""
        self._run("pg_ctl", "-w", "-m", "fast", "stop")

    def new_url(self) -> str:
        """Make an empty database, in whose own language text sorts otherwise than by its bytes."""
        name = f"season{next(_NUMBERS)}"
        made = f"CREATE DATABASE {name} TEMPLATE template0 LOCALE_PROVIDER icu ICU_LOCALE 'en'"
        self._run("psql", "-h", str(self._home), "-U", _ACCOUNT, "-qc", made, data=False)
        return f"postgresql://{_ACCOUNT}@/{name}?host={self._home}"

    def _run(self, program: str, *options: str, data: bool = True) -> None:
        command = [str(self._programs / program), *options]
        if data:
            command += ["-D", str(self._data)]
        if os.geteuid() == 0:
            command = ["runuser", "-u", _ACCOUNT, "--", *command]
        run = subprocess.run(
            command, cwd=self._home, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, check=False
        )
        if run.returncode:
            raise RuntimeError(f"{program}: {run.stdout.decode(errors='replace')}")


@pytest.fixture(scope="session")
def postgres_session() -> Iterator[Postgres]:
    """Run one server for the whole test session."""
    with Postgres() as server:
        yield server
