"""The agreement of a run, arranged for reading: by colour, and by pair where pieces share one."""

from collections.abc import Iterable
from dataclasses import dataclass

from inkaccord.colour.agreement.verdicts import Verdict
from inkaccord.colour.pairs import Pair
from inkaccord.order.model import Order
from inkaccord.record import Run
from inkaccord.stages.results import Distance

_RANK = {Verdict.INSIDE: 0, Verdict.UNCERTAIN: 1, Verdict.OUTSIDE: 2}


@dataclass(frozen=True)
class Group:
    """Pieces on one pair: they print a colour alike, so they share a row of the table."""

    pair: Pair
    pieces: tuple[str, ...]


@dataclass(frozen=True)
class ColourAgreement:
    """One colour: which pairs carry it, how far each lies from the aim and from the others.

    Attributes
    ----------
    to_aim
        For each group; None where the aim is only known by eye.
    between
        For each group, the distances to the groups before it.
    """

    colour: str
    groups: tuple[Group, ...]
    to_aim: tuple[Distance | None, ...]
    between: tuple[tuple[Distance | None, ...], ...]

    @property
    def worst(self) -> Distance | None:
        """The distance between two pieces that says most against the colour."""
        return worst(it for row in self.between for it in row if it is not None)

    @property
    def worst_to_aim(self) -> Distance | None:
        """The same to the aim."""
        return worst(it for it in self.to_aim if it is not None)


def worst(distances: Iterable[Distance]) -> Distance | None:
    """Return what is surely outside before what is uncertain, then the greatest distance."""
    return max(distances, key=lambda it: (_RANK[it.verdict], it.delta_e_00), default=None)


def agreement_of(run: Run, order: Order, colour: str) -> ColourAgreement:
    """Arrange the distances of one colour."""
    own = [it for it in run.agreement if it.colour == colour]
    named = {it.piece for it in own} | {it.other for it in own if it.other}
    known = {(it.device, it.stock, it.setting) for it in run.translations if it.colour == colour}
    members: dict[Pair, list[str]] = {}
    for piece in run.pieces:
        pair = order.pair_of(piece.name)
        carried = piece.name in named or (
            colour in piece.colours and (pair.device, pair.stock, pair.setting) in known
        )
        if carried:
            members.setdefault(pair, []).append(piece.name)
    groups = tuple(Group(pair, tuple(pieces)) for pair, pieces in members.items())
    group_of = {piece: at for at, group in enumerate(groups) for piece in group.pieces}
    aims: dict[int, list[Distance]] = {}
    between: dict[tuple[int, int], list[Distance]] = {}
    for it in own:
        if it.other is None:
            aims.setdefault(group_of[it.piece], []).append(it)
        else:
            low, high = sorted((group_of[it.piece], group_of[it.other]))
            between.setdefault((high, low), []).append(it)
    return ColourAgreement(
        colour=colour,
        groups=groups,
        to_aim=tuple(worst(aims.get(at, ())) for at in range(len(groups))),
        between=tuple(
            tuple(worst(between.get((at, to), ())) for to in range(at)) for at in range(len(groups))
        ),
    )


def not_sure(run: Run, piece: str | None = None) -> list[str]:
    """Return the colours of a piece, or of any, that aren't surely inside their tolerances."""
    found = (
        it.colour
        for it in run.agreement
        if it.verdict is not Verdict.INSIDE and (piece is None or piece in {it.piece, it.other})
    )
    return list(dict.fromkeys(found))


def at_a_glance(run: Run) -> dict[tuple[str, str], Verdict | None]:
    """Return the worst verdict on each colour of each piece; None where nothing is known yet."""
    glance: dict[tuple[str, str], Verdict | None] = {
        (colour, piece.name): None for piece in run.pieces for colour in piece.colours
    }
    for it in run.agreement:
        for piece in (it.piece, it.other):
            if piece is not None:
                before = glance.get((it.colour, piece))
                if before is None or _RANK[it.verdict] > _RANK[before]:
                    glance[it.colour, piece] = it.verdict
    return glance
