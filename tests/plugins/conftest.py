import sys
from pathlib import Path

import pytest


@pytest.fixture
def broken(monkeypatch):
    """Put the broken plugins on the path, and forget them afterwards."""
    folder = Path(__file__).parent / "broken"
    monkeypatch.syspath_prepend(folder)
    yield folder
    for module in folder.glob("*.py"):
        sys.modules.pop(module.stem, None)
