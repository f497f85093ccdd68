"""The sides of a sheet as they are printed: what each shows, and its marks."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Literal

from inkaccord.layout.duplex import back_of, blank_backs
from inkaccord.layout.marks import MarkRules, MarkSet, marks_for
from inkaccord.layout.model import Item, Placement, SheetLayout
from inkaccord.models import Frozen
from inkaccord.sizes import Box


class Side(Frozen):
    """One side of one layout."""

    layout: SheetLayout
    number: Literal[1, 2]
    placements: tuple[Placement, ...]
    blank: tuple[Box, ...] = ()
    """Pieces that have nothing on this side."""
    first: Mapping[str, int] = {}
    """The first record of each piece that this layout shows."""

    @property
    def words(self) -> str:
        """Which side it is, for the slug line."""
        return "front and back" if self.layout.duplex.one_forme else side_word(self.number)

    @property
    def printable(self) -> Box:
        """What the device prints of this side."""
        # Both sides pass the device the same way: margins and gripper stand where they stood.
        return self.layout.sheet.printable

    @property
    def trim(self) -> Box:
        """The box round all trims."""
        box = self.placements[0].trim
        for placed in self.placements[1:]:
            box = box.around(placed.trim)
        return box

    def marks(self, items: Sequence[Item], rules: MarkRules) -> MarkSet:
        """Return the marks that find room on this side."""
        return marks_for(
            self.placements,
            self.printable,
            items,
            rules.showing((placed.item for placed in self.placements), self.words),
            size=self.layout.sheet.size,
            blank=self.blank,
        )


def sides_of(
    layout: SheetLayout, items: Sequence[Item], first: Mapping[str, int] | None = None
) -> Iterator[Side]:
    """Yield the sides of a layout that are to be written; ``first`` as :class:`Side` has it."""
    first = first or {}
    back = () if layout.duplex.one_forme else back_of(layout, tuple(items))
    yield Side(layout=layout, number=1, placements=layout.placements, first=first)
    if back:
        blank = blank_backs(layout, tuple(items))
        yield Side(layout=layout, number=2, placements=back, blank=blank, first=first)


def side_word(number: int) -> str:
    """Return what a side is called."""
    return "front" if number == 1 else "back"
