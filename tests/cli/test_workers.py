"""Runs with worker processes: the same bytes, whatever becomes of a worker."""

import os
import shutil
import signal

import pytest

from inkaccord.engines import Engine
from inkaccord.processes import Processes
from run_kit import written


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no such signal here")
def test_two_workers_of_which_one_is_killed_write_what_one_process_writes(
    finished, inkaccord, monkeypatch
):
    before = written(finished / "out")
    shutil.rmtree(finished / "out")
    killed, lost, results = [], [], Engine.results

    def submit(pool, *task):
        future = super(Processes, pool).submit(*task)
        if not killed:
            killed.append(next(iter(pool._processes)))
            os.kill(killed[0], signal.SIGKILL)
        return future

    def told(engine, task, calls):
        found = results(engine, task, calls)
        lost.extend([it for it in found if it is None])
        lost.append(len(found))
        return found

    monkeypatch.setattr(Processes, "submit", submit)
    monkeypatch.setattr(Engine, "results", told)
    code, out, err = inkaccord("run", finished, "--workers", "2")
    assert code == 0, out + err
    assert killed
    assert lost
    assert None not in lost  # each task had its result from a worker
    assert written(finished / "out") == before
