"""What can be foreseen of an order before anything is printed or read."""

from collections.abc import Iterable, Iterator, Sequence, Set

from inkaccord.artwork.preflight.pages import REST_ON_SIZE
from inkaccord.diagnostics import Diagnostic, Severity
from inkaccord.errors import FileError, InkaccordError, OrderError, PieceError
from inkaccord.foresight.checking import (
    MISFIT,
    Fault,
    ask_the_post,
    at_artwork,
    check_artwork,
    check_files,
    check_records,
    check_samples,
)
from inkaccord.foresight.fits import (
    check_envelope,
    check_fed_stocks,
    check_sheets,
    check_stock_sheets,
)
from inkaccord.foresight.taking_stock import take_stock
from inkaccord.models import Frozen
from inkaccord.order.loading import LoadedOrder
from inkaccord.order.model import Order
from inkaccord.prepress.foretelling import foretell
from inkaccord.recall.recall import NotYet
from inkaccord.run.bench import Bench
from inkaccord.run.collected import Collected
from inkaccord.run.waivers import waived


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
    faults += check_files(loaded, bench)
    faults += check_sheets(loaded, pages)
    faults += map(Fault, check_stock_sheets(loaded))
    faults += [
        Fault(ask_the_post(loaded, name))
        for name, piece in loaded.order.pieces.items()
        if piece.addressed
    ]
    faults += map(Fault, (*check_fed_stocks(loaded), *check_envelope(loaded)))
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
