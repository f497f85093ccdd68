"""What is said of where an artwork's pages are cut: understood, told, or still to be told."""

from collections.abc import Iterator, Mapping

from inkaccord.artwork.advice import TURN_ROUND
from inkaccord.diagnostics import Diagnostic, Place, Severity, error, note
from inkaccord.order.job import Job
from inkaccord.pdf.boxes import TRIM_TOLERANCE_PT
from inkaccord.pdf.cuts import CutKnown, PageCut
from inkaccord.units import spoken_length
from inkaccord.words import joined, plural


def about_cuts(
    job: Job, cuts: Mapping[int, PageCut], *, artwork: Place, trim: Place
) -> Iterator[Diagnostic]:
    """Yield how the pages of a piece's artwork are understood, and which don't suit it.

    Pages of which the same is to be said share one finding; ``cuts`` holds each by its number, and
    the places are those of the piece's fields.
    """
    said: dict[Diagnostic, list[int]] = {}
    for number, cut in cuts.items():
        if (finding := _about_page(job, cut)) is not None:
            said.setdefault(finding, []).append(number)
    for finding, numbers in said.items():
        yield finding.model_copy(
            update={
                "message": f"{_pages(numbers)} of {job.piece.artwork}: {finding.message}",
                "place": trim if finding.severity is Severity.ERROR else artwork,
            }
        )


def _about_page(job: Job, cut: PageCut) -> Diagnostic | None:
    piece, field = job.piece.trim, f"pieces.{job.name}.boxes"
    if cut.known is CutKnown.TOLD:
        page = cut.boxes.size_of(cut.boxes.crop)
        if cut.boxes.media.holds(cut.boxes.trim, TRIM_TOLERANCE_PT):
            return note(
                "trim-understood", f"the piece is cut out of the page, {page}, as the order says"
            )
        return error(
            "wrong-trim",
            f"the piece, {piece}, reaches out of the page, {page}, where the order places it",
            hint=f"or mend {field}, or the piece's 'trim'",
        )
    if not cut.boxes.fits(piece):
        return _unfit(job, cut, field)
    return None if cut.known is CutKnown.STATED else _understood(job, cut, field)


def _unfit(job: Job, cut: PageCut, field: str) -> Diagnostic:
    piece, found = job.piece.trim, cut.boxes.trim_size
    turned = cut.boxes.lies_turned(piece)
    if turned:
        hint = "or turn the piece's 'trim' round: width first"
    elif not piece.fits_in(cut.boxes.size_of(cut.boxes.crop)):
        hint = "or set the piece's 'trim'"
    else:
        hint = (
            "or set the piece's 'trim'; where the piece lies in the middle of the page, write "
            f"{field}: {{trim: centred}}; elsewhere how far from its edges: {field}: {{trim: "
            "{left: 10mm, top: 12mm}}"
        )
    if cut.known is CutKnown.STATED:
        message = f"it is trimmed to {found}, the piece to {piece}"
    else:
        message = f"the page is {found}, the piece {piece}, and no TrimBox says where to cut"
    return error("wrong-trim", message, in_program=TURN_ROUND if turned else None, hint=hint)


def _understood(job: Job, cut: PageCut, field: str) -> Diagnostic:
    piece, name = job.piece.trim, cut.follows
    why = "its TrimBox only repeats the page" if cut.states_page else "no TrimBox says where to cut"
    what = "the page" if name == "media" else f"its {name.title()}Box"
    if cut.known is CutKnown.BLEED:
        rim = cut.boxes.bleed_pt
        bleed = spoken_length(sum(by for _, by in rim.named()) / 4)
        size = cut.boxes.size_of(cut.boxes.bleed)
        said = f"{what} is {size}, taken as the piece, {piece}, with {bleed} of bleed all round"
    else:
        said = f"{what} is as large as the piece, {piece}, and is cut at its edge"
    return note(
        "trim-understood", f"{why}; {said}", hint=f"if it is not so, say where to cut: {field}"
    )


def _pages(numbers: list[int]) -> str:
    first, last = numbers[0], numbers[-1]
    if len(numbers) > 2 and last - first == len(numbers) - 1:
        return f"pages {first} to {last}"
    return f"{plural(len(numbers), 'page')} {joined([str(number) for number in numbers])}"
