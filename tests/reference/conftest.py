"""The benchmarks' practices, for tests that hold them to a figure."""

import sys
from pathlib import Path

import pytest


@pytest.fixture(scope="package")
def do():
    """The benchmarks' ways of finding a build on a pair."""
    sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks"))
    try:
        import practices

        yield practices
    finally:
        sys.path.pop(0)
