"""Batch work in one process, over a pool and on a cluster: the same results in the same order."""

import os
import signal
import subprocess
import sys
import textwrap
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

import pytest
from click.testing import CliRunner
from cluster import DaskCluster
from parts import cluster_missing, need

from fieldbook.cli import main
from fieldbook.cluster import EngineError, Home
from fieldbook.cluster import told as in_our_words
from fieldbook.engines import share, using
from fieldbook.jobs import isolated, many
from fieldbook.problems import problem, sentence
from fieldbook.season.season import Season
from fieldbook.worker import Outcome
from hostile.work import (
    double,
    double_and_die_once,
    misbehave,
    process_of,
    slowly_double,
    start,
    started,
    wait_long,
)

pytestmark = pytest.mark.usefixtures("new_processes")

TESTS = Path(__file__).parents[1]
ENGINES = ("here", "pool", "cluster")
OTHERS = ("pool", "cluster")


@contextmanager
def engine(name: str, request: pytest.FixtureRequest) -> Iterator[None]:
    """Let all work inside run on the engine of this name."""
    with ExitStack() as held:
        if name == "cluster":
            cluster = request.getfixturevalue("cluster")
            held.enter_context(using(scheduler=cluster.address))
        else:
            held.enter_context(using(workers={"here": 1, "pool": 2}[name]))
        yield


@pytest.mark.parametrize("name", ENGINES)
def test_results_come_in_the_order_of_the_arguments(
    name: str, request: pytest.FixtureRequest
) -> None:
    """The first argument is ready last and still comes first; bundles change nothing."""
    with engine(name, request):
        assert list(many(slowly_double, range(9))) == [2 * n for n in range(9)]
        assert list(many(slowly_double, range(9), together=4)) == [2 * n for n in range(9)]


@pytest.mark.parametrize("name", OTHERS)
def test_work_leaves_this_process(name: str, request: pytest.FixtureRequest) -> None:
    """Other processes do it, each made ready once; one worker asked for means none of them."""
    with engine(name, request):
        assert os.getpid() not in set(many(process_of, range(4)))
        assert set(many(started, range(4), initializer=start)) == {1}
        assert set(many(process_of, range(4), workers=1)) == {os.getpid()}


@pytest.mark.parametrize("name", OTHERS)
def test_the_work_of_a_killed_worker_is_done_again(
    name: str, request: pytest.FixtureRequest, tmp_path: Path
) -> None:
    """A worker that is killed in the middle changes nothing of the results."""
    marker = tmp_path / "killed"
    with engine(name, request):
        found = list(many(double_and_die_once, [(marker, n) for n in range(12)]))
    assert marker.exists()
    assert found == [2 * n for n in range(12)]


@pytest.mark.parametrize("name", OTHERS)
def test_what_kills_every_worker_is_given_up(name: str, request: pytest.FixtureRequest) -> None:
    """After three lost workers the work ends in words; the engine goes on working."""
    with engine(name, request):
        with pytest.raises(EngineError) as given_up:
            list(many(misbehave, ["a", "abort", "b"]))
        assert (given_up.value.code, given_up.value.params) == ("work-lost", {"count": 3})
        assert list(many(double, range(4))) == [0, 2, 4, 6]


@pytest.mark.parametrize("name", ENGINES)
def test_a_deadly_file_takes_itself_only(name: str, request: pytest.FixtureRequest) -> None:
    """What aborts, eats memory or never ends dies apart; no worker of the engine is lost."""
    how = ["a", "abort", "b", "hog", "loop", *"cdefghi"]
    with engine(name, request):
        found = list(isolated(misbehave, how, seconds=2.0))
    values = [outcome.value for outcome in found]
    assert values == ["A", None, "B", None, None, *"CDEFGHI"]
    assert found[1] == Outcome(died=True)
    assert found[3].died
    assert found[4] == Outcome(timed_out=True)


@pytest.mark.parametrize("name", OTHERS)
def test_a_fault_is_raised_in_place(name: str, request: pytest.FixtureRequest) -> None:
    """An exception reaches the caller where its result would have stood."""
    with engine(name, request):
        found = many(misbehave, ["a", "raise", "b"])
        assert next(found) == "A"
        with pytest.raises(LookupError):
            next(found)


def test_few_arguments_are_in_memory_at_once(cluster: DaskCluster) -> None:
    """Files are loaded when their turn is near, not all at once."""
    taken: list[int] = []
    numbers = (taken.append(n) or n for n in range(1000))
    with using(scheduler=cluster.address):
        found = isolated(double, numbers)
        next(found)
        assert len(taken) <= 80
        found.close()  # type: ignore[attr-defined]


# ---- what keeps a cluster from helping -----------------------------------------------------


def test_a_scheduler_that_is_not_there_is_told(
    season: Season, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The address and the reason, exit code 1, and nothing else."""
    need(cluster_missing())
    monkeypatch.setattr("fieldbook.cluster._ANSWER_S", 1.0)
    address = "tcp://127.0.0.1:9"
    done = CliRunner().invoke(main, ["results", str(season.folder.path), "--scheduler", address])
    assert done.exit_code == 1
    words = sentence(problem("cluster-no-answer", address=address, detail="|"))
    assert words.partition("|")[0] in done.output


def test_a_scheduler_without_workers_is_told() -> None:
    """It would wait for ever; EngineError `cluster-no-workers` instead."""
    need(cluster_missing())
    with (
        DaskCluster(workers=0) as lonely,
        pytest.raises(EngineError) as told,
        using(scheduler=lonely.address),
    ):
        pass
    assert told.value.code == "cluster-no-workers"


def test_the_package_is_needed_only_for_a_cluster(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without Dask a --scheduler is answered by what to install."""
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(EngineError) as told, using(scheduler="tcp://127.0.0.1:9"):
        pass
    assert told.value.code == "cluster-package-missing"


def test_a_worker_of_another_version_takes_no_part(
    cluster: DaskCluster,
) -> None:
    """Results of two versions are never mixed."""
    with using(scheduler=cluster.address) as engine:
        assert engine.cluster is not None
        engine.cluster.home = Home(version="0.0.0")
        with pytest.raises(EngineError) as told:
            list(many(double, range(4)))
    assert told.value.code == "cluster-other-version"
    assert told.value.params["here"] == "0.0.0"


def test_a_worker_that_sees_another_folder_takes_no_part(
    cluster: DaskCluster, season: Season
) -> None:
    """The season's own file is compared before each task."""
    with using(scheduler=cluster.address):
        share(season.folder.settings)
        assert list(many(double, range(4))) == [0, 2, 4, 6]
        season.folder.settings.write_text("# changed meanwhile")
        with pytest.raises(EngineError) as told:
            list(many(double, range(4)))
    assert told.value.code == "cluster-other-folder"


def test_a_scheduler_that_dies_is_told() -> None:
    """The work ends in words and does not wait for ever."""
    need(cluster_missing())
    with DaskCluster() as cluster, using(scheduler=cluster.address):
        found = many(wait_long, range(40))
        next(found)
        cluster.lose_scheduler()
        with pytest.raises(EngineError) as told:
            list(found)
    assert told.value.code == "cluster-lost"


def test_a_scheduler_that_dies_while_it_hands_a_result_on_is_told() -> None:
    """The connection then breaks in the midst of an answer, which Dask says in its own way."""
    need(cluster_missing())
    from distributed.comm.core import CommClosedError

    fault = in_our_words(CommClosedError("in <TCP (closed)>"))
    assert isinstance(fault, EngineError)
    assert fault.code == "cluster-lost"


@pytest.mark.parametrize("code", ["work-lost", "cluster-lost", "cluster-other-folder"])
def test_what_ends_work_is_said_by_its_code(
    season: Season, monkeypatch: pytest.MonkeyPatch, code: str
) -> None:
    """One sentence of the catalogue, exit code 1, no traceback."""
    params = {"count": 3, "folder": "season"}

    def ended(*_: object, **__: object) -> None:
        raise EngineError(code, params)

    monkeypatch.setattr("fieldbook.season.intake.take_in", ended)
    done = CliRunner().invoke(main, ["intake", "--season", str(season.folder.path)])
    assert done.exit_code == 1
    assert done.output.splitlines() == [sentence(problem(code, **params))]


def test_one_of_two_engines_is_chosen(season: Season) -> None:
    """--workers and --scheduler together are wrong use."""
    both = ["results", str(season.folder.path), "--workers", "2", "--scheduler", "tcp://h:1"]
    done = CliRunner().invoke(main, both)
    assert done.exit_code == 2
    assert "Choose one" in done.output


@pytest.mark.parametrize("name", OTHERS)
def test_an_interrupt_ends_everything(name: str, request: pytest.FixtureRequest) -> None:
    """Ctrl-C ends the command at once, with its own words alone; a cluster stays for others."""
    scheduler = request.getfixturevalue("cluster").address if name == "cluster" else None
    script = f"""
        from fieldbook.engines import using
        from fieldbook.jobs import many
        from hostile.work import wait_long
        if __name__ == "__main__":
            with using(workers={None if scheduler else 2}, scheduler={scheduler!r}):
                for found in many(wait_long, range(60)):
                    print(found, flush=True)
    """
    with subprocess.Popen(
        [sys.executable, "-c", textwrap.dedent(script)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join([str(TESTS.parent), str(TESTS)])},
        start_new_session=True,
    ) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "0\n"
        begun = time.monotonic()
        os.killpg(process.pid, signal.SIGINT)
        _, words = process.communicate(timeout=20)
    assert time.monotonic() - begun < 10
    assert words.count("Traceback") == 1
    assert words.rstrip().endswith("KeyboardInterrupt")
    if scheduler:
        with using(scheduler=scheduler):
            assert list(many(double, range(4))) == [0, 2, 4, 6]
