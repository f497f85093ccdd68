"""Every command that writes, killed in the middle, leaves a whole shelf and can be done again."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from kill import SCENES, Scene, kill_often

PROGRAM = Path(__file__).parent / "kill.py"


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="Windows has no SIGKILL")
@pytest.mark.parametrize("name", SCENES)
def test_killed_at_ten_steps_it_is_whole_and_ends_the_same(name):
    # A program of its own: a process that runs tests has threads, and must not fork.
    command = [sys.executable, str(PROGRAM), "--times", "10", name]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert f"{name:10} whole and the same after 10 kills" in done.stdout


def test_a_command_that_makes_no_step_is_told(tmp_path, monkeypatch):
    monkeypatch.setattr("kill.in_child", lambda *_: 0)
    with pytest.raises(AssertionError, match="makes no step"):
        kill_often(Scene(("run", "."), lambda _: None, shelf=None), 3, tmp_path)


def test_what_is_not_the_same_in_the_end_is_told(tmp_path, monkeypatch):
    steps = iter([4, -1, 4])  # counted, killed, done again

    def writes(_words, folder, _at=0):
        step = next(steps)
        (folder / "new").write_text(folder.name)
        return step

    monkeypatch.setattr("kill.in_child", writes)
    with pytest.raises(AssertionError, match="killed at step 0 of 4"):
        kill_often(Scene(("run",), lambda _: None, shelf=None, compared=("new",)), 2, tmp_path)
