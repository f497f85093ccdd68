"""One page for the tests of a module, opened on an order that waits for looks."""

from collections.abc import Iterator

import pytest

from run_kit import inkaccord
from web_kit import OpenPage, open_page, studio


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> Iterator[OpenPage]:
    """A folder with an order that was run once, and waits for looks."""
    folder = tmp_path_factory.mktemp("studio")
    assert inkaccord("run", studio(folder))[0] == 3
    yield from open_page(folder)
