"""Colours that a person accepts on a piece as they are, and up to what."""

from collections.abc import Collection, Iterator, Sequence

from inkaccord.colour.agreement.differences import SURE, differences
from inkaccord.colour.agreement.verdicts import Verdict
from inkaccord.diagnostics import Diagnostic, warning
from inkaccord.order.answers import Limits
from inkaccord.order.model import Order
from inkaccord.run.agreement import Acceptance, Agreement, Distance
from inkaccord.run.bench import Bench

LEEWAY = 1.0
"""ΔE00 by which a colour may come out farther off than it was when it was accepted, at the least:
about what is just seen side by side (common practice, no source)."""


def reach(off: Distance) -> float:
    """Return up to which ΔE00 a colour is accepted that is predicted to be off by so much.

    What was uncertain about it then is no news when it is found out; the bound is a leeway too.
    Rounded up to half a ΔE00.
    """
    return -(-(off.delta_e_00 + max(LEEWAY, off.uncertainty)) // 0.5) * 0.5


def off_by(order: Order, colour: str, piece: str, distances: Sequence[Distance]) -> Distance | None:
    """Return how far off a colour is on a piece: to its aim, or without one from the other pieces.

    Another print of the same pair is no measure, and one on which the colour is accepted only
    where there is no other.
    """
    own = [it for it in distances if it.colour == colour and piece in {it.piece, it.other}]
    others = [name for name in order.pieces if name != piece]
    twins = {job.name for job in order.jobs_on(order.jobs[piece].pair)} - {piece}
    accepted = {name for name in others if order.accepts(colour, name)}
    for aside in (twins | accepted, twins):
        left = [it for it in own if not aside & {it.piece, it.other}]
        if left:
            return max(left, key=lambda it: (it.other is None, it.delta_e_00))
    return None


def acceptances(
    order: Order, distances: Sequence[Distance], before: Sequence[Acceptance]
) -> tuple[Acceptance, ...]:
    """Return what the order accepts, with what is known of it now and was known then.

    An acceptance that names no ``up_to`` stands for what the run that first met it knew; the
    record keeps that. Another reason is another acceptance.
    """
    known = {(it.piece, it.colour, it.why): it for it in before}
    found = []
    for name, piece in order.pieces.items():
        for colour, accepted in piece.accept.items():
            off = off_by(order, colour, name, distances)
            if off is None:
                continue
            now, earlier = off.delta_e_00, known.get((name, colour, accepted.why))
            first = earlier.known if earlier is not None else now
            kept = earlier.up_to if earlier is not None else reach(off)
            found.append(
                Acceptance(
                    piece=name,
                    colour=colour,
                    why=accepted.why,
                    known=first,
                    up_to=accepted.up_to or kept,
                    now=now,
                )
            )
    return tuple(found)


def with_acceptances(
    distances: Sequence[Distance], accepted: Sequence[Acceptance]
) -> tuple[Distance, ...]:
    """Return the distances with those marked that an acceptance covers."""
    holding = {(it.colour, it.piece) for it in accepted if it.holds}
    return tuple(
        distance.model_copy(update={"accepted": piece})
        if (piece := _covered(distance, holding)) is not None
        else distance
        for distance in distances
    )


def _covered(distance: Distance, holding: Collection[tuple[str, str]]) -> str | None:
    names = [name for name in (distance.piece, distance.other) if name is not None]
    return next((name for name in names if (distance.colour, name) in holding), None)


def answers_without_use(order: Order, agreement: Agreement, bench: Bench) -> Iterator[Diagnostic]:
    """Yield acceptances and limits that nothing needs: left over, or a slip of the pen."""
    for acceptance in agreement.accepted:
        covered = [one for one in agreement.distances if one.accepted == acceptance.piece]
        own = [one for one in covered if one.colour == acceptance.colour]
        if acceptance.holds and all(one.verdict is Verdict.INSIDE for one in own):
            yield warning(
                "unused-acceptance",
                f"{acceptance.colour} is within its limits on {acceptance.piece}, so there is "
                "nothing to accept",
                place=bench.place("pieces", acceptance.piece, "accept", acceptance.colour),
                hint="remove the line",
            )
    limits = [(("colours", name), it.tolerance) for name, it in order.colours.items()]
    limits += [(("pieces", name), it.tolerance) for name, it in order.pieces.items()]
    for (part, name), written in limits:
        if written is None:
            continue
        own = [one for one in agreement.distances if name in _named(one, part)]
        if own and not _needed(order, written, own):
            yield warning(
                "unused-limit",
                f"all is within the order's own limits, so that of {name} does nothing",
                place=bench.place(part, name, "tolerance"),
                hint="remove the line",
            )


def _named(distance: Distance, part: str) -> set[str | None]:
    return {distance.colour} if part == "colours" else {distance.piece, distance.other}


def _needed(order: Order, limits: Limits, own: Sequence[Distance]) -> bool:
    """Tell whether a limit is narrower than the order's, or something is inside it alone."""
    usual = order.tolerances
    for mine, limit, kind in (
        (limits.between_pieces, usual.between_pieces, [it for it in own if it.other]),
        (limits.to_aim, usual.to_aim, [it for it in own if not it.other]),
    ):
        if mine is None:
            continue
        apart = [it.delta_e_00 for it in kind]
        sure = differences(apart, [it.uncertainty for it in kind], limit).within >= SURE
        if mine < limit or not sure.all():
            return True
    return False


def trusted(order: Order, distance: Distance) -> bool:
    """Tell whether the order lets the eye decide on a distance, and the eye could see enough."""
    return order.accept_by_eye and distance.eye_decides


def passes(order: Order, distance: Distance) -> bool:
    """Tell whether a distance holds no piece: surely inside, accepted, or left to the eye."""
    if distance.verdict is Verdict.INSIDE or distance.accepted is not None:
        return True
    return distance.verdict is Verdict.UNCERTAIN and trusted(order, distance)
