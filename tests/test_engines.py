"""Where tasks are done: side by side, in order, and again when a worker died."""

import os
import signal
import subprocess
import sys
import time
from concurrent.futures import Executor, Future
from concurrent.futures.process import BrokenProcessPool
from contextlib import closing
from pathlib import Path

import pytest

from inkaccord.engines import Engine, own_processes

pytestmark = pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no such signal here")


def half(number: int) -> float:
    if number % 2:
        raise ValueError(number)
    return number / 2


def dies_once(mark: Path, number: int) -> int:
    """Take the whole worker down, unless that was done before."""
    if not mark.exists():
        mark.write_bytes(b"")
        os.kill(os.getpid(), signal.SIGKILL)
    return number


class Broken(Executor):
    """An executor whose workers all die."""

    made = 0

    def __init__(self):
        type(self).made += 1

    def submit(self, fn, /, *args, **kwargs):  # noqa: ARG002 - it does none
        lost = Future()
        lost.set_exception(BrokenProcessPool("it died"))
        return lost

    def shutdown(self, wait=True, *, cancel_futures=False):
        pass


def test_results_come_in_order_and_what_fails_or_is_lost_costs_no_other(tmp_path):
    engine = own_processes(2)
    assert engine is not None
    with closing(engine):
        assert engine.results(half, [(4,), (3,), (8,)]) == [2.0, None, 4.0]
        calls = [(tmp_path / "mark", number) for number in range(5)]
        assert engine.results(dies_once, calls) == [0, 1, 2, 3, 4]
        assert engine.results(half, [(2,)]) == [1.0]


def test_where_no_worker_lives_everything_is_left_to_whoever_asks(monkeypatch):
    monkeypatch.setattr(Broken, "made", 0)
    engine = Engine(Broken, 2)
    assert engine.takes(2)
    assert engine.results(half, [(2,), (4,)]) == [None, None]
    assert Broken.made == 3
    assert not engine.takes(1000)


def test_one_worker_is_ourselves_and_few_tasks_start_none_unasked():
    assert own_processes(1) is None
    engine = Engine(Broken, 2, least=24)
    assert not engine.takes(23)
    assert engine.takes(24)


ALONE = """
import sys
from contextlib import closing
sys.path.insert(0, sys.argv[1])
from test_engines import waits
from inkaccord.engines import own_processes
if __name__ == "__main__":
    with closing(own_processes(2)) as engine:
        engine.results(waits, [(sys.argv[2], number) for number in range(2)])
"""


def waits(folder: str, number: int) -> None:
    (Path(folder) / f"{number}").write_text(str(os.getpid()), "utf-8")
    time.sleep(60)


@pytest.mark.slow
@pytest.mark.parametrize("way", [signal.SIGKILL, signal.SIGINT])
def test_workers_end_with_whoever_started_them(tmp_path, way):
    script = tmp_path / "alone.py"
    script.write_text(ALONE, "utf-8")
    command = [sys.executable, script, Path(__file__).parent, tmp_path]
    asking = subprocess.Popen(command, stderr=subprocess.DEVNULL)
    marks = [tmp_path / "0", tmp_path / "1"]
    _wait(lambda: all(mark.exists() and mark.read_text() for mark in marks))
    workers = [int(mark.read_text("utf-8")) for mark in marks]
    asking.send_signal(way)
    asking.wait(30)
    _wait(lambda: not any(map(_lives, workers)))


HALF_WRITTEN = """
import sys
from contextlib import closing
sys.path.insert(0, sys.argv[1])
from test_engines import writes_long
from inkaccord.engines import own_processes
if __name__ == "__main__":
    with closing(own_processes(2)) as engine:
        handed = [engine.hand_out(writes_long, 1 << 26) for _ in range(8)]
        print(len(handed[0].result()))
"""


def writes_long(size: int) -> bytes:
    return bytes(size)


@pytest.mark.slow
def test_a_result_that_is_half_written_holds_up_nobody_s_end(tmp_path):
    script = tmp_path / "half.py"
    script.write_text(HALF_WRITTEN, "utf-8")
    command = [sys.executable, script, Path(__file__).parent]
    for _ in range(3):
        done = subprocess.run(command, timeout=60, capture_output=True, text=True, check=False)
        assert (done.returncode, done.stdout) == (0, f"{1 << 26}\n"), done.stderr


def _wait(done, seconds=60):
    until = time.monotonic() + seconds
    while not done():
        assert time.monotonic() < until
        time.sleep(0.05)


def _lives(pid: int) -> bool:
    try:
        return "Z" not in Path(f"/proc/{pid}/stat").read_text("utf-8").rsplit(")", 1)[1].split()[0]
    except OSError:
        return False


def test_what_is_handed_out_is_handed_out_again_where_its_worker_died(tmp_path):
    engine = own_processes(2)
    assert engine is not None
    with closing(engine):
        calls = [engine.hand_out(dies_once, tmp_path / "mark", number) for number in range(3)]
        odd = engine.hand_out(half, 3)
        assert [it.result() for it in calls] == [0, 1, 2]
        assert odd.result() is None


def test_what_no_worker_lives_to_do_is_left_to_whoever_asked():
    made = Broken.made
    handed = Engine(Broken, 2).hand_out(half, 4)
    handed.go_on()
    assert handed.result() is None
    assert Broken.made == made + 3
