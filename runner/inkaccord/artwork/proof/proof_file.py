"""One file of a proof: its colours, found once for all parts that judge them."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Self

import pikepdf

from inkaccord.artwork.content.walk import ColourUse, Flights, Walk
from inkaccord.pdf.colours.scope import Borrowed
from inkaccord.pdf.colours.spaces import Space, SpaceKind
from inkaccord.pdf.entries import entry
from inkaccord.pdf.groups import drawn_from, group_holders, mixed_in
from inkaccord.pdf.page_source import PageSource

_HIDDEN = frozenset({"unreadable-stream", "bad-inline-image"})
"""Oddities behind which colours can hide, so that an inventory can't vouch for the file."""
_INKS = frozenset(
    {
        SpaceKind.CMYK,
        SpaceKind.GRAY,
        SpaceKind.SPOT,
        SpaceKind.DEVICEN,
        SpaceKind.INDEXED,
        SpaceKind.PATTERN,
    }
)


@dataclass(frozen=True, slots=True)
class ProofFile:
    """An open file and what a walk through it found."""

    source: PageSource
    uses: tuple[ColourUse, ...]
    odd: tuple[tuple[str, str], ...]
    """Code and detail of what was odd."""
    photographs: tuple[Space | None, ...]
    """The spaces of images that hold colours of their own; None where they name none."""
    borrowed: frozenset[Borrowed]
    """What resources lack and those of their callers were asked for."""

    @classmethod
    def read(cls, source: PageSource, flights: Flights | None = None) -> Self:
        """Walk through an open file, and look for flights if asked to. Raises FileError."""
        walk = Walk(source, flights)
        uses = tuple(walk.uses())
        odd = sorted((code, detail) for code, detail, _ in walk.odd)
        borrowed = frozenset(name for scope in walk.scopes for name in scope.borrowed)
        return cls(source, uses, tuple(odd), tuple(walk.photographs.values()), borrowed)

    @property
    def hidden(self) -> list[str]:
        """What can hide colours."""
        return [detail for code, detail in self.odd if code in _HIDDEN]

    def needs_no_profile(self, pages: Collection[pikepdf.Page]) -> bool:
        """Tell whether all is black, CMYK or inks told in them, and mixes in nothing else.

        Ghostscript draws such pages alike with colour profiles and without: within 2 of 65,535, and
        a grey under another rendering intent within 0.2 %. Pages that overprint it does not.
        """
        return (
            not self.odd
            and all(_is_in_inks(space) for space in self.photographs)
            and all(_is_in_inks(use.space) for use in self.uses)
            and all(mixed_in(one)[0] in _INKS for page in pages for one in group_holders(page))
            and not any(_rests_on_profiles(one) for page in pages for one in drawn_from(page))
        )


def _is_in_inks(space: Space | None) -> bool:
    if space is None or space.kind not in _INKS:
        return False
    return space.base is None or _is_in_inks(space.base)


def _rests_on_profiles(thing: object) -> bool:
    """Whether it sets a soft mask, which tells light from dark, or switches overprint on."""
    masks = isinstance(entry(thing, "/SMask"), pikepdf.Dictionary)
    return masks or any(entry(thing, key) is True for key in ("/OP", "/op"))
