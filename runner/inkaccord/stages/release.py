"""Which pieces may go to their vendors: the gate that no file passes by accident."""

from collections.abc import Callable, Container, Mapping, Sequence

from inkaccord.artwork.preflight.levels import levelled
from inkaccord.diagnostics import Diagnostic, Place, Severity, warning
from inkaccord.hooks import ArtworkSubject
from inkaccord.knowledge.values import Translations
from inkaccord.order.approving import ApprovalNow, is_held_for_approval
from inkaccord.order.model import Order
from inkaccord.run.agreement import Agreement
from inkaccord.run.bench import Bench, Progress
from inkaccord.run.collected import Collected
from inkaccord.run.plan import NextStep, SamplePlan, StepKind
from inkaccord.run.recoloured import Recoloured, RecolouredPiece
from inkaccord.run.record import PieceStatus, Standing
from inkaccord.run.waivers import waived

Look = Callable[[ArtworkSubject], Sequence[Diagnostic]]
"""Looks at an artwork with all checks, and says what is wrong."""


def check_artworks(
    order: Order, recoloured: Recoloured, look: Look, progress: Progress
) -> dict[str, tuple[Diagnostic, ...]]:
    """Look at every recoloured artwork; return what was found by piece.

    A finding that the order waives becomes a note that gives the reason.
    """
    checked: dict[str, tuple[Diagnostic, ...]] = {}
    for copy in recoloured.pieces:
        progress(f"checking {copy.piece}")
        checked[copy.piece] = _found(order, copy, look)
    return checked


def _found(order: Order, copy: RecolouredPiece, look: Look) -> tuple[Diagnostic, ...]:
    job = order.jobs[copy.piece]
    seen = look(ArtworkSubject(order=order, job=job, data=copy.data))
    seen = levelled(seen, job.vendor.levels)  # also what checks of plugins say
    placed = [_at(finding, copy.piece) for finding in (*copy.findings, *seen)]
    return tuple(waived(finding, copy.piece, job.piece.waive) for finding in placed)


def waivers_without_use(
    order: Order,
    findings: dict[str, tuple[Diagnostic, ...]],
    bench: Bench,
    before: Container[str] = (),
) -> tuple[Diagnostic, ...]:
    """Report waivers of findings that no check made: most likely a slip of the pen.

    ``before`` are the codes of what was found when stock was taken.
    """
    unused = []
    for name, piece in order.pieces.items():
        if name not in findings:
            continue
        codes = {finding.code for finding in findings[name]}
        unused += [
            warning(
                "unused-waiver",
                f"nothing was found that is called '{code}', so there is nothing to waive",
                place=bench.place("pieces", name, "waive", code),
                hint=f"found here: {', '.join(sorted(codes))}" if codes else "remove the line",
            )
            for code in piece.waive
            if code not in codes and code not in before
        ]
    return tuple(unused)


def decide(
    order: Order,
    collected: Collected,
    translations: Translations,
    agreement: Agreement,
    recoloured: Recoloured,
    findings: dict[str, tuple[Diagnostic, ...]],
    failed: Mapping[str, str],
) -> dict[str, Standing]:
    """Return where every piece stands, in the order of the file.

    ``failed`` are the pieces that were out from the start, and why.
    """
    unknown = {(it.colour, it.pair) for it in translations.unknown}
    standings: dict[str, Standing] = {}
    for name, job in order.jobs.items():
        if name in failed:
            standings[name] = Standing(status=PieceStatus.FAILED, why=failed[name])
            continue
        waits = [c for c in collected.of(name).brand_colours if (c, job.pair) in unknown]
        errors = [it for it in findings.get(name, ()) if it.severity is Severity.ERROR]
        if waits:
            standings[name] = Standing(
                status=PieceStatus.WAITING, why=f"{', '.join(waits)} not known here yet"
            )
        elif name in recoloured.failed:
            standings[name] = Standing(status=PieceStatus.FAILED, why=recoloured.failed[name])
        elif errors:
            codes = ", ".join(dict.fromkeys(it.code for it in errors))
            standings[name] = Standing(status=PieceStatus.FAILED, why=f"checks failed: {codes}")
        elif name in agreement.held:
            standings[name] = Standing(status=PieceStatus.HELD, why=agreement.held[name])
        else:
            standings[name] = Standing(status=PieceStatus.READY)
    return standings


def approval_step(
    order: Order,
    approval: ApprovalNow | None,
    standings: Mapping[str, Standing],
    plan: SamplePlan,
) -> tuple[NextStep, ...]:
    """Return what asks for the approval, once nothing else is asked and every piece is ready."""
    ready = all(it.status is PieceStatus.READY for it in standings.values())
    if plan.steps or not ready or not is_held_for_approval(order, approval):
        return ()
    why = "the last approval no longer covers the order" if approval is not None else "none yet"
    text = (
        f"Have the client approve what client.pdf shows ({why}): the order wants that before any "
        "zip is made for a vendor"
    )
    return (NextStep(kind=StepKind.APPROVE, text=text, pieces=tuple(standings)),)


def _at(finding: Diagnostic, piece: str) -> Diagnostic:
    """Return a finding that says which piece it is about."""
    place = finding.place
    # A place with a line lies in a plugin's code, and not in the artwork.
    if place.field is None and (place.file is None or place.line is not None):
        place = Place(**{**place.model_dump(), "field": piece})
    return finding.model_copy(update={"place": place})
