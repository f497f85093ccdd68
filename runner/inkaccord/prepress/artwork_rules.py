"""What a vendor asks of a piece, in the terms of the checks."""

from inkaccord.artwork.preflight.rules import ArtworkRules, FinishRule
from inkaccord.artwork.profiled import Profiled
from inkaccord.artwork.taking_up import OrderSays
from inkaccord.colour.builds import Drive
from inkaccord.order.finishes import FinishKind, OverprintRule
from inkaccord.order.job import Job
from inkaccord.order.model import Order, Photographs
from inkaccord.order.pieces import BleedRepair
from inkaccord.order.vendors import Spots
from inkaccord.pdf.colours.colours import ColourKind

_CMYK_KINDS = (
    ColourKind.CMYK,
    ColourKind.GRAY,
    ColourKind.SPOT,
    ColourKind.IMAGE,
    ColourKind.GRADIENT,
    ColourKind.PATTERN,
)
_RGB_KINDS = (
    ColourKind.RGB,
    ColourKind.GRAY,
    ColourKind.IMAGE,
    ColourKind.GRADIENT,
    ColourKind.PATTERN,
)


def rules_for(order: Order, job: Job) -> ArtworkRules:
    """Return what a vendor asks of a piece, in the terms of the checks."""
    piece, vendor, device = job.piece, job.vendor, job.device
    asked = vendor.artwork
    # Where the driver mixes the inks, no one outside it knows how many a colour takes.
    mixes = device.drive is Drive.CMYK
    mended = piece.bleed_repair is not BleedRepair.REPORT
    keeps_spots = vendor.spots is Spots.KEEP
    return ArtworkRules(
        trim=piece.trim,
        page_counts=_page_counts(job),
        bleed_pt=0.0 if mended else job.bleed_pt,
        safe_pt=max(vendor.safe_area, device.margin) if job.fed_singly else vendor.safe_area,
        max_total_ink=device.ink_limit if mixes else None,
        tell_ink=mixes,
        image_dpi=asked.image_dpi or None,
        fonts=vendor.pdf.fonts,
        colour_kinds=_kinds_for(device.drive, plates=keeps_spots or bool(vendor.finishes)),
        order=order_says(order, job),
        multi_ink_type_pt=(asked.multi_ink_type or None) if mixes else None,
        reversed_type_pt=(asked.reversed_type or None) if mixes else None,
        rich_black_type_pt=14.0 if mixes else None,
        reversed_line_pt=(asked.reversed_line or None) if mixes else None,
        line_pt=asked.line or None,
        multi_ink_line_pt=(asked.multi_ink_line or None) if mixes else None,
        transparency=vendor.pdf.transparency,
        layers=vendor.pdf.layers,
        spots="keep" if keeps_spots else "process",
        finishes=finish_rules(order, job),
        levels=tuple(sorted(vendor.levels.items())),
    )


def finish_rules(order: Order, job: Job) -> tuple[FinishRule, ...]:
    """Return how a vendor wants the plates of finishes: as the order sets them, if it does."""
    vendor = job.vendor
    how = {
        OverprintRule.OVERPRINT: True,
        OverprintRule.KNOCK_OUT: False,
        OverprintRule.AS_DRAWN: None,
    }
    return tuple(
        FinishRule(
            plate=plate,
            what=f"{finish.finish.words} '{name}'",
            prints=finish.finish.prints,
            cuts=finish.finish is FinishKind.DIE_LINE,
            overprint=how[
                finish.overprint or vendor.finishes.get(finish.finish, OverprintRule.AS_DRAWN)
            ],
            under_all=name == job.stock.under,
            as_drawn=finish.overprint is None,
        )
        for name, finish in order.finishes.items()
        for plate in finish.plates
    )


def _kinds_for(drive: Drive, *, plates: bool) -> tuple[ColourKind, ...]:
    """Return the kinds of colour that a device takes: mixtures of inks where it has plates."""
    if drive is not Drive.CMYK:
        return _RGB_KINDS
    return (*_CMYK_KINDS, ColourKind.DEVICEN) if plates else _CMYK_KINDS


def _page_counts(job: Job) -> tuple[int, ...]:
    """Return how many pages the artwork of a piece may have; none where it is made here."""
    piece = job.piece
    if piece.merge is not None:
        return ()
    if piece.records is not None:
        return (job.quantity * piece.sides_of(1),)
    return (1, 2) if piece.sides is None else (piece.sides,)


def order_says(order: Order, job: Job) -> OrderSays:
    """Return what an order says of a piece's colours of other kinds than its device's."""
    translates = order.photographs is Photographs.MATCHED
    right = order.photographs_from or next(
        (pair for pair in order.pairs() if order.device(pair.device).drive is Drive.CMYK), None
    )
    return OrderSays(
        translates=translates,
        translates_cmyk=translates and order.photographs_from is not None,
        plain=order.profiled_of(job.name) is Profiled.PLAIN,
        brands=tuple((name, colour.in_artwork) for name, colour in order.colours.items()),
        cmyk_right_on=None if right is None else f"{right.device}@{right.stock}",
    )
