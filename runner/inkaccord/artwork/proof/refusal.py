"""What is said of a copy that was refused: which colour, where on which page."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from inkaccord.artwork.marks.mark import Mark
from inkaccord.artwork.marks.where import concerned, first_place
from inkaccord.artwork.proof.parts import ProofPart, ProofVerdict
from inkaccord.artwork.roles import Role
from inkaccord.artwork.swap_table import SwapTable
from inkaccord.diagnostics import Diagnostic, error
from inkaccord.errors import FileError
from inkaccord.pdf.opening import open_artwork
from inkaccord.words import joined

_PAGE = re.compile(r"\bpage (\d+)")
_ROLE = re.compile(rf"\b(?:as|the) ({'|'.join(role.value for role in Role)})\b")
NOT_PROVED = "not-proved"
"""The code of what is said. No order can let it be: the copy is wrong, or nobody knows."""
MOST_NAMED = 3


def refusals(before: bytes, parts: Sequence[ProofPart], table: SwapTable) -> tuple[Diagnostic, ...]:
    """Return, for each page on which a proof failed, what would not come out as asked, and where.

    The parts keep what exactly differs, for whoever mends the recolouring.
    """
    wrong: dict[int | None, set[Role]] = {}
    unseen = tuple(_not_drawn(part.why) for part in parts if part.why is not None)
    for part in parts:
        for detail in part.details if part.verdict is ProofVerdict.FAIL and not part.why else ():
            page = _PAGE.search(detail)
            roles = wrong.setdefault(int(page[1]) if page else None, set())
            roles.update(Role(found) for found in _ROLE.findall(detail))
    if not wrong:
        return unseen
    return (*_said(wrong, _marks(before, table)), *unseen)


def _not_drawn(why: Diagnostic) -> Diagnostic:
    """Return what is said of a copy whose inks could not be compared, since nothing drew them."""
    return error(
        NOT_PROVED,
        "the inks of the copy could not be compared with the artwork's, so there is no copy: "
        f"{why.message}",
        in_program=why.in_program,
        hint=why.hint,
    )


def _marks(before: bytes, table: SwapTable) -> list[Mark]:
    try:
        with open_artwork(before) as pdf:
            return concerned(pdf, table)
    except FileError:
        return []


def _said(wrong: dict[int | None, set[Role]], marks: Sequence[Mark]) -> Iterator[Diagnostic]:
    pages: list[int | None] = [*sorted(page for page in wrong if page is not None)]
    for page in pages or [None]:
        place, here = first_place(marks, wrong[page], page)
        colours = list(dict.fromkeys(mark.colour.spoken for mark in here))
        more = len(colours) - MOST_NAMED
        shown = [*colours[:MOST_NAMED], *([f"{more} more"] if more > 0 else [])]
        what = f"what stands here in {joined(shown)}" if shown else "something in the file"
        yield error(
            NOT_PROVED,
            f"{what} would not come out exactly as it was asked for, so there is no copy",
            place=place,
        )
