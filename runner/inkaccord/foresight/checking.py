"""The checks of an order before any stage runs: its artwork and other files, and what they hold."""

from collections.abc import Iterator
from typing import NamedTuple

from inkaccord.artwork.advice import advised
from inkaccord.artwork.made_with import program_kind
from inkaccord.cautions import POST
from inkaccord.diagnostics import Diagnostic, Place, Severity, error, note
from inkaccord.errors import InkaccordError, OrderError
from inkaccord.foresight.cutting import about_cuts
from inkaccord.order.loading import LoadedOrder
from inkaccord.order.source import Path_
from inkaccord.order.vendors import Delivers, Turning
from inkaccord.pdf.boxes import page_boxes
from inkaccord.pdf.opening import check_contents, open_artwork, opening_findings
from inkaccord.planning.sample_pages import sample_pages
from inkaccord.prepress.cutting import cut_for
from inkaccord.run.bench import Bench
from inkaccord.words import counted

_ONE_FORME = {Turning.WORK_AND_TURN, Turning.WORK_AND_TUMBLE}
UNUSABLE = "its artwork can't be used"
"""Why a piece fails whose file is missing, broken or locked."""
MISFIT = "its artwork does not fit it"
"""Why a piece fails whose artwork has other pages than it, in size or number."""


class Fault(NamedTuple):
    """Something that is wrong with an order, and whom it concerns.

    Attributes
    ----------
    pieces
        The pieces that can't be made because of it. An error without any is the whole order's.
    why
        What to say of them in a few words; the finding says the rest.
    in_file
        Whether it is a file beside the order that is wrong, and not the order.
    """

    finding: Diagnostic
    pieces: tuple[str, ...] = ()
    why: str = ""
    in_file: bool = False


def about_artwork(problem: InkaccordError, place: Place) -> Iterator[Diagnostic]:
    """Yield what is wrong with an artwork file, at the place where the order names it."""
    for finding in problem.findings:
        message = f"{finding.place}: {finding.message}" if finding.place.file else finding.message
        yield finding.model_copy(update={"place": place, "message": message})


def at_artwork(finding: Diagnostic, place: Place) -> Diagnostic:
    """Return a finding about a page at the place where the order names the artwork."""
    page = {"page": finding.place.page, "box_mm": finding.place.box_mm}
    return finding.model_copy(update={"place": place.model_copy(update=page)})


def check_artwork(loaded: LoadedOrder, name: str, bench: Bench) -> tuple[list[Fault], int | None]:
    """Check a piece's artwork; return its faults, and its pages as far as it can be used."""
    try:
        found, pages = _check_piece(loaded, name, bench)
    except InkaccordError as problem:
        place = loaded.source.place(("pieces", name, "artwork"))
        unusable = about_artwork(problem, place)
        return [Fault(it, (name,), UNUSABLE, in_file=True) for it in unusable], None
    faults = [Fault(it, (name,), MISFIT) for it in found]
    return faults, pages if all(it.severity is not Severity.ERROR for it in found) else None


def check_files(loaded: LoadedOrder, bench: Bench) -> Iterator[Fault]:
    """Name the files beside the order that are not there; artwork has its own check."""
    order = loaded.order
    named: list[tuple[str | None, Path_, tuple[str, ...], str]] = [
        (order.evidence, ("evidence",), (), "")
    ]
    for name, vendor in order.vendors.items():
        theirs = tuple(job.name for job in order.jobs_of(name))
        profile: Path_ = ("vendors", name, "pdf", "output_profile")
        why = "its vendor's output profile is missing"
        named.append((vendor.pdf.output_profile, profile, theirs, why))
    for name, piece in order.pieces.items():
        if piece.merge is not None:
            table: Path_ = ("pieces", name, "merge", "data")
            named.append((piece.merge.data, table, (name,), "its table of records is missing"))
    for path, field, pieces, why in named:
        if path is not None and not bench.is_there(path):
            finding = error(
                "missing-file",
                f"there is no '{path}' beside the order",
                place=loaded.source.place(field),
                hint="paths start from the order's folder",
            )
            yield Fault(finding, pieces, why)


def check_samples(loaded: LoadedOrder) -> Iterator[Fault]:
    """Yield why the sample sheets of a pair can have no page: their size, or the binder's holes."""
    order = loaded.order
    for pair in order.pairs_needed():
        try:
            sample_pages(order, pair)
        except OrderError as problem:
            device = ("vendors", order.on(pair).vendor_name, "devices", pair.device)
            for finding in problem.findings:
                punched = finding.code == "too-short-to-punch"
                field = ("samples", "holes") if punched else (*device, "sample_size")
                yield Fault(finding.model_copy(update={"place": loaded.source.place(field)}))


def _check_piece(loaded: LoadedOrder, name: str, bench: Bench) -> tuple[list[Diagnostic], int]:
    job = loaded.order.jobs[name]
    piece = job.piece
    findings: list[Diagnostic] = []
    # Its copy will be changed, which the maker may have forbidden: better said now than later.
    given = bench.given(piece.artwork)
    with open_artwork(given, name=piece.artwork, changing=True) as pdf:
        check_contents(pdf, piece.artwork)
        findings += opening_findings(pdf, piece.artwork)
        count, program = len(pdf.pages), program_kind(pdf)
        cuts = {
            number: cut_for(job, page_boxes(page, piece.artwork))
            for number, page in enumerate(pdf.pages, start=1)
        }
    findings += about_cuts(
        job,
        cuts,
        artwork=loaded.source.place(("pieces", name, "artwork")),
        trim=loaded.source.place(("pieces", name, "trim")),
    )
    if piece.records is not None and piece.merge is None:
        findings += _records(loaded, name, count)
    elif piece.merge is not None and count != (piece.sides or 1):
        findings.append(_template_pages(loaded, name, count))
    elif piece.sides is not None and count != piece.sides:
        findings.append(
            error(
                "wrong-page-count",
                f"{piece.artwork} has {counted(count, 'page')}, the piece "
                f"{counted(piece.sides, 'side')}",
                place=loaded.source.place(("pieces", name, "sides")),
                hint="or set 'sides' on the piece",
            )
        )
    elif count > 2:
        findings.append(
            error(
                "wrong-page-count",
                f"{piece.artwork} has {count} pages; a piece has one or two sides",
                place=loaded.source.place(("pieces", name, "artwork")),
                hint="or give each leaf as a piece of its own, of a booklet each folded sheet, its "
                "pages side by side as they are printed, with 'fold: vertical'; where every copy "
                f"has a page of its own (numbered, addressed), set pieces.{name}.records: "
                "cut-and-stack",
            )
        )
    return advised(findings, program), piece.sides_of(count)


def ask_the_post(loaded: LoadedOrder, name: str) -> Diagnostic:
    """Return what is to be minded of a piece that bears an address."""
    job = loaded.order.jobs[name]
    of_people = job.piece.records is not None
    own = counted(job.quantity, "address", "addresses") if of_people else "an address"
    return note(
        "ask-the-post",
        f"{name} bears {own}: {POST[0].lower()}{POST[1:-1]}",
        place=loaded.source.place(("pieces", name, "addressed")),
        hint="keep people's addresses no longer than you need them: they lie in the print files, "
        "the packages and the out folder"
        if of_people
        else None,
    )


def _template_pages(loaded: LoadedOrder, name: str, pages: int) -> Diagnostic:
    piece = loaded.order.pieces[name]
    sides = piece.sides or 1
    return error(
        "wrong-page-count",
        f"{piece.artwork} has {counted(pages, 'page')}, and records are laid over "
        f"{'one side' if sides == 1 else 'two sides'}",
        place=loaded.source.place(("pieces", name, "artwork")),
        in_program="export a single page, for the front",
        hint="or set 'sides: 2' on the piece, for a front and a back",
    )


def check_records(loaded: LoadedOrder, name: str, bench: Bench) -> Iterator[Fault]:
    """Yield what is to be said of a piece's records, and of those laid over its artwork."""
    piece = loaded.order.pieces[name]
    if piece.merge is None or not bench.is_there(piece.merge.data):
        return  # that a file is missing is said beside others
    try:
        bench.records(name)
    except InkaccordError as problem:
        for finding in problem.findings:
            yield Fault(finding, (name,), "its records can't be laid")


def _records(loaded: LoadedOrder, name: str, pages: int) -> Iterator[Diagnostic]:
    """Yield what is wrong with an artwork that has a page of its own for every copy."""
    job = loaded.order.jobs[name]
    sides = job.piece.sides_of(pages)
    if sides == 2 and job.vendor.delivers is Delivers.SHEETS and job.device.turning in _ONE_FORME:
        yield error(
            "records-need-two-formes",
            f"{job.pair.device} prints both sides of {name} from one forme, so every copy would be "
            "printed twice",
            place=loaded.source.place(("pieces", name, "records")),
            hint="set the device's 'turning' to sheetwise, or to the edge about which it turns",
        )
    if pages == sides * job.quantity:
        return
    yield error(
        "wrong-record-count",
        f"{job.piece.artwork} has {counted(pages, 'page')}, and of {name} "
        f"{counted(job.quantity, 'copy', 'copies')} {'is' if job.quantity == 1 else 'are'} ordered",
        place=loaded.source.place(("pieces", name, "records")),
        hint="or change the order's 'suites' or the piece's 'per_suite' and 'extra'",
    )
