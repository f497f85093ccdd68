"""Which colours were swapped, and on which pages every pixel can be judged."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

import pikepdf

from inkaccord.artwork.content.walk import ColourUse
from inkaccord.artwork.proof.entry_colours import entry_paints
from inkaccord.artwork.proof.gradient_pixels import gradient_settings
from inkaccord.artwork.proof.proof_file import ProofFile
from inkaccord.artwork.roles import Role
from inkaccord.artwork.swap_table import Mapped, SwapTable
from inkaccord.pdf.colours.spaces import (
    DEFAULT_SPACES,
    DEVICE,
    Colour,
    Space,
    SpaceKind,
    device_paint,
    write_number,
    write_paint,
)
from inkaccord.pdf.entries import entry, reached, word
from inkaccord.pdf.groups import blends
from inkaccord.pdf.page_objects import inherited
from inkaccord.pdf.page_source import in_pairs

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
    touched: set[int] = field(default_factory=set)
    """Pages with a colour that was to change, so far as they were followed: a form's first."""
    pictures: set[int] = field(default_factory=set)
    """Pages with photographs or transparency, which can show any colour by chance."""
    blended: set[int] = field(default_factory=set)
    """Pages where a pixel can be a mixture: gradients, transparency, overprint, tables."""
    gradients: set[int] = field(default_factory=set)
    """Those where it can only be one of a gradient."""
    runs: list[list[tuple[bytes, bytes]]] = field(default_factory=list)
    """The operators that set colours along gradients, and what they are to become."""


def swapped_colours(old: ProofFile, new: ProofFile, table: SwapTable) -> Swapped:
    """Return the swapped colours of two files, before and after."""
    result = Swapped()
    new_spaces, old_spaces = _Definitions(), _Definitions()
    for use in new.uses:
        new_spaces.number(_inner(use.space))
    seen: set[tuple[Colour, Mapped | None, int, bytes]] = set()
    otherwise: set[int] = set()

    for use, defaults in _with_defaults(old, new):
        mapped = use.becomes or table.of(use.colour)
        space = _inner(use.space)
        kept_spot = space is not None and _is_swapped(space, table) and not mapped
        if use.page is not None and (mapped is not None or kept_spot):
            result.touched.add(use.page)
        if use.page is not None and _can_mix(use, changes=mapped is not None or kept_spot):
            result.blended.add(use.page)
            if use.role is Role.GRADIENT:
                result.gradients.add(use.page)
            else:
                otherwise.add(use.page)
        number = old_spaces.number(space)
        under = b"" if defaults[0] is None else bytes(defaults[0].unparse())
        if (use.colour, use.becomes, number, under) in seen:
            continue
        seen.add((use.colour, use.becomes, number, under))
        if not (mapped or kept_spot):
            stays = _setting(use.colour, use.space, result.old_spaces)
            if stays and len(result.kept) < MOST_KEPT:
                result.kept.append(stays)
            continue
        news = [new_spaces.get(space, number)]
        if mapped is not None and mapped.inks:
            names = [name for name, _ in mapped.inks]
            news = list(new_spaces.of_inks(space, number, names))
        for chosen in [(None, None), *([defaults] if under else [])]:
            result.pairs += _pairs(use, mapped, news, result, chosen)
    for number, page in old.source.pages():
        said = list(_said_by_entries(page, table))
        result.pairs += said
        result.touched.update([number] if said else [])
        transparent, pictures = _mixing(page)
        if transparent:
            result.blended.add(number)
            otherwise.add(number)
        if transparent or pictures:
            result.pictures.add(number)
    result.gradients -= otherwise
    runs = None
    if result.gradients:
        files = old.source.whole(), new.source.whole()
        runs = gradient_settings(*files, table, result.old_spaces, result.new_spaces)
    if runs is None:
        result.gradients.clear()
    result.runs = runs or []
    return result


def _with_defaults(old: ProofFile, new: ProofFile) -> Iterator[tuple[ColourUse, tuple[Any, Any]]]:
    """Yield the first file's uses, each with what its page has in place of a plain colour."""
    uses = iter(old.uses)
    use = next(uses, None)
    named = any(_default_of(_inner(use.space)) for use in old.uses)
    for number, *pages in in_pairs(old.source, new.source) if named else ():
        known: dict[Space | None, tuple[Any, Any]] = {}
        while use is not None and use.page == number:
            space = _inner(use.space)
            if space not in known:
                first, second = (_default_under(space, page) for page in pages)
                known[space] = first, second
                if first is not None or second is not None:
                    old.source.hold()
                    new.source.hold()
            yield use, known[space]
            use = next(uses, None)
    while use is not None:
        yield use, (None, None)
        use = next(uses, None)


def _said_by_entries(page: pikepdf.Page, table: SwapTable) -> Iterator[tuple[str, bytes, bytes]]:
    """Yield the swapped colours that comments and fields of a page say themselves."""
    for paint in entry_paints(page):
        mapped = table.of_paint(paint)
        if mapped is not None:
            yield str(paint), write_paint(paint, fill=True), write_paint(mapped.paint, fill=True)


class _Definitions:
    """The spaces of named inks of one file, numbered among those of the same inks as met.

    A file and its copy are walked alike, so that the same number is the same space.
    """

    def __init__(self) -> None:
        self._met: dict[tuple[str, ...], list[Space]] = {}

    def number(self, space: Space | None) -> int:
        """Return a space's number, a new one where it was not met before."""
        if space is None or space.kind not in (SpaceKind.SPOT, SpaceKind.DEVICEN):
            return 0
        known = self._met.setdefault(space.colorants, [])
        if space not in known:
            known.append(space)
        return known.index(space)

    def get(self, space: Space | None, number: int) -> Space | None:
        """Return the space of the same inks with a number."""
        known = self._met.get(space.colorants, []) if space is not None else []
        return known[number] if number < len(known) else None

    def of_inks(self, space: Space | None, number: int, names: Sequence[str]) -> list[Space]:
        """Return the spaces of these inks; the one with a number where they are an old space's."""
        if space is not None and space.colorants == tuple(names):
            same = self.get(space, number)
            return [same] if same is not None else []
        return self._met.get(tuple(names), [])


def _inner(space: Space | None) -> Space | None:
    """Return what a table's or an uncoloured pattern's colours are of."""
    while space is not None and space.kind in (SpaceKind.INDEXED, SpaceKind.PATTERN):
        space = space.base
    return space


def _is_swapped(space: Space, table: SwapTable) -> bool:
    return any(name in table.whole_spots for name in space.colorants)


def _can_mix(use: ColourUse, *, changes: bool) -> bool:
    overprints = use.overprint.fill or use.overprint.stroke
    return overprints or (changes and use.role in (Role.GRADIENT, Role.IMAGE))


def _pairs(
    use: ColourUse,
    mapped: Mapped | None,
    news: Sequence[Space | None],
    result: Swapped,
    defaults: tuple[Any, Any],
) -> list[tuple[str, bytes, bytes]]:
    """Return a swapped colour, and what it becomes in each space that it can be in."""
    first = _setting(use.colour, use.space, result.old_spaces, defaults[0])
    if mapped is None or mapped.inks:
        colour = use.colour if mapped is None else mapped.colour
        seconds = [_setting(colour, one, result.new_spaces, defaults[1]) for one in news]
    else:
        seconds = [write_paint(mapped.paint, fill=True)]
    return [(str(use.colour), first, second) for second in seconds if first and second]


def _default_under(space: Space | None, page: pikepdf.Page) -> Any:
    """Return what a page has in the place of the plain colour that inks are told in, if anything.

    A page's default spaces hold for what inks look like, too (ISO 32000-2, 8.6.5.6).
    """
    key = _default_of(space)
    return key and entry(entry(inherited(page.obj, "/Resources"), "/ColorSpace"), key)


def _default_of(space: Space | None) -> str | None:
    """Return the name of what may stand in the place of the plain colour that inks are told in."""
    if space is None or not space.colorants or len(space.definition) < 3:
        return None
    key = word(space.definition[2]).replace("/Device", "/Default")
    return key if key in DEFAULT_SPACES.values() else None


def _setting(colour: Colour, space: Space | None, spaces: list[Any], default: Any = None) -> bytes:
    """Return the operators that set a colour; empty if it can't be set outside its place.

    ``default`` stands for the plain colour in which inks are told.
    """
    if space is None or space.kind is SpaceKind.UNKNOWN:
        return b""
    space = _inner(space)
    if space is None or len(colour.numbers) != space.components:
        return b""
    if space.kind in DEVICE:
        return write_paint(device_paint(space.kind, colour.numbers), fill=True)
    definition = space.definition
    if default is not None:
        definition = pikepdf.Array([*definition[:2], default, *definition[3:]])
    spaces.append(definition)
    numbers = " ".join(write_number(number) for number in colour.numbers)
    return f"/P{len(spaces) - 1} cs {numbers} sc".encode()


def _mixing(page: pikepdf.Page) -> tuple[bool, bool]:
    """Whether a page blends (opacity, blend modes, masks), and whether it has pictures.

    A group in which all is opaque mixes nothing; what space it names has a proof of its own.
    """
    transparent = False
    pictures = b"ID" in b"".join(_contents(page))
    roots = page.obj.get("/Resources"), page.obj.get("/Annots")
    for _, thing in reached(roots, ("/Parent", "/P", "/OC", "/FontDescriptor"), set()):
        if isinstance(thing, (pikepdf.Dictionary, pikepdf.Stream)):
            transparent = transparent or blends(thing)
            pictures = pictures or thing.get("/Subtype") == "/Image"
    return transparent, pictures


def _contents(page: pikepdf.Page) -> Iterator[bytes]:
    contents = page.obj.get("/Contents")
    for stream in contents if isinstance(contents, pikepdf.Array) else [contents]:
        if isinstance(stream, pikepdf.Stream):
            try:
                yield bytes(stream.read_bytes())
            except pikepdf.PdfError:
                continue
