"""Rewriting the colours of pictures that name them: tables, spots, mixtures; photographs stay."""

from __future__ import annotations

from typing import Any

import pikepdf

from inkaccord.artwork.content.traverse import InlinePlace
from inkaccord.artwork.recolouring.ink_pictures import (
    InkPictures,
    StaysError,
    needs_new_samples,
    spot_steps,
)
from inkaccord.artwork.recolouring.resources import ResourceRewriter, packed
from inkaccord.artwork.recolouring.rewriting import Rewriting
from inkaccord.artwork.recolouring.unhandled import RECOLOURED
from inkaccord.errors import FileError
from inkaccord.pdf.colours.scope import Scope
from inkaccord.pdf.colours.spaces import Space, SpaceKind
from inkaccord.pdf.entries import entry, objgen, word
from inkaccord.pdf.page_objects import alternate_images


class PictureRewriter:
    """Swaps the colours of pictures of one document, each picture once."""

    def __init__(self, work: Rewriting, resources: ResourceRewriter) -> None:
        self._work = work
        self._resources = resources
        self._samples = InkPictures(work, resources.mixtures)

    def image(self, image: Any, scope: Scope) -> None:
        """Rewrite an image's colour space where it names colours; photographs stay."""
        if not self._work.once(image, ("image", id(image))) or image.get("/ImageMask", False):
            return
        photographs = self._work.results.photographs
        before = set(photographs)
        for one in alternate_images(image):
            self.image(one, scope)
        photographs.intersection_update(before)  # alternates stay, and are told of
        definition = image.get("/ColorSpace")
        if definition is None:
            photographs.add(objgen(image))
            return
        self._resources.space(definition, scope, ("image space", objgen(image)))
        if isinstance(definition, pikepdf.Name):
            named = entry(entry(scope.resources, "/ColorSpace"), word(definition))
            definition = named if named is not None else definition
        space = self._work.spaces.read(definition, scope.resources)
        if self._work.stays_by_name(image, space, "a picture"):
            return
        if self._work.becomes_process(space):
            fine = needs_new_samples(image) and self._samples.has_room_for(space.name)
            if space.kind is SpaceKind.SPOT and not fine:
                self._spot_image(image, space)
            else:
                self._mix_anew(image, space)
        elif space.kind not in RECOLOURED:
            photographs.add(objgen(image))

    def _mix_anew(self, image: Any, space: Space) -> None:
        """Give a picture in several inks samples of their builds."""
        try:
            made = self._samples.rewrite(image, space)
        except StaysError as why:
            self._work.stay(space, "a picture", str(why))
        except FileError as problem:
            self._work.stay(space, "a picture", problem.findings[0].message)
        else:
            self._work.results.swapped.update((swap, 100.0) for swap in made or ())
            if made is None:
                self._work.results.stuck.update(space.colorants)

    def _spot_image(self, image: Any, space: Space) -> bool:
        """Make the tints of a spot image indices into a table of builds; its samples stay.

        ``image`` is a stream, or the entries of an inline image. Return whether it was done.
        """
        low, high = (float(v) for v in _either(image, "/Decode", "/D", [0, 1]))
        bits = int(_either(image, "/BitsPerComponent", "/BPC", 8))
        try:
            levels = spot_steps(image, bits, self._work.streams)
        except StaysError as why:
            self._work.stay(space, "a picture", str(why))
            return False
        tints = [low + i * (high - low) / (levels - 1) for i in range(levels)]
        new = self._work.convert(space, [(tint,) for tint in tints], "a spot image")
        if new is None:
            return False
        image["/CS" if "/CS" in image else "/ColorSpace"] = pikepdf.Array(
            [
                pikepdf.Name.Indexed,
                self._resources.mixtures.name_of(new.space.kind),
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
            self._work.results.inline_photographs.add(place)
            return None
        if space.kind is SpaceKind.SPOT and self._work.becomes_process(space):
            changed = self._spot_image(header, space)
        elif self._work.becomes_process(space):
            self._work.stay(space, "a picture in the content itself", "it would need new samples")
            changed = False
        elif isinstance(definition, pikepdf.Array):
            before = bytes(definition.unparse(resolved=False))
            self._resources.space(definition, scope, object())
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


def _either(image: Any, key: str, short: str, otherwise: Any) -> Any:
    """Return an entry of an image under its name, or the short one of inline images."""
    found = image.get(key)
    if found is None:
        found = image.get(short)
    return otherwise if found is None else found
