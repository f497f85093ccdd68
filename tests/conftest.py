"""What holds for every test: one thread for numpy, and no one's own shelf, settings or screen."""

import os

import pytest

os.environ.setdefault("OMP_NUM_THREADS", "1")  # as it works in the command


@pytest.fixture(scope="session", autouse=True)
def _no_ones_own_folder(tmp_path_factory):
    """Give the whole session a user folder of its own, and no shelf from the environment."""
    with pytest.MonkeyPatch.context() as monkeypatch:
        monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path_factory.mktemp("user")))
        for variable in ("INKACCORD_SHELF", "COLUMNS"):  # pytest-xdist sets COLUMNS in its workers
            monkeypatch.delenv(variable, raising=False)
        yield
