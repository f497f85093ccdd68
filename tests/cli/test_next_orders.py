"""Orders that workers make ahead: the same files and shelf as one after the other gives."""

import os
import shutil
import signal
import subprocess
import sys
import time
from concurrent.futures import Executor, Future
from pathlib import Path
from types import SimpleNamespace

import pytest

from inkaccord.cli.next_orders import NextOrders
from inkaccord.cli.shared import Settings
from inkaccord.elsewhere import MadeElsewhere
from inkaccord.engines import Engine
from inkaccord.errors import ExitCode
from inkaccord.processes import Processes
from inkaccord.runs import Ahead
from inkaccord.shelf.store import Shelf
from inkaccord.testing import draw_artwork
from run_kit import change, record_all, written

NAMES = ("ash", "birch", "cedar", "elm")


class AtOnce(Executor):
    """An executor that does what it is given, here and at once."""

    def submit(self, fn, /, *args, **kwargs):
        future = Future()
        try:
            future.set_result(fn(*args, **kwargs))
        except ValueError as problem:
            future.set_exception(problem)
        return future


@pytest.fixture
def at_once(monkeypatch):
    """Let --workers mean so many that do all at once, and tell whose results counted."""
    monkeypatch.setattr(
        "inkaccord.engines.own_processes",
        lambda workers: Engine(AtOnce, workers) if workers > 1 else None,
    )
    counted, made = [], MadeElsewhere.made

    def told(ahead: Ahead, memory):
        found = made(ahead, memory)
        counted.append((ahead.start.loaded.folder.name, found is not None))
        return found

    monkeypatch.setattr(MadeElsewhere, "made", told)
    return counted


def own_order(write_order, folder, suites):
    """Write an order as no other is, which goes to the shelf that it is told."""
    folder.mkdir(parents=True)
    write_order(folder)
    change(folder, "order: loop", f"order: {folder.name}")
    change(folder, "shelf: shelf.sqlite\n", "")
    change(folder, "suites: 20", f"suites: {suites}")
    (folder / "card.pdf").write_bytes(draw_artwork("5in x 7in", label=folder.name))


@pytest.fixture(scope="session")
def fresh(tmp_path_factory, write_order):
    """Four orders that were never run, and no shelf: to copy."""
    folder = tmp_path_factory.mktemp("fresh")
    for number, name in enumerate(NAMES):
        own_order(write_order, folder / name, 20 + number)
    return folder


@pytest.fixture(scope="session")
def read(tmp_path_factory, fresh, inkaccord):
    """The same, and the shelf on which the sheets of the first one were read: to copy."""
    folder = tmp_path_factory.mktemp("read")
    shutil.copytree(fresh, folder, dirs_exist_ok=True)
    first, shelf = folder / NAMES[0], folder / "shelf.sqlite"
    assert inkaccord("run", first, "--shelf", shelf)[0] == ExitCode.WAITING
    record_all(first, lambda *words: inkaccord(*words[:3], "--shelf", shelf))
    shutil.rmtree(first / "out")
    return folder


@pytest.fixture(scope="session")
def one_by_one(tmp_path_factory, read, inkaccord):
    """What those leave that are run one after the other."""
    folder = tmp_path_factory.mktemp("one-by-one")
    shutil.copytree(read, folder, dirs_exist_ok=True)
    words = ("run", folder, "--shelf", folder / "shelf.sqlite", "--workers", "1")
    assert inkaccord(*words)[0] == ExitCode.DONE
    return outcome(folder)


def outcome(folder):
    """Return what all orders wrote, and what is on the shelf, moments left out."""
    files = {name: written(folder / name / "out") for name in NAMES if (folder / name).exists()}
    with Shelf.open(folder / "shelf.sqlite") as shelf:
        kept = shelf.sheets(retired=True)
        served = {(str(it.pair), it.order, it.colour) for it in shelf.served()}
        sheets = {it.sheet.id: it.withdrawn_at is None for it in kept}
    return files, sheets, served


@pytest.fixture
def batch(tmp_path, inkaccord, monkeypatch):
    """Run a copy of a studio with so many workers, and return its outcome."""

    def run(studio, *words, code=ExitCode.DONE, beforehand=lambda _: None):
        folder = tmp_path / "studio"
        shutil.rmtree(folder, ignore_errors=True)
        shutil.copytree(studio, folder)
        beforehand(folder)
        monkeypatch.chdir(folder)
        found, out, err = inkaccord("run", ".", "--shelf", "shelf.sqlite", *words)
        assert found == code, out + err
        return outcome(folder)

    return run


def test_after_one_that_did_not_count_they_go_one_by_one_and_then_twice_as_many(monkeypatch):
    engine = Engine(AtOnce, 4)
    orders = [Path(str(number)) for number in range(40)]
    coming = NextOrders(Settings(engine=engine), orders)
    handed = []

    def handed_out(_engine, start, *_):
        handed.append(start.out)
        return SimpleNamespace(handed=engine.hand_out(str, 1), counted=True)

    monkeypatch.setattr(NextOrders, "_start_of", lambda _, order: SimpleNamespace(out=order))
    monkeypatch.setattr(NextOrders, "_plugins", None)
    monkeypatch.setattr(MadeElsewhere, "asked", handed_out)
    coming.turn_of(orders[0])
    assert handed == orders[:8], "two for each worker"
    coming.turn_of(orders[1]).counted = False
    assert handed == orders[:9]
    for turn, last in ((2, 3), (3, 5), (4, 8), (5, 13), (6, 14)):
        del handed[:]
        coming.turn_of(orders[turn])
        assert handed[-1] == orders[last - 1]


@pytest.mark.slow
def test_what_was_made_ahead_counts_and_is_the_same(read, one_by_one, batch, at_once):
    assert batch(read, "--workers", "2") == one_by_one
    assert at_once == [(name, True) for name in NAMES]


@pytest.mark.slow
def test_sheets_that_an_order_before_it_planned_are_known_to_the_next(fresh, batch, at_once):
    alone = batch(fresh, "--workers", "1", code=ExitCode.WAITING)
    assert batch(fresh, "--workers", "2", code=ExitCode.WAITING) == alone
    assert NAMES[0] in {name for name, _ in at_once}
    assert NAMES[1] not in {name for name, _ in at_once}, "the first one had changed the shelf"


@pytest.mark.slow
def test_evidence_counts_from_the_order_on_that_brings_it(read, fresh, batch, at_once, tmp_path):
    evidence = tmp_path / "evidence"
    with Shelf.open(read / "shelf.sqlite") as shelf:
        shelf.copies.export(evidence)

    def third_brings_it(folder):
        shutil.copytree(evidence, folder / NAMES[2] / "evidence")
        change(folder / NAMES[2], "suites:", "evidence: evidence\nsuites:")

    how = {"code": ExitCode.WAITING, "beforehand": third_brings_it}
    alone = batch(fresh, "--workers", "1", **how)
    assert batch(fresh, "--workers", "4", **how) == alone
    states = [b'"exit_code": 0' in alone[0][name]["run.json"] for name in NAMES]
    assert states == [False, False, True, True]


@pytest.mark.slow
def test_what_fails_in_a_worker_is_said_when_it_is_its_turn(read, batch, at_once, inkaccord):
    def two_are_broken(folder):
        (folder / NAMES[1] / "card.pdf").write_bytes(b"%PDF-1.7\nno more")
        (folder / NAMES[1] / "envelope.pdf").unlink()
        (folder / NAMES[3] / "order.yaml").write_text("order: [\n", "utf-8")

    how = {"code": ExitCode.FILES, "beforehand": two_are_broken}
    alone = batch(read, "--workers", "1", **how)
    assert batch(read, "--workers", "2", **how) == alone
    assert alone[0][NAMES[1]] == alone[0][NAMES[3]] == {}
    assert [name for name, _ in at_once] == [NAMES[0], NAMES[2]]


@pytest.mark.slow
def test_a_link_that_leads_out_of_the_folder_is_found_here(
    read, one_by_one, batch, at_once, monkeypatch
):
    """A worker elsewhere does not see it: what it made is not taken."""
    monkeypatch.setattr("inkaccord.out_folder.OutFolder.takes", lambda *_: False)
    assert batch(read, "--workers", "2") == one_by_one
    assert len(at_once) == len(NAMES)


@pytest.mark.slow
def test_the_same_artwork_is_measured_once_by_a_worker(read, batch, at_once, computed):
    def all_alike(folder):
        for name in NAMES[1:]:
            shutil.copy(folder / NAMES[0] / "card.pdf", folder / name)

    batch(read, "--workers", "2", beforehand=all_alike)
    assert computed.count("inventory_of") <= 2
    assert at_once


@pytest.mark.slow
def test_processes_of_which_some_are_killed_write_the_same(read, one_by_one, batch, monkeypatch):
    handed, submit = [], Processes.submit

    def killing(pool, *task):
        future = submit(pool, *task)
        handed.append(task[0].__name__)
        if len(handed) in {2, 5}:
            time.sleep(1)
            os.kill(next(iter(pool._processes)), signal.SIGKILL)
        return future

    monkeypatch.setattr(Processes, "submit", killing)
    assert batch(read, "--workers", "2") == one_by_one
    assert handed.count("made_here") > len(NAMES), "what was lost was handed out again"


@pytest.mark.slow
def test_a_cluster_of_which_a_worker_is_killed_writes_the_same(
    read, one_by_one, batch, monkeypatch
):
    distributed = pytest.importorskip("distributed")
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, host="127.0.0.1", dashboard_address=None,
        silence_logs=50,
    ) as cluster:  # fmt: skip
        made, killed = MadeElsewhere.made, []

        def killing(ahead, memory):
            if not killed:
                killed.append(next(iter(cluster.workers.values())).process.pid)
                os.kill(killed[0], signal.SIGKILL)
            return made(ahead, memory)

        monkeypatch.setattr(MadeElsewhere, "made", killing)
        assert batch(read, "--cluster", cluster.scheduler_address) == one_by_one
        assert killed


@pytest.mark.slow
@pytest.mark.parametrize("sign", ["SIGINT", "SIGTERM"])
def test_stopped_it_leaves_no_worker_and_the_next_run_goes_on(read, one_by_one, tmp_path, sign):
    words = [sys.executable, "-c", "from inkaccord.cli.main import main; main()", "run", ".",
             "--shelf", "shelf.sqlite", "--workers", "2"]  # fmt: skip
    for attempt in range(5):  # all may be written before a busy machine sends it
        folder = tmp_path / f"stopped-{attempt}"
        shutil.copytree(read, folder)
        with subprocess.Popen(
            words, cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
            start_new_session=True,
        ) as batch_run:  # fmt: skip
            assert batch_run.stdout is not None
            assert batch_run.stdout.readline().startswith(f"{NAMES[0]}: 2 ready")
            os.kill(batch_run.pid, getattr(signal, sign))
            out, err = batch_run.communicate(timeout=60)
        if f"{len(NAMES)} ready." not in out:
            break
    assert batch_run.returncode == {"SIGINT": 130, "SIGTERM": 143}[sign]
    assert "not run yet: the same command goes on there" in out
    assert err.strip() == "stopped"
    deadline = time.monotonic() + 10
    while left := _of_session(batch_run.pid):
        assert time.monotonic() < deadline, f"workers still live: {left}"
        time.sleep(0.1)
    assert not list(folder.rglob("*.part"))
    done = subprocess.run(words, cwd=folder, check=False, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert "unchanged" in done.stdout.splitlines()[0]
    assert outcome(folder) == one_by_one


def _of_session(number):
    """Return the processes of a session that live."""
    told = subprocess.check_output(["ps", "-eo", "pid,sess,stat,args"], text=True)
    rows = [line.split(None, 3) for line in told.splitlines()[1:]]
    return [row for row in rows if row[1] == str(number) and not row[2].startswith("Z")]
