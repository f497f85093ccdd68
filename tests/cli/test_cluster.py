"""Work on a Dask cluster: the same bytes, also when its workers die; other programs refused."""

import os
import pickle
import shutil
import signal
import sys
from concurrent.futures import BrokenExecutor
from functools import partial

import pytest

from inkaccord.engines import Engine
from inkaccord.errors import OrderError
from inkaccord.plugin import program_here
from inkaccord_dask import DaskExecutors
from inkaccord_dask.tasks import LARGE, do, packed
from run_kit import inkaccord, written

pytestmark = pytest.mark.filterwarnings("ignore")  # what the library warns of is not ours


def length(data: bytes, *, twice: bool = False) -> int:
    return len(data) * (2 if twice else 1)


def fails() -> None:
    raise ValueError("as asked")


def test_large_values_travel_apart_from_their_task_and_once():
    art = os.urandom(LARGE)
    small = [packed(partial(length, twice=True), (art,)), packed(length, (bytes(art),))]
    assert all(len(task) < 1000 for task, _ in small)
    assert small[0][1].keys() == small[1][1].keys()
    for (task, large), expected in zip(small, (2 * LARGE, LARGE), strict=True):
        assert do(program_here(), task, tuple(large), *large.values()) == ("done", expected)


def test_a_task_that_fails_is_told_and_another_program_refuses_before_it_unpacks():
    task, _ = packed(fails, ())
    assert do(program_here(), task, ()) == ("failed", "ValueError: as asked")
    assert do("another", b"no pickle", ())[0] == "other"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--cluster", "moon"], "no plugin knows of a cluster at 'moon'"),
        (["--cluster", "tcp://127.0.0.1:1", "--workers", "2"], "leave them out with --cluster"),
    ],
)
def test_what_is_no_cluster_is_said_before_anything_is_done(tmp_path, words, said):
    (tmp_path / "order.yaml").write_text("", "utf-8")
    code, _, err = inkaccord("run", tmp_path, *words)
    assert code == 2
    assert said in err


def test_without_the_library_it_is_named(monkeypatch):
    monkeypatch.delitem(sys.modules, "inkaccord_dask.cluster", raising=False)
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(OrderError, match="the library distributed is needed") as told:
        DaskExecutors().connect("tcp://127.0.0.1:1")
    assert told.value.findings[0].hint == "pip install 'inkaccord[cluster]'"


@pytest.fixture
def cluster():
    """Return a cluster of two worker processes on this machine."""
    distributed = pytest.importorskip("distributed")
    with distributed.LocalCluster(
        n_workers=2,
        threads_per_worker=1,
        host="127.0.0.1",
        dashboard_address=None,
        silence_logs=50,
    ) as made:
        yield made


@pytest.mark.slow
def test_a_cluster_writes_what_one_process_writes_though_a_worker_is_killed(
    finished, cluster, monkeypatch
):
    before = written(finished / "out")
    shutil.rmtree(finished / "out")
    results, handed, killed = Engine.results, [], []

    def told(engine, task, calls):
        if len(handed) == 1:
            killed.append(next(iter(cluster.workers.values())).process.pid)
            os.kill(killed[0], signal.SIGKILL)
        found = results(engine, task, calls)
        handed.append(found)
        return found

    monkeypatch.setattr(Engine, "results", told)
    code, out, err = inkaccord("run", finished, "--cluster", cluster.scheduler_address)
    assert code == 0, out + err
    assert killed
    assert len(handed) > 2
    assert None not in handed[0]
    assert written(finished / "out") == before


@pytest.mark.slow
def test_where_no_scheduler_answers_it_is_said(finished, monkeypatch):
    pytest.importorskip("distributed")
    monkeypatch.setattr("inkaccord_dask.cluster.WAIT_S", 0.5)
    code, _, err = inkaccord("run", finished, "--cluster", "tcp://127.0.0.1:1")
    assert code == 2
    assert "no scheduler answers at tcp://127.0.0.1:1" in " ".join(err.split())


@pytest.mark.slow
def test_what_was_sent_is_let_go(cluster):
    executor = DaskExecutors().connect(cluster.scheduler_address).executor
    try:
        for number in range(5):
            assert executor.submit(length, bytes(LARGE - 1), twice=number > 2).result() >= LARGE - 1
        kept = executor._client.scheduler_comm.recent_message_log
        assert sum(len(pickle.dumps(it)) for it in kept) < 2 * LARGE
    finally:
        executor.shutdown()


@pytest.mark.slow
def test_a_worker_with_another_program_is_refused_with_a_sentence(finished, cluster, monkeypatch):
    shutil.rmtree(finished / "out")
    monkeypatch.setattr("inkaccord_dask.cluster.program_here", lambda: "another")
    code, _, err = inkaccord("run", finished, "--cluster", cluster.scheduler_address)
    assert code == 2
    assert "has another version of inkaccord" in " ".join(err.split())
    assert not (finished / "out" / "run.json").exists()


@pytest.mark.slow
def test_a_cluster_that_goes_away_costs_no_result(finished, cluster, monkeypatch):
    monkeypatch.setattr("inkaccord_dask.cluster.WAIT_S", 4.0)
    before = written(finished / "out")
    shutil.rmtree(finished / "out")
    results, handed = Engine.results, []

    def told(engine, task, calls):
        if len(handed) == 1:
            cluster.close()
        handed.append(results(engine, task, calls))
        return handed[-1]

    monkeypatch.setattr(Engine, "results", told)
    code, out, err = inkaccord("run", finished, "--cluster", cluster.scheduler_address)
    assert code == 0, out + err
    assert None in handed[1]
    assert written(finished / "out") == before


@pytest.mark.slow
def test_a_connection_that_is_gone_breaks_the_executor_and_lets_itself_be_closed(cluster):
    executor = DaskExecutors().connect(cluster.scheduler_address).executor
    executor._client.close()
    with pytest.raises(BrokenExecutor):
        executor.submit(length, bytes(LARGE))
    executor.shutdown(wait=False)
