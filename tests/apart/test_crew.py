"""Workers: what they are asked comes back, and what goes wrong in them ends in a finding."""

import ast
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

import tasks_kit
from inkaccord.apart import crew, worker
from inkaccord.apart.crew import (
    Allowance,
    TaskError,
    TooMuchError,
    answer,
    answers,
    run_program,
)
from inkaccord.errors import FileError
from inkaccord.pdf import pdfium
from inkaccord.sheets.scan import decoding

SMALL = Allowance("The library", seconds=5, mib=256)
ONE_SECOND = Allowance("The library", seconds=1, mib=256)
limited = pytest.mark.skipif(not worker.HAS_LIMITS, reason="this system limits no process")


def code_of(task: Callable[[], object]) -> str:
    with pytest.raises(TooMuchError) as problem:
        task()
    return problem.value.findings[0].code


def test_what_a_task_yields_comes_back_in_order() -> None:
    data = bytes(range(256)) * 5000
    found = list(answers(tasks_kit.count, SMALL, up_to=3, data=data))
    assert [it["number"] for it in found] == [0, 1, 2]
    assert all(bytes(it["data"]) == data for it in found)


def test_a_worker_is_kept_for_the_next_task_and_is_not_this_process() -> None:
    one, two = (answer(tasks_kit.count, SMALL, up_to=1)["process"] for _ in range(2))
    assert one == two != os.getpid()


def test_a_worker_is_kept_however_much_the_asking_process_has_needed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    crew._crew.end()  # those of other tests may have needed more than a new one does
    held = b"." * (80 << 20)
    monkeypatch.setattr(crew, "_TIRED_MIB", len(held) >> 20)
    one, two = (answer(tasks_kit.count, SMALL, up_to=1)["process"] for _ in range(2))
    assert one == two


def test_a_worker_that_is_expected_is_the_one_that_works() -> None:
    crew.expect()
    idle = list(crew._crew._idle)
    crew.expect()
    assert crew._crew._idle == idle
    process = answer(tasks_kit.count, SMALL, up_to=1)["process"]
    assert process == idle[-1]._process.pid


def test_two_at_once_have_a_worker_each() -> None:
    one, two = answers(tasks_kit.count, SMALL, up_to=1), answers(tasks_kit.count, SMALL, up_to=1)
    assert next(one)["process"] != next(two)["process"]
    assert (list(one), list(two)) == ([], [])


def test_a_task_that_is_left_early_leaves_nothing_for_the_next_one() -> None:
    some = answers(tasks_kit.count, SMALL, up_to=50)
    next(some)
    some.close()
    assert answer(tasks_kit.count, SMALL, up_to=1)["number"] == 0


@limited
def test_a_worker_that_somebody_ended_is_replaced() -> None:
    first = answer(tasks_kit.count, SMALL, up_to=1)["process"]
    os.kill(first, signal.SIGTERM)
    os.waitid(os.P_PID, first, os.WEXITED | os.WNOWAIT)  # ended, and not yet taken note of
    assert answer(tasks_kit.count, SMALL, up_to=1)["process"] != first


def test_what_a_library_raises_is_told_and_the_worker_stays() -> None:
    before = answer(tasks_kit.count, SMALL, up_to=1)["process"]
    with pytest.raises(TaskError, match="no such page"):
        answer(tasks_kit.refuse, SMALL)
    assert answer(tasks_kit.count, SMALL, up_to=1)["process"] == before


def test_what_a_library_prints_does_not_stand_between_messages() -> None:
    assert answer(tasks_kit.print_much, SMALL) == {"said": "done"}


@pytest.mark.slow
@limited
def test_without_end_it_is_stopped() -> None:
    with pytest.raises(TooMuchError, match=r"The library was not done .* after 1 s") as problem:
        answer(tasks_kit.never_end, ONE_SECOND)
    assert problem.value.findings[0].code == "took-too-long"
    assert "simplify what is drawn" in str(problem.value)


def test_one_that_only_waits_is_stopped_by_the_clock(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(crew, "_PATIENCE", 0.2)
    waiting = Allowance("The library", seconds=1)
    assert code_of(lambda: answer(tasks_kit.sleep, waiting, seconds=600)) == "took-too-long"


@pytest.mark.slow
@limited
def test_time_is_counted_for_each_task_anew() -> None:
    for _ in range(3):
        answer(tasks_kit.work, ONE_SECOND, seconds=0.7)


@limited
@pytest.mark.skipif(sys.platform == "darwin", reason="macOS does not limit memory")
def test_too_much_memory_is_refused() -> None:
    assert code_of(lambda: answer(tasks_kit.grow, SMALL)) == "took-too-much-memory"


def test_a_library_that_falls_does_not_take_us_along() -> None:
    assert code_of(lambda: answer(tasks_kit.fall, SMALL)) == "program-fell"
    assert answer(tasks_kit.count, SMALL, up_to=1)["number"] == 0


# -- programs ---------------------------------------------------------------------------------


def test_a_programs_status_and_words_come_back(tmp_path: Path) -> None:
    command = [sys.executable, "-c", "import os; print(os.getcwd()); raise SystemExit(3)"]
    assert run_program(command, tmp_path, SMALL) == (3, f"{tmp_path}\n")


def test_a_program_may_say_more_than_anybody_reads(tmp_path: Path) -> None:
    _, words = run_program([sys.executable, "-c", "print('x' * 10_000_000)"], tmp_path, SMALL)
    assert 0 < len(words) <= 1 << 16


@limited
def test_a_program_without_end_is_stopped(tmp_path: Path) -> None:
    endless = [sys.executable, "-c", "while True: pass"]
    assert code_of(lambda: run_program(endless, tmp_path, ONE_SECOND)) == "took-too-long"


def test_a_program_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="cannot be started"):
        run_program([str(tmp_path / "nothing")], tmp_path, SMALL)


@pytest.mark.skipif(not Path("/proc/self").exists(), reason="asks Linux what still runs")
@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGTERM])
def test_nothing_outlives_us(tmp_path: Path, how: signal.Signals) -> None:
    mark = tmp_path / "program"
    program = f"import os, time; open({str(mark)!r}, 'w').write(str(os.getpid())); time.sleep(600)"
    code = (
        "import sys; from pathlib import Path; from inkaccord.apart.crew import *;"
        f"run_program([sys.executable, '-c', {program!r}], Path({str(tmp_path)!r}),"
        " Allowance('It', seconds=100))"
    )
    ours = subprocess.Popen([sys.executable, "-c", code])
    _wait(lambda: mark.exists() and mark.read_text() != "")
    number = int(mark.read_text())
    parent = int(Path(f"/proc/{number}/stat").read_text().split()[3])
    ours.send_signal(how)
    ours.wait()
    _wait(lambda: not _command(number) and not _command(parent))


# -- what workers may load --------------------------------------------------------------------


@pytest.mark.parametrize("module", [worker, pdfium, decoding])
def test_tasks_import_nothing_of_ours(module: object) -> None:
    tree = ast.parse(Path(str(module.__file__)).read_text())  # type: ignore[attr-defined]
    names = [
        name
        for node in ast.walk(tree)
        for name in (
            [it.name for it in node.names]
            if isinstance(node, ast.Import)
            else [node.module or ""]
            if isinstance(node, ast.ImportFrom)
            else []
        )
    ]
    assert names
    assert not [name for name in names if name.startswith("inkaccord")]


def _wait(until: Callable[[], bool]) -> None:
    for _ in range(2000):
        if until():
            return
        time.sleep(0.01)
    pytest.fail("waited in vain")


def _command(process: int) -> str:
    """Return a process's command line; empty for one that has ended."""
    try:
        return Path(f"/proc/{process}/cmdline").read_text()
    except (OSError, ProcessLookupError):
        return ""
