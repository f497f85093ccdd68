"""Sobol's sequence as SciPy has it, without SciPy's statistics."""

import subprocess
import sys

import numpy as np
import pytest
from scipy.stats.qmc import Sobol

from inkaccord.colour.sampling.sobol import scrambled_points


@pytest.mark.parametrize("seed", [40, 1, 2026])
def test_the_points_are_those_of_scipy(seed: int) -> None:
    theirs, ours = np.random.default_rng(seed), np.random.default_rng(seed)
    expected = Sobol(3, rng=theirs).random(512)
    np.testing.assert_array_equal(scrambled_points(ours), expected)
    assert ours.random() == theirs.random()


def test_planning_loads_no_statistics() -> None:
    program = """
import sys
from inkaccord.colour.builds import Drive
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.sampling.planning import scouting_set
scouting_set(Drive.RGB, InkPolicy(), 16)
assert "scipy.stats" not in sys.modules
"""
    subprocess.run([sys.executable, "-c", program], check=True)
