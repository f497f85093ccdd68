"""Rewriting the colours that stand in objects, not in content streams.

Colour-space definitions, colour tables of images and the tint transforms of spots; shadings go
through :mod:`inkaccord.artwork.recolouring.gradients`.
All of it happens in place: such an object means the same wherever it is used.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import pikepdf

from inkaccord.artwork.content.traverse import InlinePlace
from inkaccord.artwork.recolouring.conversion import (
    Conversion,
    MixedKindsError,
    convert,
)
from inkaccord.artwork.recolouring.gradients import GradientRewriter, Report
from inkaccord.artwork.recolouring.ink_pictures import (
    InkPictures,
    StaysError,
    needs_new_samples,
    spot_steps,
)
from inkaccord.artwork.recolouring.ink_spaces import InkSpaces
from inkaccord.artwork.recolouring.mixture_spaces import MixtureSpaces
from inkaccord.artwork.recolouring.unhandled import RECOLOURED
from inkaccord.artwork.rewritten import said_of_rewritten
from inkaccord.artwork.swap_table import Mapped, SwapTable
from inkaccord.artwork.swaps import SpotMode
from inkaccord.colour.paints import Paint, PaintKind
from inkaccord.errors import FileError
from inkaccord.pdf.colours.functions import BadFunctionError
from inkaccord.pdf.colours.ramps import numbers_array
from inkaccord.pdf.colours.scope import Scope, Scopes
from inkaccord.pdf.colours.sections import Numbers
from inkaccord.pdf.colours.shadings import read_shading
from inkaccord.pdf.colours.space_reader import SpaceReader, index_table, is_family
from inkaccord.pdf.colours.spaces import (
    DEVICE,
    Colour,
    Space,
    SpaceKind,
    device_numbers,
)
from inkaccord.pdf.entries import entry, objgen, plain, word
from inkaccord.pdf.page_objects import alternate_images
from inkaccord.pdf.streams import StreamReader


class ResourceRewriter:
    """Swaps the colours of resource objects of one document, each object once."""

    def __init__(
        self,
        pdf: pikepdf.Pdf,
        table: SwapTable,
        spaces: SpaceReader,
        streams: StreamReader,
        report: Report,
        scopes: Scopes,
    ) -> None:
        self._pdf = pdf
        self._scopes = scopes
        self._table = table
        self._spaces = spaces
        self._streams = streams
        self._report = report
        self._gradients = GradientRewriter(pdf, table, streams, report, scopes)
        self.mixtures = MixtureSpaces(pdf, streams, report, scopes)
        self._pictures = InkPictures(table, streams, self.mixtures)
        self._done: set[object] = set()
        self._inks = InkSpaces(pdf, table, spaces, streams, report)
        self.swapped = self._inks.swapped
        self.stuck = self._inks.stuck
        """Colorants of what can't become process colour, and was reported."""
        self.photographs: set[tuple[int, int]] = set()
        self.inline_photographs: set[InlinePlace] = set()
        self.without_build: set[Paint] = set()

    def _once(self, thing: Any, otherwise: object) -> bool:
        number = objgen(thing)
        key: object = number if number != (0, 0) else otherwise
        if key in self._done:
            return False
        self._done.add(key)
        return True

    def _count(self, used: list[Mapped]) -> None:
        for one in {(m.swap, m.tint) for m in used}:
            self.swapped[one] += 1

    # -- colour spaces ----------------------------------------------------------------------

    def spaces_of(self, scope: Scope) -> None:
        """Rewrite the named colour spaces of a resource dictionary."""
        table = entry(scope.resources, "/ColorSpace")
        if not isinstance(table, pikepdf.Dictionary):
            return
        holder = objgen(table) if objgen(table) != (0, 0) else scope.place
        for name in sorted(table.keys()):
            self.space(table[name], scope, ("space", holder, name))

    def forget_spots(self, scope: Scope) -> None:
        """Take spots that have become process colour out of the named colour spaces."""
        table = entry(scope.resources, "/ColorSpace")
        if not isinstance(table, pikepdf.Dictionary) or self._table.spots is SpotMode.KEEP:
            return
        for name in sorted(table.keys()):
            space = self._spaces.read(table[name], scope.resources)
            while space.kind in (SpaceKind.PATTERN, SpaceKind.INDEXED) and space.base is not None:
                space = space.base
            if self._becomes_process(space) and not self.stuck.intersection(space.colorants):
                del table[name]

    def space(self, definition: Any, scope: Scope, otherwise: object, depth: int = 0) -> None:
        """Rewrite one colour-space definition, and what it is built on."""
        if not isinstance(definition, pikepdf.Array) or not len(definition) or depth > 8:
            return
        if not self._once(definition, otherwise):
            return
        try:
            match word(definition[0]):
                case "/Separation":
                    self._inks.separation(definition, plain(definition[1]))
                case "/DeviceN" if len(definition[1]) == 1:
                    self._inks.separation(definition, plain(definition[1][0]))
                case "/DeviceN":
                    self._device_n(definition, scope, otherwise, depth)
                case "/Indexed" | "/I":
                    self.space(definition[1], scope, (otherwise, 1), depth + 1)
                    self.indexed(definition, scope)
                case "/Pattern" if len(definition) > 1:
                    self.space(definition[1], scope, (otherwise, 1), depth + 1)
        except (
            AttributeError, IndexError, KeyError, TypeError, ValueError, FileError,
            pikepdf.PdfError,
        ) as problem:  # fmt: skip
            words = "the definition of a colour is damaged, and stays as it is"
            self._report("bad-colour-space", f"{words} ({problem})")

    def _device_n(self, definition: Any, scope: Scope, otherwise: object, depth: int) -> None:
        if len(definition) > 4:
            colorants = entry(definition[4], "/Colorants")
            if isinstance(colorants, pikepdf.Dictionary):
                for name in sorted(colorants.keys()):
                    self.space(colorants[name], scope, (otherwise, name), depth + 1)
        becomes_process = self._becomes_process(self._spaces.read(definition, scope.resources))
        self._inks.mixture(definition, becomes_process=becomes_process)

    # -- tables -----------------------------------------------------------------------------

    def indexed(self, definition: Any, scope: Scope) -> bool:
        """Swap the entries of a colour table; whether any was."""
        base = self._spaces.read(definition[1], scope.resources)
        table = index_table(definition)
        new = self._table_of(base, table)
        if new is None:
            return False
        if new.space.kind in DEVICE:
            definition[1] = self.mixtures.name_of(new.space.kind)
        elif new.space is not base:
            definition[1] = new.space.definition
        definition[3] = pikepdf.String(packed(new.numbers))
        return True

    def _table_of(self, base: Space, table: bytes) -> Conversion | None:
        size = base.components
        if not size or base.kind in (SpaceKind.INDEXED, SpaceKind.PATTERN, SpaceKind.UNKNOWN):
            return None
        colours = [
            base.from_bytes(table[i : i + size]) for i in range(0, len(table) - size + 1, size)
        ]
        if base.kind is SpaceKind.DEVICEN:
            mapped = [self._table.of(base.colour(one)) for one in colours]
            if any(one is not None and one.inks for one in mapped):
                new = self.mixtures.table(base, colours, mapped, self._table.gone(base.colorants))
                self._count(new.used if new is not None else [])
                return new
        self._tell_of_rewritten(base.colour(one) for one in colours)
        return self._convert(base, colours, "a colour table")

    def _tell_of_rewritten(self, colours: Iterable[Colour]) -> None:
        """Report colours that a program made of one that changes, in another kind."""
        for paint in dict.fromkeys(colour.paint for colour in colours if colour.paint is not None):
            swap = self._table.rewritten_of(paint)
            if swap is not None:
                changes = self._table.swaps[swap]
                said = said_of_rewritten(paint, changes.old, changes.name)
                self._report("rewritten-colour", said)

    def _convert(self, space: Space, colours: list[Numbers], what: str) -> Conversion | None:
        try:
            new = convert(self._table, space, colours)
        except MixedKindsError as problem:
            self.without_build |= problem.without_build
            self._report("mixed-kinds", f"{what} cannot be recoloured: {problem}")
            return None
        if new is None:
            return None
        if self._scopes.bars(PaintKind(new.space.kind.value)):
            self._report("default-space", f"{what} should become {new.space.kind}")
            return None
        self._count(new.used)
        return new

    # -- images -----------------------------------------------------------------------------

    def image(self, image: Any, scope: Scope) -> None:
        """Rewrite an image's colour space where it names colours; photographs stay."""
        if not self._once(image, ("image", id(image))) or image.get("/ImageMask", False):
            return
        photographs = set(self.photographs)
        for one in alternate_images(image):
            self.image(one, scope)
        self.photographs.intersection_update(photographs)  # these stay, and are told of
        definition = image.get("/ColorSpace")
        if definition is None:
            self.photographs.add(objgen(image))
            return
        self.space(definition, scope, ("image space", objgen(image)))
        if isinstance(definition, pikepdf.Name):
            named = entry(entry(scope.resources, "/ColorSpace"), word(definition))
            definition = named if named is not None else definition
        space = self._spaces.read(definition, scope.resources)
        if self._stays_by_name(image, space, "a picture"):
            return
        if self._becomes_process(space):
            fine = needs_new_samples(image) and self._pictures.has_room_for(space.name)
            if space.kind is SpaceKind.SPOT and not fine:
                self._spot_image(image, space)
            else:
                self._mix_anew(image, space)
        elif space.kind not in RECOLOURED:
            self.photographs.add(objgen(image))

    def _stays_by_name(
        self, holder: Any, space: Space, what: str, colours: Iterable[Colour] = ()
    ) -> bool:
        """Report what would have to leave a space that it names and does not hold.

        Ghostscript takes such a name from the page's resources, poppler does not, and PDFium does
        for pictures alone (tried). Where the space itself changes, there is nothing to leave.
        """
        named = entry(holder, "/ColorSpace")
        if not isinstance(named, pikepdf.Name) or is_family(word(named)):
            return False
        leaves = self._becomes_process(space) or any(map(self._table.of, colours))
        if leaves:
            self.stuck.update(space.colorants)
            self._report(
                "named-space",
                f"{what} takes its colours ({space.name}) from the colour space {word(named)} of "
                "the resources, by name alone, where many devices don't find it",
            )
        return leaves

    def _mix_anew(self, image: Any, space: Space) -> None:
        """Give a picture in several inks samples of their builds."""
        try:
            made = self._pictures.rewrite(image, space)
        except StaysError as why:
            self._stay(space, "a picture", str(why))
        except FileError as problem:
            self._stay(space, "a picture", problem.findings[0].message)
        else:
            self.swapped.update((swap, 100.0) for swap in made or ())
            if made is None:
                self.stuck.update(space.colorants)

    def _stay(self, space: Space, what: str, why: str) -> None:
        """Report what stays in inks of which one was to become process colour."""
        self.stuck.update(space.colorants)
        inks = " and ".join(space.colorants)
        said = f"can't become process colour: {why}"
        if space.kind is SpaceKind.SPOT:
            self._report("spot-image", f"{what} in the spot {inks} {said}")
        else:
            self._report("inks-stay", f"{what} mixed of {inks} {said}")

    def _becomes_process(self, space: Space) -> bool:
        if space.kind is SpaceKind.DEVICEN:
            return self._table.loses_inks(space.colorants)
        return self._table.spots is SpotMode.PROCESS and space.name in self._table.whole_spots

    def _spot_image(self, image: Any, space: Space) -> bool:
        """Make the tints of a spot image indices into a table of builds; its samples stay.

        ``image`` is a stream, or the entries of an inline image. Return whether it was done.
        """
        low, high = (float(v) for v in _either(image, "/Decode", "/D", [0, 1]))
        bits = int(_either(image, "/BitsPerComponent", "/BPC", 8))
        try:
            levels = spot_steps(image, bits, self._streams)
        except StaysError as why:
            self._stay(space, "a picture", str(why))
            return False
        tints = [low + i * (high - low) / (levels - 1) for i in range(levels)]
        new = self._convert(space, [(tint,) for tint in tints], "a spot image")
        if new is None:
            return False
        image["/CS" if "/CS" in image else "/ColorSpace"] = pikepdf.Array(
            [
                pikepdf.Name.Indexed,
                self.mixtures.name_of(new.space.kind),
                levels - 1,
                pikepdf.String(packed(new.numbers)),
            ]
        )
        for key in ("/Decode", "/D"):
            if key in image:
                del image[key]
        return True

    def inline_image(self, header: Any, scope: Scope, place: InlinePlace) -> bytes | None:
        """Return the rewritten entries of an inline image, or None if nothing changes."""
        if _either(header, "/ImageMask", "/IM", False):
            return None
        definition = _either(header, "/ColorSpace", "/CS", None)
        space = scope.space(definition) if definition is not None else None
        if space is None or space.kind not in RECOLOURED:
            self.inline_photographs.add(place)
            return None
        if space.kind is SpaceKind.SPOT and self._becomes_process(space):
            changed = self._spot_image(header, space)
        elif self._becomes_process(space):
            self._stay(space, "a picture in the content itself", "it would need new samples")
            changed = False
        elif isinstance(definition, pikepdf.Array):
            before = bytes(definition.unparse(resolved=False))
            self.space(definition, scope, ("inline", id(header), len(self._done)))
            header["/CS" if "/CS" in header else "/ColorSpace"] = definition
            changed = bytes(definition.unparse(resolved=False)) != before
        else:
            changed = False
        if not changed:
            return None
        key = "/CS" if "/CS" in header else "/ColorSpace"
        if any(objgen(part) != (0, 0) for part in header[key]):
            # Objects have no place among content, but for their names.
            made = header[key]
            header[key] = pikepdf.Name(scope.add("/ColorSpace", ("inline", place), lambda: made))
        parts = [
            name.encode() + b" " + bytes(pikepdf.Array([value]).unparse())[1:-1].strip()
            for name, value in header.items()
        ]
        return b" " + b" ".join(parts) + b"\n"

    # -- shadings ---------------------------------------------------------------------------

    def shading(self, definition: Any, scope: Scope, otherwise: object) -> None:
        """Rewrite the colours of a shading."""
        if not isinstance(definition, (pikepdf.Dictionary, pikepdf.Stream)):
            return
        if not self._once(definition, otherwise):
            return
        try:
            shading = read_shading(definition, scope.resources, self._spaces, self._streams)
            if self._stays_by_name(definition, shading.space, "a gradient", shading.colours()):
                new = None
            elif shading.space.kind is SpaceKind.DEVICEN:
                new = self._gradients.rewrite_inks(definition, shading, self.mixtures.of)
                if new is None and self._becomes_process(shading.space):
                    self._stay(shading.space, "a gradient", "it is a mesh of several inks")
            elif shading.space.kind in (SpaceKind.INDEXED, SpaceKind.UNKNOWN):
                new = None
            else:
                self._tell_of_rewritten(shading.colours())
                new = self._gradients.rewrite(definition, shading)
        except MixedKindsError as problem:
            self.without_build |= problem.without_build
            self._report("mixed-kinds", f"a gradient cannot be recoloured: {problem}")
            return
        except BadFunctionError as problem:
            self._report("bad-shading", str(problem))
            return
        if new is None:
            self.space(definition.get("/ColorSpace"), scope, (otherwise, "space"))
            return
        kind, moved = new.space.kind, new.space is not shading.space
        if kind in DEVICE and (moved or self._scopes.defaulted(PaintKind(kind.value))):
            definition["/ColorSpace"] = self.mixtures.name_of(kind)
        elif moved:
            definition["/ColorSpace"] = new.space.definition
        else:
            self.space(definition.get("/ColorSpace"), scope, (otherwise, "space"))
        self._count(new.used)

    # -- annotations ------------------------------------------------------------------------

    def colour_array(self, holder: Any, key: str) -> None:
        """Swap a colour given as an array of one, three or four numbers."""
        array = entry(holder, key)
        kinds = {1: SpaceKind.GRAY, 3: SpaceKind.RGB, 4: SpaceKind.CMYK}
        if not isinstance(array, pikepdf.Array) or len(array) not in kinds:
            return
        try:
            numbers = tuple(float(v) for v in array)
        except (TypeError, ValueError):
            return
        mapped = self._table.of(DEVICE[kinds[len(array)]].colour(numbers))
        if mapped is not None:
            holder[key] = numbers_array(device_numbers(mapped.paint))
            self._count([mapped])


def packed(colours: list[Numbers]) -> bytes:
    """Return colours of 0 to 1 as an 8-bit colour table."""
    return bytes(round(min(max(value, 0.0), 1.0) * 255) for colour in colours for value in colour)


def _either(image: Any, key: str, short: str, otherwise: Any) -> Any:
    """Return an entry of an image under its name, or the short one of inline images."""
    found = image.get(key)
    if found is None:
        found = image.get(short)
    return otherwise if found is None else found
