"""Seconds of ``fuzz_recolour.py``, with another seed each day: CI goes on looking."""

import datetime
import subprocess
import sys
from pathlib import Path

import pytest

FUZZ = Path(__file__).with_name("fuzz_recolour.py")


@pytest.mark.slow
def test_damaged_files_are_recoloured_or_refused(tmp_path: Path) -> None:
    seed = str(datetime.datetime.now(datetime.UTC).date().toordinal())
    done = subprocess.run(
        [sys.executable, FUZZ, "--seconds", "20", "--seed", seed, "--keep", tmp_path],
        capture_output=True, text=True, timeout=240, check=False,
    )  # fmt: skip
    assert done.returncode == 0, f"--seed {seed}:\n{done.stdout}{done.stderr}"
    assert "'proven'" in done.stdout  # it did recolour, and not only refuse
