"""One page for the tests of a module, opened on an order that waits for looks."""

from collections.abc import Iterator

import pytest

from artwork_kit import document
from run_kit import inkaccord
from web_kit import ORDER, OpenPage, open_page


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> Iterator[OpenPage]:
    """A folder with an order that was run once, and waits for looks."""
    folder = tmp_path_factory.mktemp("studio")
    order = folder / "tags"
    order.mkdir()
    (order / "order.yaml").write_text(ORDER, "utf-8")
    (order / "tag.pdf").write_bytes(document(b"0.85 0.2 0.6 0.3 k 20 20 60 60 re f"))
    assert inkaccord("run", order)[0] == 3
    yield from open_page(folder)
