"""A cluster of two worker processes gives the same bytes, and survives the death of one."""

import os
import shutil
import signal
import sys
from concurrent.futures import BrokenExecutor, Executor, Future

import distributed
import pytest

from splitplanner.batch import BatchOptions, Outcome, cluster_executor, plan_many
from splitplanner.errors import ClusterError
from tests.batch.models import PLAIN, PRINTER, is_begun, pipe, small_boxes, tree
from tests.planned import box, run, save

posix = pytest.mark.skipif(sys.platform == "win32", reason="pipes with names, and signals")


@pytest.fixture(scope="module")
def cluster():
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=":0"
    ) as running:
        yield running


@pytest.fixture
def models(tmp_path):
    """Return three boxes, of which the bed does not hold the second, and a broken file."""
    found = small_boxes(tmp_path)
    save(box((80.0, 20.0, 20.0)), found[1])
    return found


def test_the_bytes_are_those_of_local_processes(tmp_path, models, cluster):
    here = plan_many(models, PRINTER, tmp_path / "here", options=PLAIN, workers=2)
    assert [row.pieces for row in here.rows] == [1, 2, 1, None]
    with cluster_executor(cluster.scheduler_address) as executor:
        there = plan_many(models, PRINTER, tmp_path / "there", options=PLAIN, executor=executor)
    assert there.rows == here.rows
    assert tree(tmp_path / "there") == tree(tmp_path / "here")


@posix
def test_a_killed_worker_is_survived(tmp_path, models, cluster):
    expected = plan_many(models, PRINTER, tmp_path / "here", options=PLAIN, workers=1)
    real = models[0].read_bytes()
    pipe(models[0])
    killed = []
    with (
        distributed.Client(cluster.scheduler_address, set_as_default=False) as client,
        cluster_executor(cluster.scheduler_address) as executor,
    ):
        pids = client.run(os.getpid)

        def report(done, doing):
            if killed or not is_begun(tmp_path / "there", "a") or not doing.startswith("3 of 4"):
                return
            # The model is put back; the worker goes on waiting at the pipe that was there.
            (tmp_path / "real").write_bytes(real)
            os.replace(tmp_path / "real", models[0])
            killed.extend(address for address, tasks in client.processing().items() if tasks)
            for address in killed:
                os.kill(pids[address], signal.SIGKILL)

        result = plan_many(
            models, PRINTER, tmp_path / "there", options=PLAIN, executor=executor, report=report
        )
    assert len(killed) == 1
    assert result.rows == expected.rows
    assert tree(tmp_path / "there") == tree(tmp_path / "here")


def test_workers_of_a_cluster_draw_pictures_too(tmp_path, small_model, cluster):
    """They are daemons, which may not start processes of their own."""
    # Beside the shared model other tests leave more.
    (tmp_path / "models").mkdir()
    shutil.copy(small_model, tmp_path / "models")
    command = ["batch", tmp_path / "models", "--out", tmp_path / "out", "--quiet"]
    outcome = run(*command, "--cluster", cluster.scheduler_address)
    assert outcome.exit_code == 0, outcome.stderr
    assert "small.stl" in outcome.stdout
    assert "1 of 1 model planned." in outcome.stdout
    pictures = tmp_path / "out" / "small" / "pictures"
    assert (pictures / "exploded.png").stat().st_size > 1000


def test_no_scheduler_is_said_in_one_sentence(tmp_path, models):
    outcome = run(
        "batch", models[0].parent, "--out", tmp_path / "out", "--cluster", "nowhere", "-q"
    )
    assert outcome.exit_code == 8
    assert outcome.stderr.startswith("There is no scheduler at nowhere")
    assert outcome.stderr.count("\n") == 1
    assert not (tmp_path / "out").exists()


def test_a_cluster_without_workers_is_refused():
    with (
        distributed.LocalCluster(n_workers=0, dashboard_address=":0") as empty,
        pytest.raises(ClusterError, match="has no worker"),
        cluster_executor(empty.scheduler_address),
    ):
        raise AssertionError("it was not refused")


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        (
            RuntimeError("out of\nreach"),
            "Its worker did not finish it (RuntimeError: out of reach)",
        ),
        (BrokenExecutor("dead"), "Its worker did not finish it (the executor is broken)"),
        (
            distributed.scheduler.KilledWorker("plan_one-1", None, 3),
            "The process that planned it died more than once",
        ),
    ],
)
def test_an_executor_that_gives_up_is_a_failed_row(tmp_path, models, fault, words):
    class Deaf(Executor):
        def submit(self, work, /, *arguments, **options):
            future = Future()
            future.set_exception(fault)
            return future

    result = plan_many(models, PRINTER, tmp_path / "out", options=BatchOptions(), executor=Deaf())
    assert {row.outcome for row in result.rows} == {Outcome.FAILED}
    for row in result.rows:
        assert row.failure.startswith(words)
        assert row.failure.count("\n") == 0
