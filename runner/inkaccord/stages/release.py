"""Which pieces may go to their vendors: the gate that no file passes by accident."""

from inkaccord.diagnostics import Diagnostic, Place, Severity, warning
from inkaccord.hooks import ArtworkSubject
from inkaccord.models import Frozen
from inkaccord.order.model import Order
from inkaccord.record import PieceStatus
from inkaccord.stages.bench import Bench
from inkaccord.stages.results import Agreement, Collected, Recoloured, Translations


class Standing(Frozen):
    """Where a piece stands, and why."""

    status: PieceStatus
    why: str = ""


def check_artworks(
    order: Order, recoloured: Recoloured, bench: Bench
) -> dict[str, tuple[Diagnostic, ...]]:
    """Ask every plugin about every recoloured artwork; return the findings by piece.

    A finding that the order waives becomes a note that gives the reason.
    """
    found: dict[str, tuple[Diagnostic, ...]] = {}
    for copy in recoloured.pieces:
        piece = order.pieces[copy.piece]
        bench.progress(f"checking {copy.piece}")
        subject = ArtworkSubject(
            order=order,
            name=copy.piece,
            piece=piece,
            vendor=order.vendors[order.vendor_of(piece.device)],
            data=copy.data,
        )
        given = bench.plugins.each(
            "inkaccord_check_artwork", Diagnostic, subject=subject, bench=bench
        )
        named = [_named(finding, plugin, copy.piece) for plugin, finding in given]
        found[copy.piece] = tuple(_waived(it, piece.waive) for it in (*copy.findings, *named))
    return found


def waivers_without_use(
    order: Order, findings: dict[str, tuple[Diagnostic, ...]], bench: Bench
) -> tuple[Diagnostic, ...]:
    """Report waivers of findings that no check made: most likely a slip of the pen."""
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
            if code not in codes
        ]
    return tuple(unused)


def decide(
    order: Order,
    collected: Collected,
    translations: Translations,
    agreement: Agreement,
    recoloured: Recoloured,
    findings: dict[str, tuple[Diagnostic, ...]],
) -> dict[str, Standing]:
    """Return where every piece stands, in the order of the file."""
    unknown = {(it.colour, it.pair) for it in translations.unknown}
    standings: dict[str, Standing] = {}
    for name in order.pieces:
        pair = order.pair_of(name)
        waits = [c for c in collected.of(name).brand_colours if (c, pair) in unknown]
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


def _named(finding: Diagnostic, plugin: str, piece: str) -> Diagnostic:
    place = finding.place
    if place.field is None and place.file is None:
        place = Place(**{**place.model_dump(), "field": piece})
    return finding.model_copy(update={"place": place, "source": finding.source or plugin})


def _waived(finding: Diagnostic, waive: dict[str, str]) -> Diagnostic:
    if finding.code not in waive:
        return finding
    return finding.model_copy(
        update={
            "severity": Severity.NOTE,
            "hint": f"waived: {waive[finding.code]}",
        }
    )
