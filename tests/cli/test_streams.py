"""What stands between the command and the shell: closed, full and poor streams, and being ended."""

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from inkaccord.cli.streams import ENDED, READER_GONE, end_asked_later
from inkaccord.files import sweep, working_folder

pytestmark = pytest.mark.slow  # nearly each of them starts the command anew
PLUGINS = Path(__file__).parents[1] / "plugins" / "broken"
COMMAND = [sys.executable, "-m", "inkaccord.cli.main"]


def command(*words, after="", **variables):
    """Run the command by a shell that ends the line with redirections."""
    line = " ".join([*COMMAND, *map(str, words), after])
    return subprocess.run(
        ["bash", "-c", f"set -o pipefail; {line}"],
        env={**os.environ, **variables}, capture_output=True, encoding="latin-1", timeout=120,
        check=False,
    )  # fmt: skip


@pytest.mark.parametrize("words", [("schema", "order"), ("plugins",), ("--help",)])
def test_a_reader_that_goes_away_is_no_trouble_and_told_by_the_exit_code(words):
    """As with ``| head -1``, at whatever moment the reader goes."""
    reader, writer = os.pipe()
    os.close(reader)
    done = subprocess.run(
        [*COMMAND, *words], stdout=writer, stderr=subprocess.PIPE, timeout=120, check=False
    )
    os.close(writer)
    assert (done.returncode, done.stderr) == (READER_GONE, b"")


@pytest.mark.parametrize("words", [("plugins", "--json"), ("run", "nowhere")])
def test_closed_streams_show_no_traceback(words):
    as_usual = command(*words)
    done = command(*words, after=">&- 2>/dev/null")
    assert done.returncode == as_usual.returncode
    done = command(*words, after="<&- >&- 2>&-")
    assert done.returncode == as_usual.returncode


def test_a_closed_stream_leaves_its_number_to_no_file(asked):
    """A file that gets number 1 would take in whatever is printed: a shelf would be spoilt."""
    done = command("shelf", "list", "--order", asked, after=">&-")
    assert (done.returncode, done.stderr) == (0, "")
    assert command("shelf", "verify", "--order", asked).returncode == 0


@pytest.mark.parametrize(
    "words", [("plugins",), ("plugins", "--json"), ("schema", "order"), ("--help",)]
)
@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")
def test_a_full_disk_is_said_in_a_line(words):
    done = command(*words, after="> /dev/full")
    assert done.returncode == 5
    first, *hint = done.stderr.splitlines()
    assert "No space left on device" in first
    assert hint in ([], ["      check the disk and the rights"])


@pytest.mark.parametrize("encoding", ["ascii", "cp1252"])
def test_a_terminal_with_few_characters(asked, encoding):
    title = (asked / "order.yaml").read_text("utf-8").replace("A loop", "Čaj ∞ évening")
    (asked / "order.yaml").write_text(title, "utf-8")
    done = command("run", asked, PYTHONIOENCODING=encoding, PYTHONUTF8="0")
    assert (done.returncode, done.stderr) == (3, "")
    assert r"\u221e" in done.stdout
    data = command("shelf", "list", "--order", asked, "--json", PYTHONIOENCODING=encoding)
    assert len(json.loads(data.stdout)["sheets"]) == 2


@pytest.mark.parametrize("columns", ["abc", "-3", "9" * 30])
def test_a_width_that_is_none_is_not_heeded(columns):
    done = command("plugins", COLUMNS=columns)
    assert (done.returncode, done.stderr) == (0, "")


SLEEPER = """
import subprocess, sys, time
from inkaccord.files import replacing, working_folder
from inkaccord.plugin import hookimpl
from pathlib import Path

@hookimpl
def inkaccord_collect(order, bench):
    with working_folder() as folder, replacing(bench.folder / "out" / "half.pdf"):
        child = subprocess.Popen(["sleep", "60"])
        # As subprocess.run, which kills its child when it is interrupted; told once it is there.
        try:
            print(folder, file=sys.stderr, flush=True)
            child.wait()
        finally:
            child.kill()
            child.wait()
"""


@pytest.fixture
def started(asked, tmp_path):
    """A run that has begun to write and waits for a child, and the working folder that it has."""
    (asked / "out" / "run.json").unlink()
    (tmp_path / "sleeps.py").write_text(SLEEPER)
    run = subprocess.Popen(
        [*COMMAND, "--plugin", "sleeps", "run", str(asked)],
        env={**os.environ, "PYTHONPATH": str(tmp_path)},
        stderr=subprocess.PIPE, stdout=subprocess.DEVNULL, text=True,
    )  # fmt: skip
    with run:
        folder = Path(run.stderr.readline().strip())
        assert folder.is_dir()
        yield run, folder
        run.kill()


def children(process):
    return Path(f"/proc/{process}/task/{process}/children").read_text().split()


def is_alive(process):
    """Tell whether a process is there; one that has ended may wait for its parent to be told."""
    try:
        told = Path(f"/proc/{process}/stat").read_text()
    except OSError:
        return False
    return told.rpartition(")")[2].split()[0] not in {"Z", "X"}


@pytest.mark.parametrize("number", ["SIGTERM", "SIGHUP", "SIGINT"])
@pytest.mark.skipif(not Path("/proc/self/task").exists(), reason="children are asked of /proc")
def test_a_run_that_is_asked_to_end_ends_tidily(started, asked, number):
    run, folder = started
    while not (born := children(run.pid)):
        time.sleep(0.01)
    run.send_signal(getattr(signal, number))
    _, said = run.communicate(timeout=60)
    assert said.strip() == "stopped"
    assert run.returncode == (130 if number == "SIGINT" else ENDED)
    assert not folder.exists()
    assert not list((asked / "out").rglob("*.part"))
    assert not [it for it in born if is_alive(it)]


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="nothing is swept on Windows")
def test_the_next_run_sweeps_what_a_killed_one_left(started, asked, inkaccord):
    run, folder = started
    run.kill()
    run.wait()
    (left,) = (asked / "out").glob(".*.part")
    mine = asked / "out" / ".notes.part"
    mine.write_text("of a person")
    assert folder.exists()
    inkaccord("run", asked)
    assert not folder.exists()
    assert not left.exists()
    assert mine.exists()


def test_what_a_run_at_work_has_is_not_swept(tmp_path):
    with working_folder() as folder:
        sweep(tmp_path)
        assert folder.exists()


def test_a_delivery_that_is_not_made_is_not_all_done(finished, inkaccord, monkeypatch):
    monkeypatch.syspath_prepend(PLUGINS)
    for plugin in ("leaves_the_folder", "does_not_deliver"):
        code, out, err = inkaccord("--plugin", plugin, "run", finished)
        assert code == 5, out + err
        assert "not all was delivered" in out
        sys.modules.pop(plugin)
    assert inkaccord("run", finished)[0] == 0


def test_ctrl_c_waits_while_finalisers_run():
    class Last:
        def __del__(self):
            os.kill(os.getpid(), signal.SIGINT)
            passed.append("the finaliser went on")

    passed = []
    with pytest.raises(KeyboardInterrupt), end_asked_later():
        last = Last()
        del last
        passed.append("and what follows it")
    assert passed == ["the finaliser went on", "and what follows it"]
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler
