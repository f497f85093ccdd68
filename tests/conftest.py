"""What holds for every test: one thread for numpy, and no one's own shelf, settings or screen."""

import gc
import itertools
import os
import signal

import pytest
from hypothesis import settings

os.environ.setdefault("OMP_NUM_THREADS", "1")  # as it works in the command
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    # A shell has it ignored for what it starts in the background; programs that tests stop by it
    # would have it ignored, too.
    signal.signal(signal.SIGINT, signal.default_int_handler)
settings.register_profile("thorough", max_examples=400, deadline=None)  # in CI; see examples_kit


def pytest_collection_finish():
    """Leave what all tests have loaded out of every garbage collection: a sixth of the time."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(100_000, 20, 20)  # seldom, as in the command: a twentieth of the rest


@pytest.fixture(scope="session", autouse=True)
def _no_ones_own_folder(tmp_path_factory):
    """Give the whole session a user folder of its own, and no shelf from the environment."""
    with pytest.MonkeyPatch.context() as monkeypatch:
        monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path_factory.mktemp("user")))
        for variable in ("INKACCORD_SHELF", "COLUMNS"):  # pytest-xdist sets COLUMNS in its workers
            monkeypatch.delenv(variable, raising=False)
        yield


@pytest.fixture
def bound(monkeypatch):
    """Set bounds of files by name, for one test; a file that was weighed before is weighed anew."""
    from inkaccord.pdf import opening
    from inkaccord.pdf.limits import FileLimits

    def bound(**most):
        monkeypatch.setattr(opening, "_within", set())
        for name, value in most.items():
            monkeypatch.setattr(FileLimits, name, value)

    return bound


_folders = itertools.count()


@pytest.fixture(autouse=True)
def _own_user_folder(tmp_path_factory):
    """Give each test its own: by the register in it, one's sheets would be found by the next."""
    with pytest.MonkeyPatch.context() as monkeypatch:
        folder = tmp_path_factory.getbasetemp() / "users" / str(next(_folders))
        monkeypatch.setenv("XDG_DATA_HOME", str(folder))  # made by what writes there
        yield folder
