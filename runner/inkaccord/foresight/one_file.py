"""The colours of one PDF, with or without an order that says which of its own they are."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from inkaccord.artwork.inventory.inventory import Inventory, inventory
from inkaccord.artwork.profiled import Profiled

if TYPE_CHECKING:  # slow to load, and most files have no order
    from inkaccord.artwork.inventory.nearest import Nearest
    from inkaccord.order.model import Order

DPI = 300
"""Resolution at which areas are measured, if nobody says."""


@dataclass(frozen=True)
class FileColours:
    """What a file holds.

    Attributes
    ----------
    found
        As the file says it.
    shown
        With colours that have a profile as plain numbers, where that is asked for.
    nearest
        Which of an order's colours each one shown is; empty without an order.
    """

    found: Inventory
    shown: Inventory
    nearest: "tuple[Nearest, ...]" = ()


def file_colours(
    file: Path,
    order: "Order | None",
    profiled: Profiled | None,
    *,
    dpi: float = DPI,
    look: Callable[..., Inventory] = inventory,
) -> FileColours:
    """Return the colours of a file. Raises FileError for one that can't be used.

    Parameters
    ----------
    profiled
        What colours with a profile are taken for; None: as the order says.
    look
        Looks through the file: ``inventory``, or that with a memory.
    """
    colours = order.colours if order is not None else {}
    known = tuple(paint for colour in colours.values() for paint in colour.in_artwork)
    found = look(file, dpi=dpi, known=known)
    asked = profiled or (order and order.profiled)
    shown = found.by_numbers() if asked is Profiled.PLAIN else found
    if order is None:
        return FileColours(found, shown)
    from inkaccord.artwork.inventory.nearest import nearest  # noqa: PLC0415 - as above

    names = {name: colour.known_as for name, colour in colours.items()}
    within = {name: colour.within for name, colour in colours.items()}
    return FileColours(found, shown, nearest(shown, names, within=within))
