"""Swaps whose colour a file does not hold."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Sequence

import pikepdf

from inkaccord.artwork.content.walk import walk
from inkaccord.artwork.mixing import component_distance
from inkaccord.artwork.recolouring.recolour import SwapCount
from inkaccord.artwork.swaps import Swap
from inkaccord.colour.paints import Paint, PaintKind
from inkaccord.diagnostics import Diagnostic, error
from inkaccord.pdf.colours.spaces import PROCESS_INKS, Colour

_MOST_NAMED = 6
"""So many colours of a file are named where none is near."""


def absent(pdf: pikepdf.Pdf, counts: Sequence[SwapCount]) -> tuple[Diagnostic, ...]:
    """Return an error for each swap whose colour is nowhere, with the nearest colour.

    One that is there and could not be changed has an error of its own.

    Parameters
    ----------
    pdf
        The file before it was recoloured.
    counts
        How often each swap was made.
    """
    missed = [it.swap for it in counts if it.solids == it.tints == 0]
    if not missed:
        return ()
    colours = {use.colour for use in walk(pdf)}
    held = sorted({paint for colour in colours for paint in _paints_of(colour)}, key=str)
    others = sorted({_in_words(one) for one in colours if not any(_paints_of(one))})
    return tuple(
        error(
            "colour-not-in-file",
            f"the file does not hold '{swap.old}'",
            hint=_hint(swap.old, held, others),
        )
        for swap in missed
        if not any(_is_swapped(paint, swap) for paint in held)
    )


def _paints_of(colour: Colour) -> Iterator[Paint]:
    """Yield what a colour is, or the spots among the inks that it is mixed of."""
    if colour.paint is not None:
        yield colour.paint
    yield from (Paint.spot(name) for name, _ in colour.inks if name not in PROCESS_INKS)


def _is_swapped(paint: Paint, swap: Swap) -> bool:
    same = (paint.kind, paint.name) == (swap.old.kind, swap.old.name)
    return same and component_distance(paint, swap.old) <= swap.tolerance


def _in_words(colour: Colour) -> str:
    """Return a colour that no person can name."""
    plain = colour.as_device()
    return str(colour) if plain is None else f"{plain} through a profile"


def _hint(old: Paint, held: Sequence[Paint], others: Sequence[str]) -> str:
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
            return f"its spots are {_listed([str(Paint.spot(name)) for name in names])}"
    elif alike:
        best = min(alike, key=lambda paint: component_distance(paint, old))
        off = component_distance(best, old)
        return f"the nearest that it holds is '{best}', up to {off:g} off in a number"
    named = [*map(str, held), *others]
    return f"it holds {_listed(named)}" if named else "no colour was found in it"


def _listed(colours: Sequence[str]) -> str:
    names = [f"'{colour}'" for colour in colours]
    more = f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else ""
    return ", ".join(names[:_MOST_NAMED]) + more
