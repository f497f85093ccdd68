"""Prove of a file and its copy that groups only name another colour space, and print the builds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inkaccord.artwork.proof.likeness import looks_the_same
from inkaccord.artwork.proof.sameness import Sameness
from inkaccord.pdf.ghostscript import ghostscript_path
from inkaccord.pdf.groups import group_holders
from inkaccord.pdf.ink_rendering import ink_pairs
from inkaccord.pdf.opening import open_artwork
from inkaccord.pdf.page_source import open_pages
from inkaccord.pdf.writing import save_as_packed

PAGES = 16
DPI = 100.0
CLOSE = 66
"""Of 65535, 0.1 %: how far Ghostscript's own arithmetic moves a mixture."""


@dataclass(frozen=True, slots=True)
class GroupProof:
    """Whether the proof holds, and why not."""

    passed: bool
    why: str = ""


def prove_groups(before: bytes, after: bytes, pages: Sequence[int], space: str) -> GroupProof:
    """Compare a file with its copy whose groups on some pages name another device space.

    In structure only those names may differ, none of a soft mask. PDFium, which mixes everything
    in RGB whatever a group says, draws both alike. And in CMYK, where Ghostscript is installed,
    those pages (the first sixteen) print the very inks that they print with no group naming any
    space: nothing is left that leads a build through another kind of colour.
    """
    with open_pages(before) as old, open_pages(after) as new:
        sameness = Sameness(old, new, groups=space)
        sameness.compare()
    if sameness.differences:
        return GroupProof(False, f"more than that would change ({sameness.differences[0]})")
    if not looks_the_same(before, after):
        return GroupProof(False, "the page would look different without it")
    if (
        space == "/DeviceCMYK"
        and ghostscript_path() is not None
        and not _prints_builds(after, pages[:PAGES])
    ):
        return GroupProof(False, "it would print other inks all the same")
    return GroupProof(True)


def _prints_builds(data: bytes, pages: Sequence[int]) -> bool:
    with open_artwork(data, changing=True) as pdf:
        for number in pages:
            for holder in group_holders(pdf.pages[number - 1]):
                if "/CS" in holder["/Group"]:  # else of another holder too, and met there
                    del holder["/Group"]["/CS"]
        plain = save_as_packed(pdf)
    pairs = ink_pairs(data, plain, dpi=DPI, pages=pages)
    return all(
        bool((np.abs(one.samples.astype(np.int32) - other.samples) <= CLOSE).all())
        for one, other in pairs
    )
