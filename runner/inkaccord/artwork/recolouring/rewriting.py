"""What the parts of a recolouring share: the open document, what changes, and what came of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

import pikepdf

from inkaccord.artwork.content.traverse import InlinePlace
from inkaccord.artwork.recolouring.conversion import Conversion, MixedKindsError, convert
from inkaccord.artwork.rewritten import said_of_rewritten
from inkaccord.artwork.swap_table import Mapped, SwapTable
from inkaccord.artwork.swaps import SpotMode
from inkaccord.colour.paints import Paint, PaintKind
from inkaccord.pdf.colours.scope import Scopes
from inkaccord.pdf.colours.sections import Numbers
from inkaccord.pdf.colours.space_reader import SpaceReader, is_family
from inkaccord.pdf.colours.spaces import Colour, Space, SpaceKind
from inkaccord.pdf.entries import entry, objgen, word
from inkaccord.pdf.streams import StreamReader

Report = Callable[[str, str], None]
"""Takes a code and a detail."""


@dataclass(slots=True)
class Results:
    """What came of a rewriting."""

    swapped: Counter[tuple[int, float]] = field(default_factory=Counter)
    """How often each swap was made, by its number and the tint in percent."""
    stuck: set[str] = field(default_factory=set)
    """Colorants of what can't become process colour, and was reported."""
    without_build: set[Paint] = field(default_factory=set)
    """Colours beside swapped ones that would need a build too."""
    photographs: set[tuple[int, int]] = field(default_factory=set)
    inline_photographs: set[InlinePlace] = field(default_factory=set)


@dataclass(slots=True)
class Rewriting:
    """One document whose colours are swapped."""

    pdf: pikepdf.Pdf
    table: SwapTable
    spaces: SpaceReader
    streams: StreamReader
    scopes: Scopes
    report: Report
    results: Results = field(default_factory=Results)
    _done: set[object] = field(default_factory=set)

    def once(self, thing: Any, otherwise: object) -> bool:
        """Whether an object is met for the first time; ``otherwise`` tells one without a number."""
        number = objgen(thing)
        key: object = number if number != (0, 0) else otherwise
        if key in self._done:
            return False
        self._done.add(key)
        return True

    def count(self, used: Iterable[Mapped]) -> None:
        """Count swaps made in one object, each once."""
        self.results.swapped.update({(one.swap, one.tint) for one in used})

    def convert(self, space: Space, colours: Sequence[Numbers], what: str) -> Conversion | None:
        """Return what colours of one space become; None, and a finding, where that can't be."""
        try:
            new = convert(self.table, space, colours)
        except MixedKindsError as problem:
            self.mixed(what, problem)
            return None
        if new is None:
            return None
        if self.scopes.bars(PaintKind(new.space.kind.value)):
            self.report("default-space", f"{what} should become {new.space.kind}")
            return None
        self.count(new.used)
        return new

    def mixed(self, what: str, problem: MixedKindsError) -> None:
        """Report what would have to hold builds of several kinds."""
        self.results.without_build |= problem.without_build
        self.report("mixed-kinds", f"{what} cannot be recoloured: {problem}")

    def becomes_process(self, space: Space) -> bool:
        """Whether a space loses an ink of its own to process colour."""
        if space.kind is SpaceKind.DEVICEN:
            return self.table.loses_inks(space.colorants)
        return self.table.spots is SpotMode.PROCESS and space.name in self.table.whole_spots

    def stay(self, space: Space, what: str, why: str) -> None:
        """Report what stays in inks of which one was to become process colour."""
        self.results.stuck.update(space.colorants)
        inks = " and ".join(space.colorants)
        said = f"can't become process colour: {why}"
        if space.kind is SpaceKind.SPOT:
            self.report("spot-image", f"{what} in the spot {inks} {said}")
        else:
            self.report("inks-stay", f"{what} mixed of {inks} {said}")

    def stays_by_name(
        self, holder: Any, space: Space, what: str, colours: Iterable[Colour] = ()
    ) -> bool:
        """Report what would have to leave a space that it names and does not hold.

        Ghostscript takes such a name from the page's resources, poppler does not, and PDFium does
        for pictures alone (tried). Where the space itself changes, there is nothing to leave.
        """
        named = entry(holder, "/ColorSpace")
        if not isinstance(named, pikepdf.Name) or is_family(word(named)):
            return False
        leaves = self.becomes_process(space) or any(map(self.table.of, colours))
        if leaves:
            self.results.stuck.update(space.colorants)
            self.report(
                "named-space",
                f"{what} takes its colours ({space.name}) from the colour space {word(named)} of "
                "the resources, by name alone, where many devices don't find it",
            )
        return leaves

    def tell_of_rewritten(self, colours: Iterable[Colour]) -> None:
        """Report colours that a program made of one that changes, in another kind."""
        for paint in dict.fromkeys(colour.paint for colour in colours if colour.paint is not None):
            swap = self.table.rewritten_of(paint)
            if swap is not None:
                changes = self.table.swaps[swap]
                said = said_of_rewritten(paint, changes.old, changes.name)
                self.report("rewritten-colour", said)
