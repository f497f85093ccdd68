"""Swaps whose new colours may be asked of a shelf, as they are typed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager
from typing import TYPE_CHECKING

from inkaccord.artwork.swaps import Swap, parse_swap
from inkaccord.diagnostics import Diagnostic
from inkaccord.order.wanted import Wanted, parse_new

if TYPE_CHECKING:
    from inkaccord.knowledge.asking import Asks


def asked_swaps(
    texts: Sequence[str], shelf_for: Callable[[Wanted], AbstractContextManager[Asks]]
) -> tuple[list[Swap], list[Diagnostic]]:
    """Read swaps, and what to say of those whose new colour was asked for.

    Parameters
    ----------
    texts
        Each ``OLD = NEW``: ``spot Kelp = cmyk 78 12 55 41``, ``… = K7Q-XM3/B7``, ``… = ask lab 41
        -20 8 on device@stock``.
    shelf_for
        Opens the shelf that a colour is asked of.

    Raises OrderError as :func:`inkaccord.artwork.swaps.parse_swap` does, and for what the shelf
    can't answer.
    """
    swaps: list[Swap] = []
    findings: list[Diagnostic] = []
    for text in texts:
        old, equals, new = text.partition(" = ")
        wanted = parse_new(new) if equals else None
        if wanted is None:
            swaps.append(parse_swap(text))
            continue
        from inkaccord.knowledge.asking import build_of_new  # noqa: PLC0415 - slow to load

        with shelf_for(wanted[0]) as source:
            build, said = build_of_new(*wanted, source)
        swaps.append(parse_swap(f"{old} = {build}"))
        findings.append(said)
    return swaps, findings
