"""The example's scripts are not installed: they are found in their folder."""

import sys
from pathlib import Path

EXAMPLE = Path(__file__).parents[2] / "jobs_example"
sys.path.insert(0, str(EXAMPLE))
