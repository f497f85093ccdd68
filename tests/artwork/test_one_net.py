"""What makes no sense in a file is mended or refused by every reader of artwork, no traceback."""

import io
from collections.abc import Callable

import pikepdf
import pytest

from inkaccord.artwork.inventory.inventory import inventory
from inkaccord.artwork.preflight.rules import ArtworkRules
from inkaccord.artwork.preflight.run import preflight
from inkaccord.pdf.opening import open_artwork
from inkaccord.testing import draw_artwork

READERS: dict[str, Callable[[bytes], object]] = {
    "inventory": lambda data: inventory(data, dpi=72),
    "preflight": lambda data: preflight(data, ArtworkRules()),
}


def too_many_pages(data: bytes) -> bytes:
    return data.replace(b"/Count 1", b"/Count 9")


def fewer_than_none(data: bytes) -> bytes:
    return data.replace(b"/Count 1", b"/Count -1")


@pytest.fixture(scope="module")
def plain() -> bytes:
    written = io.BytesIO()
    with pikepdf.open(io.BytesIO(draw_artwork())) as pdf:
        pdf.save(written, object_stream_mode=pikepdf.ObjectStreamMode.disable)
    return written.getvalue()


@pytest.mark.parametrize("reader", READERS)
@pytest.mark.parametrize("breaks", [too_many_pages, fewer_than_none])
def test_a_wrong_count_of_pages_is_put_right(plain, breaks, reader):
    broken = breaks(plain)
    assert broken != plain
    with open_artwork(broken) as pdf:
        assert pdf.Root.Pages.Count == len(pdf.pages) == 1
    READERS[reader](broken)
