"""Swaps whose colour a file does not hold."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence

import pikepdf

from inkaccord.artwork.content.walk import walk
from inkaccord.artwork.mixing import component_distance
from inkaccord.artwork.recolouring.recolour import SwapCount
from inkaccord.colour.paints import Paint, PaintKind
from inkaccord.diagnostics import Diagnostic, error

_MOST_NAMED = 6
"""So many colours of a file are named where none is near."""


def absent(pdf: pikepdf.Pdf, counts: Sequence[SwapCount]) -> tuple[Diagnostic, ...]:
    """Return an error for each swap that found nothing to change, with the nearest colour.

    Parameters
    ----------
    pdf
        The file before it was recoloured.
    counts
        How often each swap was made.
    """
    missed = [it.swap.old for it in counts if it.solids == it.tints == 0]
    if not missed:
        return ()
    held = sorted({use.colour.paint for use in walk(pdf) if use.colour.paint}, key=str)
    return tuple(
        error("colour-not-in-file", f"the file does not hold '{old}'", hint=_hint(old, held))
        for old in missed
    )


def _hint(old: Paint, held: Sequence[Paint]) -> str:
    alike = [paint for paint in held if paint.kind is old.kind]
    if old.kind is PaintKind.SPOT:
        names = dict.fromkeys(paint.name for paint in alike if paint.name)
        near = difflib.get_close_matches(
            (old.name or "").casefold(), [name.casefold() for name in names], n=1, cutoff=0.6
        )
        found = [name for name in names if near and name.casefold() == near[0]]
        if found:
            return f"did you mean 'spot {found[0]}'?"
        if names:
            return f"its spots are {_listed(Paint.spot(name) for name in names)}"
    elif alike:
        best = min(alike, key=lambda paint: component_distance(paint, old))
        off = component_distance(best, old)
        return f"the nearest that it holds is '{best}', up to {off:g} off in a number"
    return f"it holds {_listed(held)}" if held else "it holds no colour at all"


def _listed(paints: Iterable[Paint]) -> str:
    names = [f"'{paint}'" for paint in paints]
    more = f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else ""
    return ", ".join(names[:_MOST_NAMED]) + more
