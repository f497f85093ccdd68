"""One page for the tests of a module, opened on an order that waits for looks."""

from collections.abc import Iterator

import pytest

from web_kit import OpenPage, open_waiting


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> Iterator[OpenPage]:
    """A folder with an order that was run once, and waits for looks."""
    yield from open_waiting(tmp_path_factory.mktemp("studio"))
