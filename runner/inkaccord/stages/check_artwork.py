"""The built-in checks of a recoloured artwork against its vendor's rules."""

from collections.abc import Sequence
from functools import partial

from inkaccord.artwork.preflight.case import AddressInk, PreflightContext
from inkaccord.artwork.preflight.run import preflight
from inkaccord.artwork.preflight.together import preflight_together
from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.legibility import Reflectances
from inkaccord.diagnostics import Diagnostic
from inkaccord.hooks import ArtworkSubject, hookimpl
from inkaccord.order.model import Order
from inkaccord.prepress.artwork_rules import rules_for
from inkaccord.recall.recall import ask
from inkaccord.run.bench import Bench
from inkaccord.run.recoloured import Recoloured


@hookimpl
def inkaccord_check_artwork(subject: ArtworkSubject, bench: Bench) -> Sequence[Diagnostic]:
    """Check one artwork."""
    return ask(bench.recall, _call(subject, bench))


def checked_ahead(order: Order, recoloured: Recoloured, bench: Bench) -> None:
    """Check at once all artworks that are going to be checked."""
    subjects = (
        ArtworkSubject(order=order, job=order.jobs[copy.piece], data=copy.data)
        for copy in recoloured.pieces
    )
    bench.recall.ahead((_call(one, bench) for one in subjects), preflight_together)


def _call(subject: ArtworkSubject, bench: Bench) -> partial[tuple[Diagnostic, ...]]:
    return partial(
        preflight,
        subject.data,
        rules_for(subject.order, subject.job),
        _context(subject, bench),
        subject.job.name,
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
