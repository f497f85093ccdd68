"""A fixed number of files from ``fuzz_recolour.py``: the same ones on every machine and day."""

import subprocess
import sys
from pathlib import Path

import pytest

FUZZ = Path(__file__).with_name("fuzz_recolour.py")


@pytest.mark.slow
def test_damaged_files_are_recoloured_or_refused(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, FUZZ, "--tries", "1500", "--keep", tmp_path],
        capture_output=True, text=True, timeout=240, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    assert "'proven'" in done.stdout  # it did recolour, and not only refuse
