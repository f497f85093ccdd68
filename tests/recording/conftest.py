import pytest

from inkaccord.colour.pairs import Pair
from inkaccord.shelf.store import Shelf
from planning_kit import ORDER, order_of
from recording_kit import sheet_of


@pytest.fixture
def shelf(tmp_path):
    """An open shelf with nothing on it."""
    with Shelf.open(tmp_path / "shelf.sqlite") as opened:
        yield opened


@pytest.fixture
def asked(shelf):
    """Two sheets of two pairs that wait to be read, alike but for the order of their swatches."""
    one = sheet_of(40)
    turned = (*one.swatches[:12], *reversed(one.swatches[12:]))
    shifted = tuple(
        swatch.model_copy(update={"id": own.id, "box_pt": own.box_pt})
        for swatch, own in zip(turned, one.swatches, strict=True)
    )[:-1]
    other = one.model_copy(
        update={"id": "PSC-DZ5", "pair": Pair.parse("laser@white"), "swatches": shifted}
    )
    shelf.add_sheet(one)
    shelf.add_sheet(other)
    return one, other


@pytest.fixture(scope="session")
def order():
    """An order whose laser takes 300 % of ink; its colours are butter and slate."""
    studio = {"devices": {"laser": {"ink_limit": 300}, "inkjet": {}}}
    return order_of(vendors={**ORDER["vendors"], "studio": studio})
