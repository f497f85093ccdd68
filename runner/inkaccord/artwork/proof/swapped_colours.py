"""Which colours were swapped, and on which pages every pixel can be judged."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

import pikepdf

from inkaccord.artwork.content.walk import ColourUse, Walk, walk
from inkaccord.artwork.proof.gradient_pixels import gradient_settings
from inkaccord.artwork.proof.ladder_proof import LadderReader
from inkaccord.artwork.recolouring.recolour import RecolourOptions
from inkaccord.artwork.roles import Role
from inkaccord.artwork.swaps import Mapped, SwapTable
from inkaccord.pdf.colours.spaces import (
    DEVICE,
    Colour,
    Space,
    SpaceKind,
    device_paint,
    write_number,
    write_paint,
)
from inkaccord.pdf.entries import entry, objgen

MOST_KEPT = 2000


@dataclass(slots=True)
class Swapped:
    """The swapped colours of a document, and the pages that can be judged pixel by pixel."""

    pairs: list[tuple[str, bytes, bytes]] = field(default_factory=list)
    """In words, and the operators that set the old and the new colour."""
    old_spaces: list[Any] = field(default_factory=list)
    new_spaces: list[Any] = field(default_factory=list)
    kept: list[bytes] = field(default_factory=list)
    """The operators that set colours which stay: one of them may look like an old one."""
    pictures: set[int] = field(default_factory=set)
    """Pages with photographs or transparency, which can show any colour by chance."""
    blended: set[int] = field(default_factory=set)
    """Pages where a pixel can be a mixture: gradients, transparency, overprint, tables."""
    gradients: set[int] = field(default_factory=set)
    """Those where it can only be one of a gradient."""
    runs: list[list[tuple[bytes, bytes]]] = field(default_factory=list)
    """The operators that set colours along gradients, and what they are to become."""


def swapped_colours(
    old: pikepdf.Pdf, new: pikepdf.Pdf, table: SwapTable, options: RecolourOptions
) -> Swapped:
    """Return the swapped colours of two open files, before and after."""
    result = Swapped()
    new_spots = {
        use.space.name: use.space
        for use in walk(new, options.limits)
        if use.space is not None and use.space.kind is SpaceKind.SPOT
    }
    seen: set[tuple[Colour, Mapped | None]] = set()
    otherwise: set[int] = set()
    for use in Walk(old, options.limits, LadderReader(table).steps).uses():
        mapped = use.becomes or table.of(use.colour)
        kept_spot = use.space is not None and use.space.name in table.whole_spots and not mapped
        if use.page is not None and _can_mix(use, changes=mapped is not None or kept_spot):
            result.blended.add(use.page)
            if use.role is Role.GRADIENT:
                result.gradients.add(use.page)
            else:
                otherwise.add(use.page)
        if (use.colour, use.becomes) in seen:
            continue
        seen.add((use.colour, use.becomes))
        first = _setting(use.colour, use.space, result.old_spaces)
        if not (mapped or kept_spot):
            if first and len(result.kept) < MOST_KEPT:
                result.kept.append(first)
            continue
        if mapped is not None:
            second = write_paint(mapped.paint, fill=True)
        else:
            second = _setting(
                use.colour, new_spots.get(use.space.name if use.space else ""), result.new_spaces
            )
        if first and second:
            result.pairs.append((str(use.colour), first, second))
    for number, page in enumerate(old.pages, start=1):
        transparent, pictures = _mixing(page)
        if transparent:
            result.blended.add(number)
            otherwise.add(number)
        if transparent or pictures:
            result.pictures.add(number)
    result.gradients -= otherwise
    runs = None
    if result.gradients:
        runs = gradient_settings(old, new, table, result.old_spaces, result.new_spaces)
    if runs is None:
        result.gradients.clear()
    result.runs = runs or []
    return result


def _can_mix(use: ColourUse, *, changes: bool) -> bool:
    overprints = use.overprint.fill or use.overprint.stroke
    return overprints or (changes and use.role in (Role.GRADIENT, Role.IMAGE))


def _setting(colour: Colour, space: Space | None, spaces: list[Any]) -> bytes:
    """Return the operators that set a colour; empty if it can't be set outside its place."""
    if space is None or space.kind is SpaceKind.UNKNOWN:
        return b""
    if space.kind is SpaceKind.PATTERN:
        space = space.base
    if space is not None and space.kind is SpaceKind.INDEXED:
        space = space.base
    if space is None or len(colour.numbers) != space.components:
        return b""
    if space.kind in DEVICE:
        return write_paint(device_paint(space.kind, colour.numbers), fill=True)
    spaces.append(space.definition)
    numbers = " ".join(write_number(number) for number in colour.numbers)
    return f"/P{len(spaces) - 1} cs {numbers} sc".encode()


def _mixing(page: pikepdf.Page) -> tuple[bool, bool]:
    """Whether a page blends (opacity, blend modes, masks), and whether it has pictures.

    A group in which all is opaque mixes nothing; what space it names has a proof of its own.
    """
    transparent = False
    pictures = b"ID" in b"".join(_contents(page))
    pending: list[Any] = [page.obj.get("/Resources"), page.obj.get("/Annots")]
    seen: set[tuple[int, int]] = set()
    while pending:
        thing = pending.pop()
        number = objgen(thing)
        if number != (0, 0):
            if number in seen:
                continue
            seen.add(number)
        if isinstance(thing, (pikepdf.Dictionary, pikepdf.Stream)):
            transparent = transparent or _blends(thing)
            pictures = pictures or thing.get("/Subtype") == "/Image"
            pending += [v for k, v in thing.items() if k not in ("/Parent", "/P", "/Font", "/OC")]
        elif isinstance(thing, pikepdf.Array):
            pending += list(thing)
    return transparent, pictures


def _contents(page: pikepdf.Page) -> Iterator[bytes]:
    contents = page.obj.get("/Contents")
    for stream in contents if isinstance(contents, pikepdf.Array) else [contents]:
        if isinstance(stream, pikepdf.Stream):
            try:
                yield bytes(stream.read_bytes())
            except pikepdf.PdfError:
                continue


def _blends(thing: Any) -> bool:
    if isinstance(entry(thing, "/SMask"), (pikepdf.Dictionary, pikepdf.Stream)):
        return True
    if any(key in thing for key in ("/TR", "/TR2")) and "/Type" in thing:
        return True
    mode = entry(thing, "/BM")
    if mode is not None and mode not in ("/Normal", "/Compatible"):
        return True
    shares = [entry(thing, key) for key in ("/ca", "/CA")]
    return any(isinstance(one, (int, float, Decimal)) and one < 1 for one in shares)
