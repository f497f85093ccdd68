"""Colours that a person accepts on a piece as they are, and up to what."""

from collections.abc import Iterator, Mapping, Sequence

from inkaccord.colour.agreement.differences import SURE, differences
from inkaccord.colour.agreement.verdicts import Verdict
from inkaccord.diagnostics import Diagnostic, warning
from inkaccord.order.answers import Limits
from inkaccord.order.model import Order
from inkaccord.stages.bench import Bench
from inkaccord.stages.results import Acceptance, Agreement, Distance

LEEWAY = 1.0
"""ΔE00 by which a colour may come out farther off than it was when it was accepted, at the least:
about what is just seen side by side (common practice, no source)."""


def reach(off: float, uncertainty: float) -> float:
    """Return up to which ΔE00 a colour is accepted that is predicted to be off by so much.

    What was uncertain about it then is no news when it is found out; the bound is a leeway too.
    Rounded up to half a ΔE00.
    """
    return -(-(off + max(LEEWAY, uncertainty)) // 0.5) * 0.5


def worst_of(
    order: Order, colour: str, piece: str, distances: Sequence[Distance]
) -> Distance | None:
    """Return how far off a colour is on a piece: to the aim, or from any piece that counts.

    Another piece on which the colour is accepted is no measure for this one.
    """
    own = [
        it
        for it in distances
        if it.colour == colour
        and piece in {it.piece, it.other}
        and not any(
            order.accepts(colour, name)
            for name in (it.piece, it.other)
            if name not in {None, piece}
        )
    ]
    return max(own, key=lambda it: it.delta_e_00, default=None)


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
        for colour, it in piece.accept.items():
            worst = worst_of(order, colour, name, distances)
            if worst is None:
                continue
            now, earlier = worst.delta_e_00, known.get((name, colour, it.why))
            first = earlier.known if earlier is not None else now
            kept = earlier.up_to if earlier is not None else reach(now, worst.uncertainty)
            found.append(
                Acceptance(
                    piece=name,
                    colour=colour,
                    why=it.why,
                    known=first,
                    up_to=it.up_to or kept,
                    now=now,
                )
            )
    return tuple(found)


def with_acceptances(
    distances: Sequence[Distance], accepted: Sequence[Acceptance]
) -> tuple[Distance, ...]:
    """Return the distances with those marked that an acceptance covers, each up to its own."""
    up_to = {(it.colour, it.piece): it.up_to for it in accepted}
    return tuple(
        it.model_copy(update={"accepted": piece})
        if (piece := _covered(it, up_to)) is not None
        else it
        for it in distances
    )


def _covered(it: Distance, up_to: Mapping[tuple[str, str], float]) -> str | None:
    names = [name for name in (it.piece, it.other) if name is not None]
    return next(
        (name for name in names if it.delta_e_00 <= up_to.get((it.colour, name), -1.0)), None
    )


def answers_without_use(order: Order, agreement: Agreement, bench: Bench) -> Iterator[Diagnostic]:
    """Yield acceptances and limits that nothing needs: left over, or a slip of the pen."""
    for it in agreement.accepted:
        covered = [one for one in agreement.distances if one.accepted == it.piece]
        own = [one for one in covered if one.colour == it.colour]
        if it.holds and all(one.verdict is Verdict.INSIDE for one in own):
            yield warning(
                "unused-acceptance",
                f"{it.colour} is within its limits on {it.piece}, so there is nothing to accept",
                place=bench.place("pieces", it.piece, "accept", it.colour),
                hint="remove the line",
            )
    limits = [(("colours", name), it.tolerance) for name, it in order.colours.items()]
    limits += [(("pieces", name), it.tolerance) for name, it in order.pieces.items()]
    for (part, name), written in limits:
        own = [one for one in agreement.distances if name in _named(one, part)]
        if written is not None and own and not _needed(order, written, own):
            yield warning(
                "unused-limit",
                f"all is within the order's own limits, so that of {name} does nothing",
                place=bench.place(part, name, "tolerance"),
                hint="remove the line",
            )


def _named(it: Distance, part: str) -> set[str | None]:
    return {it.colour} if part == "colours" else {it.piece, it.other}


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
