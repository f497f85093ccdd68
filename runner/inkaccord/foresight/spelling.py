"""Spots that the artwork spells otherwise than the order."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from inkaccord.colour.paints import Paint
from inkaccord.diagnostics import Diagnostic, Place, warning
from inkaccord.order.mistakes import nearest
from inkaccord.order.model import Order
from inkaccord.order.source import Path_


@dataclass(frozen=True)
class Misspelt:
    """A spot of the order that no artwork holds, and the one that is most likely meant."""

    field: Path_
    spot: str
    meant: str
    path: str
    """The artwork that holds it."""

    def finding(self, place: Place) -> Diagnostic:
        """Say so."""
        return warning(
            "spot-spelt-otherwise",
            f"no artwork holds 'spot {self.spot}'",
            place=place,
            hint=f"did you mean 'spot {self.meant}', as {self.path} spells it?",
        )


def misspelt_spots(order: Order, held: Mapping[str, str]) -> Iterator[Misspelt]:
    """Find them among the spots that the artworks hold: name to the first file that holds it."""
    lists: list[tuple[Path_, tuple[Paint, ...]]] = [(("keep",), order.keep)]
    lists += [
        (("colours", name, "in_artwork"), brand.in_artwork) for name, brand in order.colours.items()
    ]
    lists += [
        (("finishes", name, "in_artwork"), one.in_artwork) for name, one in order.finishes.items()
    ]
    named: dict[Path_, str] = {
        (*field, number): paint.name
        for field, paints in lists
        for number, paint in enumerate(paints)
        if paint.name is not None
    }
    strangers = held.keys() - set(named.values())
    for field, spot in named.items():
        near = [] if spot in held else nearest(spot, strangers)
        if near:
            yield Misspelt(field, spot, near[0], held[near[0]])
