"""What can be foreseen of an order before anything is printed or read."""

from collections.abc import Iterable, Iterator, Mapping, Sequence, Set

from inkaccord.artwork.preflight.pages import REST_ON_SIZE
from inkaccord.diagnostics import Diagnostic, Severity, error, note, warning
from inkaccord.errors import FileError, InkaccordError, OrderError, PieceError
from inkaccord.foresight.checking import (
    MISFIT,
    Fault,
    ask_the_post,
    at_artwork,
    check_artwork,
    check_records,
    check_samples,
)
from inkaccord.foresight.taking_stock import take_stock
from inkaccord.layout.packing import misfit
from inkaccord.models import Frozen
from inkaccord.order.enclosing import (
    CLEARANCE,
    clearance_pt,
    outer_envelope,
    packing_of,
    suite_sizes,
)
from inkaccord.order.going import Goes
from inkaccord.order.loading import LoadedOrder
from inkaccord.order.model import Order
from inkaccord.order.source import Path_
from inkaccord.order.stocks import StockKind
from inkaccord.order.vendors import Delivers
from inkaccord.pdf.boxes import TRIM_TOLERANCE_PT
from inkaccord.prepress.foretelling import foretell
from inkaccord.prepress.laying import item_of, layout_rules, sheets_of
from inkaccord.recall.recall import NotYet
from inkaccord.run.bench import Bench
from inkaccord.run.collected import Collected
from inkaccord.run.waivers import waived
from inkaccord.sizes import Size, named_sizes
from inkaccord.units import inch, inches, mm
from inkaccord.words import joined

BESIDE_PT = inches(1 / 2)
"""A piece that is larger than its envelope by more than this is meant to lie beside it."""


class Foreseen(Frozen):
    """What will become of an order, whatever its sheets read.

    Attributes
    ----------
    findings
        All that is worth saying.
    failed
        Pieces that can't be made, and why, in a few words.
    misfits
        Those of them whose artwork can be looked into all the same: it has other pages than they,
        in size or number.
    pages
        Of every piece whose artwork can be used.
    """

    findings: tuple[Diagnostic, ...]
    failed: dict[str, str]
    misfits: frozenset[str] = frozenset()
    pages: dict[str, int]


def look_ahead(loaded: LoadedOrder, bench: Bench) -> Foreseen:
    """Find what needs no readings, every mistake in one go.

    What the artworks hold is left to the first stage, which looks through them anyway; where there
    will be none, it is said here.

    Raises
    ------
    InkaccordError
        With everything that was found, when the order itself is wrong or no piece can be made.
    """
    pages, faults = _look(loaded, bench)
    misfits = _misfits(loaded.order, faults) - pages.keys()
    if _is_refused(loaded.order, faults):
        foretold, unusable = _look_into(loaded.order, pages.keys(), misfits, bench)
        raise _kind(faults)(_said([*faults, *foretold, *unusable]))
    return Foreseen(
        findings=_said(faults), failed=failing(faults), misfits=frozenset(misfits), pages=pages
    )


def check_whole(loaded: LoadedOrder, bench: Bench) -> tuple[Diagnostic, ...]:
    """Look ahead, and into the artworks as a run does; return what lets the order go on.

    What the checks of a run will say of the pieces' copies is said too, save what rests on builds
    that are not known yet, and what the bench is still finding out (:class:`NotYet`). Of an artwork
    with other pages than its piece, all is said but what rests on their size: whoever mends it
    mends all at once.

    Raises
    ------
    InkaccordError
        With everything that was found, when any of it is an error: of one piece (PieceError), or
        what no run would begin with.
    """
    pages, faults = _look(loaded, bench)
    misfits = _misfits(loaded.order, faults) - pages.keys()
    foretold, unusable = _look_into(loaded.order, pages.keys(), misfits, bench)
    every = [*faults, *foretold, *unusable]
    if any(_is_error(it) for it in every):
        raise _as_a_run_ends(loaded.order, faults, unusable)(_said(every))
    return _said(every)


def said_of_whole(loaded: LoadedOrder, bench: Bench) -> tuple[Diagnostic, ...]:
    """Return what :func:`check_whole` says, whether that lets the order go on or not."""
    try:
        return check_whole(loaded, bench)
    except InkaccordError as problem:
        return problem.findings


def failing(faults: Iterable[Fault]) -> dict[str, str]:
    """Return the pieces that can't be made, and why."""
    whys: dict[str, list[str]] = {}
    for fault in faults:
        if _is_error(fault):
            for name in fault.pieces:
                whys.setdefault(name, []).append(fault.why)
    return {name: ", ".join(dict.fromkeys(why)) for name, why in whys.items()}


def _look(loaded: LoadedOrder, bench: Bench) -> tuple[dict[str, int], list[Fault]]:
    pages: dict[str, int] = {}
    faults: list[Fault] = []
    for name in loaded.order.pieces:
        found, count = check_artwork(loaded, name, bench)
        faults += found
        if count is None:
            continue
        said = list(check_records(loaded, name, bench))
        faults += said
        if not any(map(_is_error, said)):
            pages[name] = count
    faults += check_samples(loaded)
    faults += _files(loaded, bench)
    faults += _sheets(loaded, pages)
    faults += map(Fault, _stock_sheets(loaded))
    faults += [
        Fault(ask_the_post(loaded, name))
        for name, piece in loaded.order.pieces.items()
        if piece.addressed
    ]
    faults += map(Fault, (*_fed_stocks(loaded), *_envelope(loaded)))
    return pages, faults


def _look_into(
    order: Order, fitting: Set[str], misfits: Set[str], bench: Bench
) -> tuple[list[Fault], list[Fault]]:
    """Return what the checks will say of the pieces, and what stands in their artworks."""
    usable = order.only(fitting | misfits)
    if not usable.pieces:
        return [], []
    collected = take_stock(usable, bench)
    return list(foretold_of(usable, collected, bench, misfits)), list(_in_artworks(collected))


def _misfits(order: Order, faults: Iterable[Fault]) -> set[str]:
    """Return the pieces whose artwork can be looked into, and does not fit them.

    Over the pages of those that take records nothing can be laid.
    """
    about = [it for it in faults if _is_error(it) and it.why == MISFIT]
    return {name for it in about for name in it.pieces if order.pieces[name].records is None}


def _is_error(fault: Fault) -> bool:
    return fault.finding.severity is Severity.ERROR


def _said(faults: Iterable[Fault]) -> tuple[Diagnostic, ...]:
    return tuple(dict.fromkeys(it.finding for it in faults))


def _kind(faults: Iterable[Fault]) -> type[InkaccordError]:
    in_files = all(it.in_file for it in faults if _is_error(it))
    return FileError if in_files else OrderError


def _is_refused(order: Order, faults: Sequence[Fault]) -> bool:
    """Tell whether no run begins: the order itself is wrong, or no piece of it can be made."""
    is_wrong = any(_is_error(it) and not it.pieces for it in faults)
    return is_wrong or failing(faults).keys() == set(order.pieces)


def _as_a_run_ends(
    order: Order, faults: Sequence[Fault], unusable: Sequence[Fault]
) -> type[InkaccordError]:
    """Return what a run of an order would end with, which has errors."""
    if _is_refused(order, faults):
        return _kind(faults)
    out = failing(faults).keys() | failing(unusable).keys()
    return FileError if out == set(order.pieces) else PieceError


def _files(loaded: LoadedOrder, bench: Bench) -> Iterator[Fault]:
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


def _sheets(loaded: LoadedOrder, pages: Mapping[str, int]) -> Iterator[Fault]:
    """Find pieces that fit none of the sheets that their device takes."""
    for name, job in loaded.order.jobs.items():
        if job.vendor.delivers is not Delivers.SHEETS or job.fed_singly:
            continue
        place = loaded.source.place(("pieces", name, "trim"))
        sides = pages.get(name, job.piece.sides or 1)
        try:
            finding = misfit(
                item_of(job, sides),
                sheets_of(job),
                layout_rules(job, sides),
            )
        except OrderError as problem:
            found = problem.findings
        else:
            found = () if finding is None else (finding,)
        for finding in found:
            yield Fault(finding.model_copy(update={"place": place}), (name,), "it fits on no sheet")


def _stock_sheets(loaded: LoadedOrder) -> Iterator[Diagnostic]:
    """Find stocks out of whose sheets none can be cut that their device is said to take."""
    order = loaded.order
    for pair in order.pairs_needed():
        printing = order.on(pair)
        if printing.takes_its_sheet:
            continue
        size, taken = printing.stock.size, joined([str(it) for it in printing.device.sheets])
        yield warning(
            "stock-not-a-sheet",
            f"the stock '{pair.stock}' comes in {size}, out of which none of the sheets can be cut "
            f"that {pair.device} is said to take ({taken}): all is laid on {size}",
            place=loaded.source.place(("stocks", pair.stock, "size")),
            hint=f"ask whether {pair.device} takes {size}, and add that to its 'sheets'; or set "
            f"stocks.{pair.stock}.size to the sheets that the stock is bought in",
        )


def _fed_stocks(loaded: LoadedOrder) -> Iterator[Diagnostic]:
    """Find envelopes and cards of another size than the piece that is printed on them."""
    for name, job in loaded.order.jobs.items():
        piece, stock = job.piece, job.stock
        if stock.kind is StockKind.SHEET or any(
            size.same_as(piece.trim, TRIM_TOLERANCE_PT) for size in (stock.size, stock.size.turned)
        ):
            continue
        ratio = _area(stock.size) / _area(piece.trim)
        much = "far larger than" if ratio > 2 else "another size than"
        yield warning(
            "trim-not-stock",
            f"the {stock.kind} '{piece.stock}' is {stock.size}, {much} the piece that is printed "
            f"on it, {piece.trim}",
            place=loaded.source.place(("stocks", piece.stock, "size")),
            hint=_named_as(piece.trim)
            or f"set stocks.{piece.stock}.size or pieces.{name}.trim: they are the same thing",
        )


def _named_as(trim: Size) -> str | None:
    names = [
        name
        for name, size in named_sizes().items()
        if name.endswith("-envelope") and size.same_as(trim, TRIM_TOLERANCE_PT)
    ]
    return f"did you mean {names[0]}?" if names else None


def _area(size: Size) -> float:
    return size.width_pt * size.height_pt


def _in_artworks(collected: Collected) -> Iterator[Fault]:
    """Tell what stands in the artworks that can be opened."""
    for finding in collected.findings:
        about = [
            name for name in collected.failed if finding.place.field == f"pieces.{name}.artwork"
        ]
        yield Fault(
            finding, tuple(about), "".join(map(collected.failed.__getitem__, about)), in_file=True
        )


def foretold_of(
    order: Order, collected: Collected, bench: Bench, misfits: Set[str]
) -> Iterator[Fault]:
    """Yield what the checks will say of the copies that can be made of an order's pieces.

    Of misfits, whose artwork has other pages than they, nothing is said that rests on their size.
    """
    for artwork in collected.artworks:
        name = artwork.piece
        if name in collected.failed or name not in order.pieces:
            continue
        try:
            said = foretell(order, artwork, bench)
        except NotYet:
            continue
        except InkaccordError as problem:
            said = problem.findings
        if name in misfits:
            said = tuple(it for it in said if it.code not in REST_ON_SIZE)
        place = bench.place("pieces", name, "artwork")
        waive = order.pieces[name].waive
        placed = [at_artwork(waived(finding, name, waive), place) for finding in said]
        wrong = dict.fromkeys(it.code for it in placed if it.severity is Severity.ERROR)
        why = f"checks will fail: {', '.join(wrong)}"
        yield from (Fault(it, (name,), why, in_file=True) for it in placed)


def _envelope(loaded: LoadedOrder) -> Iterator[Diagnostic]:
    """Find pieces of the suite that do not go into their envelope."""
    order = loaded.order
    sizes = suite_sizes(order)
    outer = outer_envelope(order, sizes)
    for name, packed in packing_of(order).items():
        told = order.pieces[name].goes is not None
        envelope = packed.other if packed.goes is Goes.WITH else outer
        if packed.fits is None or envelope is None:
            continue
        size = sizes[name]
        spare = clearance_pt(size, sizes[envelope])
        if spare >= CLEARANCE - 0.01:
            continue
        folded = "folded " if order.pieces[name].fold else ""
        place = loaded.source.place(("pieces", name, "goes" if told else "trim"))
        if spare < -BESIDE_PT and not told:
            yield note(
                "beside-envelope",
                f"{name}, {folded}{size}, does not go into {envelope}, {sizes[envelope]}: it is "
                "packed beside it",
                place=place,
                hint=f"if it is a band, say so: pieces.{name}.goes: round",
            )
            continue
        fault = (
            f"does not go into {envelope}, {sizes[envelope]}"
            if spare < 0
            else f"is only {_like(size, spare)} smaller than {envelope}, {sizes[envelope]}"
        )
        yield warning(
            "tight-envelope",
            f"{name}, {folded}{size}, {fault}",
            place=place,
            hint=f"an insert is about {_like(size, CLEARANCE)} smaller than its envelope both "
            "ways (common practice); take the next envelope, or a smaller trim",
        )


def _like(size: Size, length_pt: float) -> str:
    """Return a length in the unit that a size is shown in."""
    return f"{mm(length_pt):.1f} mm" if size.is_metric else f"{inch(length_pt):.2f} in"
