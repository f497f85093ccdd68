"""The shelf that questions without an order are put to."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from inkaccord.cli.shared import Settings
from inkaccord.cli.shelf_place import find_shelf, same_place, shelf_with

if TYPE_CHECKING:
    from collections.abc import Sequence

    from inkaccord.order.wanted import Wanted
    from inkaccord.recording.asked import AskedShelf


@contextmanager
def asked_shelf(settings: Settings, colours: "Sequence[Wanted]") -> Iterator["AskedShelf"]:
    """Open the shelf that some colours are asked of: where one is a swatch, that of its sheet."""
    from inkaccord.recording.asked import AskedShelf
    from inkaccord.shelf.store import Shelf

    sheets = [it.swatch.sheet for it in colours if it.swatch is not None]
    place = shelf_with(settings, sheets[0]) if sheets else find_shelf(settings)
    with Shelf.open(place) as shelf:
        yield AskedShelf(shelf, settings.named_order, same_place(settings))
