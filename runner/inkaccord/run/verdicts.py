"""What is said of the agreement of a run, on the screen as on paper.

Distances are arranged by colour, and by pair where pieces share one; of several the same one is the
worst wherever it is named, and the same words are said of it.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from inkaccord.colour.agreement.verdicts import Verdict
from inkaccord.colour.pairs import Pair
from inkaccord.knowledge.values import Evidence
from inkaccord.order.model import Order
from inkaccord.run.agreement import Distance
from inkaccord.run.record import Run


class Sign(StrEnum):
    """What a reader is told of a distance, from the best to the worst that is known."""

    INSIDE = "surely inside"
    BY_EYE = "by eye, not measured"
    UNCERTAIN = "too uncertain to say"
    OUTSIDE = "surely outside"
    UNKNOWN = "not known yet"
    INKS_UNKNOWN = "its inks are not known"

    @classmethod
    def of(cls, distance: Distance | None) -> "Sign":
        """Return the sign of a distance; where the eye has judged, no instrument has.

        What the eye could not settle is as uncertain as anything that wasn't measured.
        """
        if distance is None:
            return cls.UNKNOWN
        if distance.verdict is Verdict.UNCERTAIN and distance.eye_decides:
            return cls.BY_EYE
        return cls(distance.verdict.value)


def told(distance: Distance) -> str:
    """Return what is said of a distance, with what it rests on besides."""
    sign = Sign.of(distance)
    if distance.accepted is not None and sign is not Sign.INSIDE:
        return f"{sign}, accepted"
    return f"{sign}, by eye" if distance.by_eye and sign is not Sign.BY_EYE else str(sign)


_RANK = {sign: rank for rank, sign in enumerate(Sign)}


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

    @property
    def sign(self) -> Sign:
        """What says most against the colour, between pieces or to the aim."""
        return Sign.of(worst(it for it in (self.worst, self.worst_to_aim) if it is not None))


def worst(distances: Iterable[Distance]) -> Distance | None:
    """Return what is surely outside before what is uncertain, then the greatest distance."""
    return max(distances, key=lambda it: (_RANK[Sign.of(it)], it.delta_e_00), default=None)


def agreement_of(run: Run, colour: str) -> ColourAgreement:
    """Arrange the distances of one colour."""
    own = [it for it in run.agreement if it.colour == colour]
    named = {it.piece for it in own} | {it.other for it in own if it.other}
    known = {it.pair for it in run.translations if it.colour == colour}
    members: dict[Pair, list[str]] = {}
    for piece in run.pieces:
        if not piece.inks_known:
            continue
        if piece.name in named or (colour in piece.colours and piece.pair in known):
            members.setdefault(piece.pair, []).append(piece.name)
    groups = tuple(Group(pair, tuple(pieces)) for pair, pieces in members.items())
    group_of = {piece: at for at, group in enumerate(groups) for piece in group.pieces}
    aims: dict[int, list[Distance]] = {}
    between: dict[tuple[int, int], list[Distance]] = {}
    for distance in own:
        if distance.other is None:
            aims.setdefault(group_of[distance.piece], []).append(distance)
        else:
            low, high = sorted((group_of[distance.piece], group_of[distance.other]))
            between.setdefault((high, low), []).append(distance)
    return ColourAgreement(
        colour=colour,
        groups=groups,
        to_aim=tuple(worst(aims.get(at, ())) for at in range(len(groups))),
        between=tuple(
            tuple(worst(between.get((at, to), ())) for to in range(at)) for at in range(len(groups))
        ),
    )


def not_sure(run: Run, *, but_by_eye: bool) -> list[str]:
    """Return the colours that aren't surely inside their tolerances, and are accepted nowhere.

    ``but_by_eye`` leaves out those of which no instrument says more than the eye.
    """
    passing = {Sign.INSIDE, Sign.BY_EYE} if but_by_eye else {Sign.INSIDE}
    return list(
        dict.fromkeys(
            distance.colour
            for distance in run.agreement
            if Sign.of(distance) not in passing and distance.accepted is None
        )
    )


@dataclass(frozen=True)
class ByEye:
    """Colours that were judged by eye on a pair, and not measured."""

    colours: tuple[str, ...]
    pair: Pair
    pieces: tuple[str, ...]


def judged_by_eye(run: Run, order: Order) -> list[ByEye]:
    """Return what was judged by eye on the pieces, pair by pair."""
    picked = {(it.colour, it.pair) for it in run.translations if it.evidence is Evidence.PICKED}
    found: dict[tuple[tuple[str, ...], Pair], list[str]] = {}
    for piece in run.pieces:
        own = (it for it in order.colours if it in piece.colours and (it, piece.pair) in picked)
        if colours := tuple(own):
            found.setdefault((colours, piece.pair), []).append(piece.name)
    return [ByEye(colours, pair, tuple(pieces)) for (colours, pair), pieces in found.items()]


def at_a_glance(run: Run) -> dict[tuple[str, str], Sign]:
    """Return what is to be said of each colour on each piece that carries it.

    It is the worst of the piece's distances. One that is uncertain only because the *other* piece
    was judged by eye says nothing of a piece that was measured, so it counts for the other alone;
    so does one that the order accepts on the other.
    """
    picked = {(it.colour, it.pair) for it in run.translations if it.evidence is Evidence.PICKED}
    glance: dict[tuple[str, str], Sign] = {
        (colour, piece.name): Sign.UNKNOWN if piece.inks_known else Sign.INKS_UNKNOWN
        for piece in run.pieces
        for colour in piece.colours
    }
    pairs = {piece.name: piece.pair for piece in run.pieces}
    found: dict[tuple[str, str], list[Distance]] = {}
    for distance in run.agreement:
        for piece in distance.between:
            if (distance.colour, piece) in glance:
                found.setdefault((distance.colour, piece), []).append(distance)
    for (colour, piece), every in found.items():
        own = [it for it in every if it.accepted in {None, piece}] or every
        measured = [it for it in own if Sign.of(it) is not Sign.BY_EYE]
        by_eye = (colour, pairs[piece]) in picked
        glance[colour, piece] = Sign.of(worst(own if by_eye or not measured else measured))
    return glance
