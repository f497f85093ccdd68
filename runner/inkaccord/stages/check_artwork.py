"""The built-in checks of a recoloured artwork against its vendor's rules."""

from collections.abc import Sequence

from inkaccord.artwork.preflight.case import AddressInk, PreflightContext
from inkaccord.artwork.preflight.run import preflight
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.legibility import Reflectances
from inkaccord.diagnostics import Diagnostic
from inkaccord.hooks import ArtworkSubject, hookimpl
from inkaccord.prepress.artwork_rules import rules_for
from inkaccord.run.bench import Bench


@hookimpl
def inkaccord_check_artwork(subject: ArtworkSubject, bench: Bench) -> Sequence[Diagnostic]:
    """Check one artwork."""
    return bench.recall(
        preflight,
        subject.data,
        rules_for(subject.order, subject.job),
        context=_context(subject, bench),
        name=subject.job.name,
    )


def _context(subject: ArtworkSubject, bench: Bench) -> PreflightContext:
    if not subject.job.piece.addressed:
        return PreflightContext()
    known = bench.pair(subject.job.pair)
    black = Build.cmyk(0, 0, 0, 100) if known.drive is Drive.CMYK else Build.rgb(0, 0, 0)
    ground, ink = known.model.paper_lab, known.lab_of(black)
    return PreflightContext(
        addressed=True,
        mailed=True,
        post=subject.order.post,
        address_inks=(
            AddressInk(
                name="black",
                ground=Reflectances.estimate(ground),
                ink=Reflectances.estimate(ink),
            ),
        )
        if known.is_read
        else (),
    )
