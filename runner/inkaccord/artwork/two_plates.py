"""Spots that come out as two plates, or as one plate with two looks."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import pikepdf

from inkaccord.colour.paints import Paint
from inkaccord.diagnostics import Diagnostic, Place, warning
from inkaccord.pdf.colours.alternates import alternates_in
from inkaccord.words import joined

_SAME = 1.0
"""How far apart the numbers of two builds may lie that are meant as one."""


def two_plates(pdf: pikepdf.Pdf, pages: Mapping[str, int]) -> Iterator[Diagnostic]:
    """Yield which painted spots have two builds, and which have one name in two spellings.

    ``pages`` has the first page of each.
    """
    yield from _spellings(pages)
    yield from _builds(pdf, pages)


def _spellings(pages: Mapping[str, int]) -> Iterator[Diagnostic]:
    alike: dict[str, list[str]] = {}
    for name in pages:
        alike.setdefault(_plain(name), []).append(name)
    for names in alike.values():
        if len(names) > 1:
            spelt = joined([repr(name) for name in names])
            plates = "two plates" if len(names) == 2 else f"{len(names)} plates"
            yield warning(
                "spot-two-spellings",
                f"{spelt} are one name in several spellings, so the spot comes out on {plates}",
                place=Place(page=pages[names[1]]),
            )


def _plain(name: str) -> str:
    """Return a name by what a person means with it; its signs alone where it has nothing else."""
    return "".join(letter for letter in name.casefold() if letter.isalnum()) or name


def _builds(pdf: pikepdf.Pdf, pages: Mapping[str, int]) -> Iterator[Diagnostic]:
    builds: dict[str, list[Paint]] = {}
    for name, paint in alternates_in(pdf) if pages else ():
        known = builds.setdefault(name, [])
        if name in pages and not any(_same(paint, one) for one in known):
            known.append(paint)
    for name, paints in builds.items():
        if len(paints) > 1:
            yield warning(
                "spot-two-builds",
                f"the spot {name!r} has {len(paints)} builds in one file "
                f"({joined([paint.spoken for paint in paints[:4]])}): on its plate they are one, "
                f"as process colour they print otherwise. It is shown as {paints[0].spoken}, and "
                "where its look is not known otherwise, samples start from that",
                place=Place(page=pages[name]),
            )


def _same(one: Paint, other: Paint) -> bool:
    return one.kind is other.kind and all(
        abs(a - b) <= _SAME for a, b in zip(one.values, other.values, strict=True)
    )
