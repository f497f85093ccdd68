"""Swaps that can't be made: two of one colour, of a plate itself, or into what no device prints."""

from collections.abc import Sequence

from inkaccord.artwork.mixing import WHITE
from inkaccord.artwork.swaps import SpotMode, Swap
from inkaccord.colour.paints import Paint
from inkaccord.diagnostics import Diagnostic, error
from inkaccord.pdf.colours.spaces import NEVER_CHANGED, PROCESS_INKS


def contradictions(swaps: Sequence[Swap], spots: SpotMode) -> list[Diagnostic]:
    """Return what is wrong with the swaps of one job, each by itself and beside the others."""
    found = []
    seen: dict[Paint, Swap] = {}
    for swap in swaps:
        if swap.all_greys:
            continue
        if swap.old in seen:
            found.append(
                error(
                    "double-swap",
                    f"{swap.old} is to become both {seen[swap.old].new} and {swap.new}",
                    hint="leave one of the two",
                )
            )
        seen[swap.old] = swap
        if swap.old.name in NEVER_CHANGED:
            found.append(
                error(
                    "reserved-colorant",
                    f"spot {swap.old.name} stands for "
                    f"{'every plate' if swap.old.name == 'All' else 'no plate'} and never changes",
                    hint="leave it out",
                )
            )
        if swap.whole_spot and swap.old.name in PROCESS_INKS and spots is SpotMode.KEEP:
            found.append(
                error(
                    "reserved-colorant",
                    f"spot {swap.old.name} is the {swap.old.name.lower()} plate itself: a device "
                    "that has this ink prints it, whatever build the spot is given",
                    hint="let it become process colour: 'spots: process', without '--keep-spots'",
                )
            )
        if swap.new.kind not in WHITE:
            found.append(
                error(
                    "bad-swap",
                    f"{swap}: the new colour must be cmyk, rgb or gray",
                    hint="a spot keeps its name; give the build that it becomes",
                )
            )
        if swap.tints is not None and swap.new.kind.value != swap.tints.steps[0][1].drive.value:
            found.append(error("bad-swap", f"{swap}: the tint table is of another kind"))
    return found
