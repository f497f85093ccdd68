"""Builds for colours of the artwork that stay, but share a gradient with a brand colour."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from inkaccord.artwork.by_look import look_of
from inkaccord.artwork.swaps import Swap
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.ink_policy import InkPolicy
from inkaccord.colour.matching.match import match
from inkaccord.colour.paints import Paint, PaintKind
from inkaccord.colour.pairs import Pair
from inkaccord.diagnostics import Diagnostic, note
from inkaccord.order.model import Order
from inkaccord.run.bench import Bench

if TYPE_CHECKING:
    from inkaccord.prepress.photographs import AnyPress


def builds_beside(
    order: Order, bench: Bench, pair: Pair, paints: Sequence[Paint]
) -> tuple[Swap, ...]:
    """Return what a pair prints for colours that no order names, so that they look as they did.

    RGB is taken for sRGB (IEC 61966-2-1), CMYK for what ``photographs_from`` prints, as with
    photographs, and a colour with a profile for what that makes of it. Empty for those of which
    that is not known, or where the pair has not been read.
    """
    target = bench.pair(pair)
    if not target.is_read:
        return ()
    found: list[Swap] = []
    for kind, printed in _sources(order, bench).items():
        some = tuple(paint for paint in paints if paint.kind is kind)
        if some:
            builds = bench.recall(matching_builds, some, printed, target.model, target.policy)
            found += [
                Swap(old=old, new=Paint.of_build(build))
                for old, build in zip(some, builds, strict=True)
            ]
    return tuple(found)


def _sources(order: Order, bench: Bench) -> dict[PaintKind, AnyPress | None]:
    """Return by what each kind of colour is known to look; None is sRGB, and CIELAB itself."""
    sources: dict[PaintKind, AnyPress | None] = {PaintKind.RGB: None, PaintKind.LAB: None}
    if order.photographs_from is not None:
        printed = bench.pair(order.pair(order.photographs_from))
        if printed.is_read and printed.model.drive is Drive.CMYK:
            sources[PaintKind.CMYK] = printed.model
    return sources


def matching_builds(
    paints: Sequence[Paint], printed: AnyPress | None, target: AnyPress, policy: InkPolicy
) -> tuple[Build, ...]:
    """Return builds that look as paints of one kind do where printed, or by themselves for None."""
    if printed is not None:
        values = np.array([paint.values for paint in paints], dtype=np.float64)
        lab = printed.predict_lab(values)
    else:
        lab = np.array([look_of(paint) for paint in paints], dtype=np.float64)
    builds = np.atleast_2d(match(target, lab, policy).builds)
    return tuple(
        Build(drive=target.drive, values=tuple(round(float(v), 4) + 0.0 for v in one))
        for one in builds
    )


def said_of(beside: Sequence[Swap], place: str, pair: Pair) -> list[Diagnostic]:
    """Return a finding that names colours of a piece that were converted beside brand colours."""
    if not beside:
        return []
    named = ", ".join(f"{swap.old} becomes {swap.new}" for swap in beside[:4])
    more = f", and {len(beside) - 4} more" if len(beside) > 4 else ""
    return [
        note(
            "converted-beside",
            f"gradients of {place} run from a brand colour to one that the order does not name; "
            f"there, for {pair}, {named}{more}",
            hint="name the colour under 'colours' to give it a build of its own",
        )
    ]
