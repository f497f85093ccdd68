"""Each vendor's copy of an artwork: recoloured for its pair, simplified, and proved."""

import contextlib
from collections.abc import Collection, Container, Iterator, Mapping, Set
from dataclasses import dataclass, replace
from functools import partial

from inkaccord.artwork.advice import advised
from inkaccord.artwork.finishing.groups import INKS_NOT_KNOWN, mend_groups
from inkaccord.artwork.profiled import Profiled
from inkaccord.artwork.proof.parts import ProofPart
from inkaccord.artwork.proof.prove import CopyProof, prove
from inkaccord.artwork.proof.refusal import NOT_PROVED
from inkaccord.artwork.proof.together import ProofCase, prove_together
from inkaccord.artwork.recolouring.recolour import RecolouredFile, RecolourOptions, recolour
from inkaccord.artwork.rewritten import is_rewritten
from inkaccord.artwork.swaps import (
    SpotMode,
    Swap,
    TintMode,
    TintTable,
    without_profile,
)
from inkaccord.artwork.taking_up import OrderSays
from inkaccord.colour.builds import Drive
from inkaccord.colour.paints import Paint, PaintKind
from inkaccord.colour.pairs import Pair
from inkaccord.diagnostics import Diagnostic, Severity
from inkaccord.errors import InkaccordError
from inkaccord.knowledge.values import Translation, Translations
from inkaccord.order.model import Order
from inkaccord.order.vendors import Spots, Tints, Vendor
from inkaccord.pdf.signatures import SIGNED
from inkaccord.prepress.artwork_rules import order_says
from inkaccord.prepress.beside import builds_beside, said_of
from inkaccord.prepress.finishing import with_overprint, without_layers_and_type
from inkaccord.prepress.neutrals import neutrals_for
from inkaccord.prepress.photographs import PhotographTables, TranslatedCopy
from inkaccord.recall.recall import ask
from inkaccord.run.bench import Bench
from inkaccord.run.collected import INKS_UNKNOWN, SIGNATURE_BREAKS, Collected, FoundAs, PieceArtwork
from inkaccord.run.recoloured import ProofSummary, Recoloured, RecolouredPiece

_BLACK_AND_PAPER = {
    Paint(kind=PaintKind.CMYK, values=(0, 0, 0, 100)): Paint(kind=PaintKind.RGB, values=(0, 0, 0)),
    Paint(kind=PaintKind.CMYK, values=(0, 0, 0, 0)): Paint(
        kind=PaintKind.RGB, values=(255, 255, 255)
    ),
}
"""Black type and paper white, as a device driven in RGB should get them."""
_NOT_AS_ASKED = "its recoloured copy is not exactly what was asked for"


_Asked = tuple[tuple[Swap, ...], RecolourOptions]
"""What becomes of the colours of a piece, and how."""


@dataclass(frozen=True)
class _Draft:
    """A recoloured file that has still to be proved."""

    before: bytes
    made: RecolouredFile
    swaps: tuple[Swap, ...]
    options: RecolourOptions
    said: tuple[Diagnostic, ...]

    @property
    def case(self) -> ProofCase:
        """What is to be proved."""
        return self.before, self.made.data, self.swaps, self.options


def make_copies(
    order: Order, collected: Collected, translations: Translations, bench: Bench
) -> Recoloured:
    """Recolour and prove every piece whose colours are all known."""
    drafts = dict(_drafts(order, collected, translations, bench))
    bench.progress("proving the copies")
    made = [it for it in drafts.values() if isinstance(it, _Draft)]
    bench.recall.ahead((partial(prove, *draft.case) for draft in made), prove_together)
    pieces: list[RecolouredPiece] = []
    failed: dict[str, str] = {}
    findings: list[Diagnostic] = []
    photographs = PhotographTables(order, bench)
    for name, draft in drafts.items():
        try:
            if isinstance(draft, InkaccordError):
                raise draft
            copy = _finished(order, collected.of(name), draft, photographs, bench)
            pieces.append(copy)
        except InkaccordError as problem:
            failed[name] = str(problem)
            findings += problem.findings
            continue
        if wrong := _errors(copy, order.pieces[name].waive):
            failed[name] = _why(wrong)
        elif not copy.proof.passed:
            failed[name] = _NOT_AS_ASKED
    return Recoloured(pieces=tuple(pieces), failed=failed, findings=tuple(findings))


def _drafts(
    order: Order, collected: Collected, translations: Translations, bench: Bench
) -> Iterator[tuple[str, _Draft | InkaccordError]]:
    """Yield every piece whose colours are all known, recoloured, or why it can't be."""
    asked: dict[str, _Asked] = {}
    for name, job in order.jobs.items():
        artwork = collected.of(name)
        found = [translations.of(colour, job.pair) for colour in artwork.brand_colours]
        known = [translation for translation in found if translation is not None]
        if len(known) < len(found):
            continue  # waits for evidence
        swaps = all_swaps_for(order, bench, artwork, known)
        asked[name] = swaps, options_for(job.vendor, order.profiled_of(name))
    bench.progress("recolouring")
    bench.recall.ahead(_recolourings(bench, asked))
    for name, (swaps, options) in asked.items():
        bench.progress(f"recolouring {name}")
        try:
            yield name, _draft(bench, name, swaps, options, order.jobs[name].pair)
        except InkaccordError as problem:
            yield name, problem


def _recolourings(bench: Bench, asked: Mapping[str, _Asked]) -> Iterator[partial[RecolouredFile]]:
    for name, (swaps, options) in asked.items():
        with contextlib.suppress(InkaccordError):  # it is said when its turn comes
            yield _recolouring(bench.artwork(name), swaps, options)


def _finished(
    order: Order,
    artwork: PieceArtwork,
    draft: _Draft,
    photographs: PhotographTables,
    bench: Bench,
) -> RecolouredPiece:
    """Return a copy proved, and made to what its vendor and device take."""
    name = artwork.piece
    job = order.jobs[name]
    copy = _proved(bench, name, draft)
    if artwork.photographs:
        translated = photographs.translate(copy.data, job.pair, name, order.profiled_of(name))
        copy = with_photographs(copy, translated)
    copy = _with_groups_mended(bench, copy, job.device.drive, order_says(order, job))
    if copy.proof.passed:
        data, said = with_overprint(order, copy.data, name)
        data, more = without_layers_and_type(job.vendor, data, name)
        copy = replace(copy, data=data, findings=(*copy.findings, *said, *more))
    return replace(copy, findings=tuple(advised(copy.findings, artwork.program)))


def all_swaps_for(
    order: Order, bench: Bench, artwork: PieceArtwork, known: list[Translation]
) -> tuple[Swap, ...]:
    """Return what becomes of every colour of a piece that the order has a say in."""
    name = artwork.piece
    swaps = swaps_for(order, known, order.jobs[name].device.drive)
    swaps += neutrals_for(order, bench, name)
    if order.profiled_of(name) is Profiled.PLAIN:
        found = (it.paint for it in artwork.colours if it.found_as is not FoundAs.BRAND)
        swaps += without_profile((it for it in found if it is not None), swaps)
    return swaps + kept_though_rewritten(order, swaps)


def swaps_for(order: Order, known: list[Translation], drive: Drive) -> tuple[Swap, ...]:
    """Return what becomes of which colour of an artwork on its pair.

    A device driven in RGB gets black and white in RGB too: its driver would convert them by rules
    of its own.
    """
    swaps: list[Swap] = []
    named = {paint for it in known for paint in order.colours[it.colour].in_artwork}
    for translation in known:
        colour = order.colours[translation.colour]
        steps = tuple((tint.tint, tint.build) for tint in translation.tints)
        table = TintTable(steps=(*steps, (100.0, translation.build))) if steps else None
        new = Paint.of_build(translation.build)
        looks = [paint for paint in colour.known_as if paint not in named]
        named.update(looks)
        swaps += [
            Swap(
                old=paint,
                new=new,
                tints=table,
                tolerance=_counted(colour.within, paint.kind),
                name=translation.colour,
            )
            for paint in (*colour.in_artwork, *looks)
        ]
    if drive is Drive.RGB:
        swaps += [
            Swap(old=old, new=new, tolerance=0.0)
            for old, new in _BLACK_AND_PAPER.items()
            if old not in named
        ]
    return tuple(swaps)


def _counted(percent: float, kind: PaintKind) -> float:
    """Return a share of full scale in the numbers that a kind of colour counts in."""
    return percent * 2.55 if kind is PaintKind.RGB else percent


def kept_though_rewritten(order: Order, swaps: Collection[Swap]) -> tuple[Swap, ...]:
    """Return the colours that the order keeps though a formula gives them for one that changes."""
    changing = [it.old for it in swaps if it.old != it.new]
    named = {it.old for it in swaps}
    return tuple(
        Swap(old=paint, new=paint, tolerance=0.5)
        for paint in order.keep
        if paint not in named and any(is_rewritten(paint, old) for old in changing)
    )


def options_for(vendor: Vendor, profiled: Profiled) -> RecolourOptions:
    """Return how a vendor wants the files of a piece recoloured."""
    return RecolourOptions(
        profiled=profiled,
        spots=SpotMode.KEEP if vendor.spots is Spots.KEEP else SpotMode.PROCESS,
        tints=TintMode.SCALED if vendor.tints is Tints.SCALED else TintMode.FOLLOW,
    )


def _recolouring(
    before: bytes, swaps: tuple[Swap, ...], options: RecolourOptions
) -> partial[RecolouredFile]:
    return partial(recolour, before, swaps, options=options)


def _draft(
    bench: Bench, name: str, swaps: tuple[Swap, ...], options: RecolourOptions, pair: Pair
) -> _Draft:
    before = bench.artwork(name)
    made = ask(bench.recall, _recolouring(before, swaps, options))
    beside = builds_beside(bench.order, bench, pair, made.without_build)
    if beside:
        options = options.model_copy(update={"beside": beside})
        made = ask(bench.recall, _recolouring(before, swaps, options))
    return _Draft(before, made, swaps, options, tuple(said_of(beside, name, pair)))


def _proved(bench: Bench, name: str, draft: _Draft) -> RecolouredPiece:
    made, proof = draft.made, bench.recall(prove, *draft.case)
    findings = (*said_of_recolouring(made), *draft.said)
    if {it.code for it in made.errors} <= {SIGNED}:  # else it follows from those
        findings += proof.refusals
    return RecolouredPiece(piece=name, data=made.data, proof=_summary(proof), findings=findings)


def said_of_recolouring(made: RecolouredFile) -> Iterator[Diagnostic]:
    """Yield what was said of a copy, save near misses, which are told when stock is taken."""
    yield from (finding for finding in made.findings if finding.code != "near-miss")


def _why(wrong: Set[str]) -> str:
    """Return why a piece failed, by the codes of its errors."""
    if wrong <= INKS_NOT_KNOWN:
        return INKS_UNKNOWN
    if wrong == {SIGNED}:
        return SIGNATURE_BREAKS
    if wrong == {NOT_PROVED}:
        return _NOT_AS_ASKED
    return "a colour of the artwork could not be recoloured"


def _errors(copy: RecolouredPiece, waived: Container[str]) -> set[str]:
    """Return the codes of the errors of a copy that the order does not waive."""
    errors = (it.code for it in copy.findings if it.severity is Severity.ERROR)
    return {code for code in errors if code == NOT_PROVED or code not in waived}


def _with_groups_mended(
    bench: Bench, copy: RecolouredPiece, drive: Drive, says: OrderSays
) -> RecolouredPiece:
    """Return a copy whose groups mix in what its device is driven in, where that can be."""
    data, said = bench.recall(mend_groups, copy.data, drive, says=says)
    return replace(copy, data=data or copy.data, findings=(*copy.findings, *said))


def with_photographs(copy: RecolouredPiece, translated: TranslatedCopy) -> RecolouredPiece:
    """Return a copy with its photographs translated, and the proof of that beside the first."""
    proof = translated.proof
    summary = copy.proof
    if proof is not None:
        summary = ProofSummary(
            passed=summary.passed and proof.passed,
            lines=(
                *summary.lines,
                _line("all but photographs", proof.structure),
                _line("all but photographs, rendered", proof.rendering),
            ),
        )
    findings = (*copy.findings, *translated.findings)
    return replace(copy, data=translated.data, findings=findings, proof=summary)


def _summary(proof: CopyProof) -> ProofSummary:
    parts = {
        "colours": proof.inventory,
        "all else": proof.structure,
        "rendering": proof.rendering,
    }
    return ProofSummary(
        passed=proof.passed,
        lines=tuple(_line(name, part) for name, part in parts.items()),
    )


def _line(name: str, part: ProofPart) -> str:
    return "; ".join((f"{name}: {part.verdict}", part.checked, *part.details))
