"""What it takes to set up and cut a layout, whatever its run."""

from inkaccord.layout.guillotine import Leaf, Split, Tree, leaves
from inkaccord.layout.model import Costs


def handling(tree: Tree, costs: Costs) -> float:
    """Return what a layout costs beside its paper, in sheets."""
    settings, turns = cutting(tree)
    return costs.of_layout(settings, turns, mixed=is_mixed(tree))


def is_mixed(tree: Tree) -> bool:
    """Tell whether pieces lie in both directions."""
    return len({leaf.turned for leaf in leaves(tree)}) > 1


def cutting(tree: Tree) -> tuple[int, int]:
    """Return about how many settings of the cutter and turns of the pile a layout takes.

    Round the block are four cuts and as many turns. Between two neighbours lie two cuts; equal
    blocks are cut at the same settings, and every further block is one more turn.
    """
    settings, turns = _inside(tree)
    return 4 + settings, 4 + turns


def _inside(tree: Tree) -> tuple[int, int]:
    if not isinstance(tree, Split):
        return 0, 0
    settings, turns = 2 * (len(tree.parts) - 1), 1
    for part in dict.fromkeys(tree.parts):
        if not isinstance(part, Leaf):
            more, further = _inside(part)
            settings, turns = settings + more, turns + further
    return settings, turns
