"""Every benchmark runs: figures are for people, but a broken benchmark measures nothing."""

import subprocess
import sys
from pathlib import Path

import pytest

HERE = Path(__file__).parent


@pytest.mark.parametrize(
    "name",
    ["deck", "drift", "growth", "impose", "picks", "recolour", "rgb", "shelf", "usual_residual"],
)
def test_a_quick_run_of_each_benchmark(name):
    done = subprocess.run(
        [sys.executable, HERE / f"{name}.py", "--quick"],
        capture_output=True, text=True, timeout=240, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-2000:]
    assert done.stdout.strip()
