"""What a file's marks come to, page by page: there are many, and none but pictures is kept."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from inkaccord.artwork.inventory.drawn_pictures import with_colours_of_pictures
from inkaccord.artwork.inventory.stepped import steps_of_gradients
from inkaccord.artwork.marks.mark import Mark
from inkaccord.artwork.photographs.few_colours import FlatPicture
from inkaccord.artwork.plates import spots_of
from inkaccord.artwork.roles import Role
from inkaccord.pdf.colours.colours import ArtworkColour
from inkaccord.sizes import Box


@dataclass(frozen=True, slots=True)
class Painted:
    """What one colour paints on one page."""

    box: Box
    """Around all its marks."""
    roles: frozenset[Role]
    marks: int
    overprints: bool
    see_through: bool
    layers: frozenset[str]
    shown: bool

    @classmethod
    def by(cls, marks: Sequence[Mark]) -> Painted:
        """Return what some marks come to."""
        first, *others = (mark.box for mark in marks)
        box = first
        for other in others:
            box = box.around(other)
        return cls(
            box=box,
            roles=frozenset(mark.role for mark in marks),
            marks=len(marks),
            overprints=any(mark.overprint for mark in marks),
            see_through=any(mark.see_through for mark in marks),
            layers=frozenset(mark.layer for mark in marks if mark.layer is not None),
            shown=any(mark.layer_shown for mark in marks),
        )

    def __add__(self, other: Painted) -> Painted:
        return Painted(
            box=self.box.around(other.box),
            roles=self.roles | other.roles,
            marks=self.marks + other.marks,
            overprints=self.overprints or other.overprints,
            see_through=self.see_through or other.see_through,
            layers=self.layers | other.layers,
            shown=self.shown or other.shown,
        )


@dataclass(slots=True)
class Typeset:
    """The sizes that a typeface is set in, and the pages."""

    smallest_pt: float
    largest_pt: float
    pages: dict[int, None] = field(default_factory=dict)


ByColour = dict[ArtworkColour, dict[int, Painted]]
Face = tuple[str, str, bool, bool]
"""A typeface's name and kind, whether it is embedded, and whether in part."""


class PaintedPages:
    """Takes the marks of one page after the other.

    Attributes
    ----------
    pictures
        The marks that are pictures.
    faces
        Every typeface, with what is set in it.
    spots
        The first page on which each plate that is no process ink is painted.
    """

    def __init__(self, drawn: Mapping[tuple[int, int], FlatPicture]) -> None:
        self.pictures: list[Mark] = []
        self.faces: dict[Face, Typeset] = {}
        self.spots: dict[str, int] = {}
        self._drawn = drawn
        self._colours: ByColour = {}
        self._met: dict[Painted, Painted] = {}
        """So that what is the same on many pages is kept once."""
        self._steps: dict[ArtworkColour, ArtworkColour] = {}
        self._alone: set[ArtworkColour] = set()

    def take(self, page: int, marks: Sequence[Mark]) -> None:
        """Take all marks of a page."""
        for mark in marks:
            if mark.picture is not None:
                self.pictures.append(mark)
            self._set(page, mark)
        for colour in dict.fromkeys(mark.colour for mark in marks):
            for name in sorted(spots_of(colour)):
                self.spots.setdefault(name, page)
        marks = with_colours_of_pictures(marks, self._drawn)
        steps, alone = steps_of_gradients(marks)
        for step, gradient in steps.items():
            self._steps.setdefault(step, gradient)
        self._alone |= alone
        grouped: dict[ArtworkColour, list[Mark]] = {}
        for mark in marks:
            grouped.setdefault(mark.colour, []).append(mark)
        for colour, some in grouped.items():
            painted = Painted.by(some)
            self._colours.setdefault(colour, {})[page] = self._met.setdefault(painted, painted)

    def _set(self, page: int, mark: Mark) -> None:
        if (face := mark.typeface) is None:
            return
        size = mark.text_size_pt or 0.0
        found = self.faces.setdefault(
            (face.name, face.kind, face.embedded, face.subset), Typeset(size, size)
        )
        found.smallest_pt = min(found.smallest_pt, size)
        found.largest_pt = max(found.largest_pt, size)
        found.pages[page] = None

    @property
    def steps(self) -> dict[ArtworkColour, ArtworkColour]:
        """The colours that are steps of a gradient on every page, and that gradient."""
        return {step: it for step, it in self._steps.items() if step not in self._alone}

    def colours(self, steps: Mapping[ArtworkColour, ArtworkColour]) -> ByColour:
        """Return what each colour paints on which page, steps as their gradients."""
        found: ByColour = {}
        for colour, pages in self._colours.items():
            into = found.setdefault(steps.get(colour, colour), {})
            for page, painted in pages.items():
                into[page] = into[page] + painted if page in into else painted
        return {
            colour: {page: pages[page] for page in sorted(pages)} for colour, pages in found.items()
        }
