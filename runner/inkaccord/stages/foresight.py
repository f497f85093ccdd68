"""What ``check`` finds before anything is printed or read: no evidence is asked for here."""

from collections.abc import Iterator
from pathlib import Path

from inkaccord.artwork.content.walk import walk
from inkaccord.artwork.objects.opening import open_artwork
from inkaccord.artwork.paints import Paint
from inkaccord.diagnostics import Diagnostic, Severity, error, note, warning
from inkaccord.errors import InkaccordError, OrderError
from inkaccord.layout.packing import misfit
from inkaccord.order.enclosing import (
    CLEARANCE,
    clearance_pt,
    outer_envelope,
    suite_sizes,
)
from inkaccord.order.loading import LoadedOrder
from inkaccord.order.mistakes import nearest
from inkaccord.order.source import Path_
from inkaccord.order.stocks import StockKind
from inkaccord.order.vendors import Delivers
from inkaccord.sizes import Size, named_sizes
from inkaccord.stages.checking import TRIM_TOLERANCE_PT, check_order
from inkaccord.stages.laying import item_of, layout_rules, sheets_of
from inkaccord.units import inch, inches, mm, write_length

BESIDE_PT = inches(1 / 2)
"""A piece that is larger than its envelope by more than this is meant to lie beside it."""


def check_whole(loaded: LoadedOrder) -> tuple[Diagnostic, ...]:
    """Check an order as far as it can be without readings, every mistake in one go.

    Raises
    ------
    InkaccordError
        With everything that was found, when any of it is an error.
    """
    trouble: type[InkaccordError] = OrderError
    found: list[Diagnostic] = []
    try:
        found += check_order(loaded)
    except InkaccordError as problem:
        trouble = type(problem)
        found += problem.findings
    for look in (_files, _sheets, _fed_stocks, _spots, _envelope):
        found += look(loaded)
    if any(it.severity is Severity.ERROR for it in found):
        raise trouble(found)
    return tuple(found)


def _files(loaded: LoadedOrder) -> Iterator[Diagnostic]:
    """Name the files beside the order that are not there; artwork has its own check."""
    order = loaded.order
    named: list[tuple[str | None, Path_]] = [(order.evidence, ("evidence",))]
    named += [
        (vendor.pdf.output_profile, ("vendors", name, "pdf", "output_profile"))
        for name, vendor in order.vendors.items()
    ]
    for path, field in named:
        if path is not None and not (loaded.folder / path).exists():
            yield error(
                "missing-file",
                f"there is no '{path}' beside the order",
                place=loaded.source.place(field),
                hint="paths start from the order's folder",
            )


def _sheets(loaded: LoadedOrder) -> Iterator[Diagnostic]:
    """Find pieces that fit none of the sheets that their device takes."""
    order = loaded.order
    for name, piece in order.pieces.items():
        vendor = order.vendors[order.vendor_of(piece.device)]
        stock, device = order.stocks[piece.stock], vendor.devices[piece.device]
        if vendor.delivers is not Delivers.SHEETS or stock.kind is not StockKind.SHEET:
            continue
        place = loaded.source.place(("pieces", name, "trim"))
        sides = piece.sides or _pages(loaded.folder / piece.artwork)
        try:
            finding = misfit(
                item_of(order, name, sides),
                sheets_of(device, stock),
                layout_rules(vendor, device, sides, tight=True),
            )
        except OrderError as problem:
            yield from (it.model_copy(update={"place": place}) for it in problem.findings)
            continue
        if finding is not None:
            yield finding.model_copy(update={"place": place})


def _pages(path: Path) -> int:
    """Return a file's pages, 1 or 2; 1 where it can't be read, which is said elsewhere."""
    try:
        with open_artwork(path) as pdf:
            return min(2, max(1, len(pdf.pages)))
    except InkaccordError:
        return 1


def _fed_stocks(loaded: LoadedOrder) -> Iterator[Diagnostic]:
    """Find envelopes and cards of another size than the piece that is printed on them."""
    for name, piece in loaded.order.pieces.items():
        stock = loaded.order.stocks[piece.stock]
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


def _spots(loaded: LoadedOrder) -> Iterator[Diagnostic]:
    """Find spots that the artwork spells otherwise than the order."""
    order = loaded.order
    held: dict[str, str] = {}
    for path in dict.fromkeys(piece.artwork for piece in order.pieces.values()):
        held.update(dict.fromkeys(sorted(_spot_names(loaded.folder / path) - held.keys()), path))
    lists: list[tuple[Path_, tuple[Paint, ...]]] = [(("keep",), order.keep)]
    lists += [
        (("colours", name, "in_artwork"), it.in_artwork) for name, it in order.colours.items()
    ]
    named: dict[Path_, str] = {
        (*field, number): paint.name
        for field, paints in lists
        for number, paint in enumerate(paints)
        if paint.name is not None
    }
    strangers = held.keys() - set(named.values())
    for field, spot in named.items():
        near = [] if spot in held else nearest(spot, strangers)
        if near:
            yield warning(
                "spot-spelt-otherwise",
                f"no artwork holds 'spot {spot}'",
                place=loaded.source.place(field),
                hint=f"did you mean 'spot {near[0]}', as {held[near[0]]} spells it?",
            )


def _spot_names(path: Path) -> set[str]:
    try:
        with open_artwork(path) as pdf:
            paints = {use.colour.paint for use in walk(pdf) if use.colour.paint is not None}
    except InkaccordError:
        return set()
    return {paint.name for paint in paints if paint.name is not None}


def _envelope(loaded: LoadedOrder) -> Iterator[Diagnostic]:
    """Find pieces of the suite that do not go into its envelope."""
    order = loaded.order
    sizes = suite_sizes(order)
    outer = outer_envelope(order, sizes)
    if outer is None:
        return
    for name, size in sizes.items():
        spare = clearance_pt(size, sizes[outer])
        if name == outer or spare >= CLEARANCE - 0.01:
            continue
        folded = "folded " if order.pieces[name].fold else ""
        place = loaded.source.place(("pieces", name, "trim"))
        if spare < -BESIDE_PT:
            yield note(
                "beside-envelope",
                f"{name}, {folded}{size}, does not go into {outer}, {sizes[outer]}: it is packed "
                "beside it",
                place=place,
            )
            continue
        fault = (
            f"does not go into {outer}, {sizes[outer]}"
            if spare < 0
            else f"is only {_like(size, spare)} smaller than {outer}, {sizes[outer]}"
        )
        yield warning(
            "tight-envelope",
            f"{name}, {folded}{size}, {fault}",
            place=place,
            hint=f"an insert is about {write_length(CLEARANCE)} smaller than its envelope both "
            "ways (common practice); take the next envelope, or a smaller trim",
        )


def _like(size: Size, length_pt: float) -> str:
    """Return a length in the unit that a size is shown in."""
    return f"{inch(length_pt):.2f} in" if str(size).endswith("in") else f"{mm(length_pt):.1f} mm"
