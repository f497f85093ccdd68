"""A sheet that a person asks for by hand, whole: planned, kept on the shelf, drawn, its files.

A command and the page ask for one in the same way; what neither an order nor the person says is as
usual.
"""

import datetime
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from inkaccord.colour.builds import Drive
from inkaccord.colour.lab import Lab
from inkaccord.colour.pairs import Pair
from inkaccord.colour.sampling.ranges import ColourRange
from inkaccord.diagnostics import Diagnostic
from inkaccord.errors import OrderError
from inkaccord.knowledge.pairs import PairKnowledge
from inkaccord.knowledge.swatch_set import swatch_set_of
from inkaccord.layout.punching import Holes
from inkaccord.order.job import Printing
from inkaccord.order.keeping import Keep, Samples
from inkaccord.order.model import Order
from inkaccord.planning.by_hand import (
    plan_controls,
    plan_mask,
    plan_swatch_set,
    range_near,
    stranger_findings,
)
from inkaccord.planning.sample_pages import small_pages, told_sheets
from inkaccord.recording.asked import AskedShelf, learned
from inkaccord.recording.intake import device_of
from inkaccord.sheets.drawing.drawn import DrawnSheet
from inkaccord.sheets.drawing.mask import Mask
from inkaccord.sheets.keeping import Keeping, RingCards, kept_page
from inkaccord.sheets.model import Purpose, SampleSheet
from inkaccord.sheets.planning.swatch_set import SwatchSet
from inkaccord.sheets.saving import block_files, set_files
from inkaccord.sheets.settings import SheetFormat, paper_findings
from inkaccord.shelf.register import remember
from inkaccord.sizes import Size
from inkaccord.words import counted

Draws = Callable[[SampleSheet, Sequence[str]], bytes]
"""Draws a sheet with notes at its foot, as the PDF that is printed."""


@dataclass(frozen=True)
class PageAsked:
    """What a person says of the page; None where nothing is said."""

    size: Size | None = None
    margin: float | None = None
    bleed: float | None = None

    def sheets(self, order: Order | None, pair: Pair) -> tuple[SheetFormat, ...]:
        """Return the sheets that the pair's device takes."""
        return told_sheets(
            _printing(order, pair), size=self.size, margin_pt=self.margin, bleed_pt=self.bleed
        )

    def pages(self, order: Order | None, pair: Pair) -> tuple[SheetFormat, ...]:
        """Return the pages that a small sheet may have, the smallest first."""
        return small_pages(_printing(order, pair), self.sheets(order, pair))

    def page(self, order: Order | None, pair: Pair) -> SheetFormat:
        """Return the page of a large sheet: as large as is handy, or as it was asked for."""
        return (self.sheets if self.size else self.pages)(order, pair)[-1]


@dataclass(frozen=True)
class KeepingAsked:
    """How a person wants to keep a sheet."""

    keep: str | None = None
    holes: str | None = None
    card: Size | None = None

    def on(self, page: SheetFormat, order: Order | None) -> Keeping:
        """Return how the sheet is kept, printed on a page: as asked, else as the order says."""
        told = order.samples if order is not None else Samples()
        keep = Keep(self.keep) if self.keep else told.keep
        if keep is Keep.BINDER:
            return Holes(self.holes) if self.holes else told.holes
        if keep is Keep.LOOSE:
            return None
        return RingCards(size=self.card) if self.card else RingCards.four_on(page.size)


@dataclass(frozen=True)
class SheetAsked:
    """For which pair a sheet is asked, on what, and for which instrument."""

    pair: Pair
    day: datetime.date
    page: PageAsked = PageAsked()
    keeping: KeepingAsked = KeepingAsked()
    aperture: float | None = None
    drive: str | None = None


@dataclass(frozen=True)
class SetAsked:
    """Which swatches a set has; as :func:`~inkaccord.planning.by_hand.plan_swatch_set` takes them.

    ``add_to`` names the sheet of a set that it adds to, and ``whole`` asks for one file of both.
    """

    count: int | None = None
    apart: float | None = None
    hues: ColourRange | None = None
    near: str | None = None
    reach: float = 12.0
    name: str | None = None
    add_to: str | None = None
    whole: bool = False
    ink_limit: float | None = None
    paper: Lab | None = None


@dataclass(frozen=True)
class MadeByHand:
    """A sheet that was made and is on the shelf, its files by their names, and what to say."""

    sheet: SampleSheet
    new: bool
    files: Mapping[str, bytes]
    words: tuple[str, ...]
    findings: tuple[Diagnostic, ...]
    known: PairKnowledge
    planned: SwatchSet | None = None
    """Of a swatch set: how it is spaced."""
    base: tuple[SampleSheet, ...] = ()
    """The set that it adds to."""


def make_controls(source: AskedShelf, draw: Draws, asked: SheetAsked) -> MadeByHand:
    """Make a sheet of a pair's controls alone, and keep it.

    Raises OrderError as :func:`~inkaccord.planning.by_hand.plan_controls` and
    :func:`~inkaccord.recording.asked.learned`. Then nothing has been kept.
    """
    shelf, order, pair = source.shelf, source.order, asked.pair
    whole = asked.page.page(order, pair)
    kept = asked.keeping.on(whole, order)
    pages = (kept_page(whole, kept),) if kept else asked.page.pages(order, pair)
    known = learned(shelf, pair, order, drive=_drive(asked))
    strange = stranger_findings(known, shelf.pairs(), order)
    sheet = plan_controls(
        known,
        pages,
        asked.day,
        aperture_pt=_aperture(asked, order),
        white_under=_white_under(order, pair),
    )
    drawn = DrawnSheet(sheet, draw(sheet, ()))
    sheets = asked.page.sheets(order, pair)
    words = [f"Sheet {sheet.id} of the controls for {sheet.pair}."]
    if known.now is None:
        words.append(
            "Nothing is read of this pair yet, so there is nothing to compare it with so far."
        )
    return MadeByHand(
        sheet=sheet,
        new=_keep(source, sheet),
        files=set_files([drawn], whole, kept) if kept else block_files(drawn, sheets),
        words=tuple(words),
        findings=(*strange, *paper_findings(pair.stock, known.paper_lightness)),
        known=known,
    )


def make_swatches(
    source: AskedShelf, draw: Draws, asked: SheetAsked, which: SetAsked
) -> MadeByHand:
    """Make a swatch set for a pair, or an addition to one, and keep it.

    Raises OrderError ``two-ranges``, and as
    :func:`~inkaccord.planning.by_hand.plan_swatch_set`. Then nothing has been kept.
    """
    if which.hues and which.near:
        raise OrderError.of(
            "two-ranges",
            "hues and a colour that they are near both say which colours",
            hint="give one of them",
        )
    shelf, order, pair = source.shelf, source.order, asked.pair
    page = asked.page.page(order, pair)
    kept = asked.keeping.on(page, order)
    known = learned(
        shelf, pair, order, drive=_drive(asked), ink_limit=which.ink_limit, paper=which.paper
    )
    strange = stranger_findings(known, shelf.pairs(), order)
    base = _whole_set(source, which.add_to) if which.add_to else ()
    made = plan_swatch_set(
        known,
        kept_page(page, kept),
        asked.day,
        base=base,
        name=which.name,
        count=which.count,
        apart=which.apart,
        only=range_near(known, which.near, which.reach, source) if which.near else which.hues,
        paper=which.paper,
        aperture_pt=_aperture(asked, order),
        white_under=_white_under(order, pair),
    )
    sheet = made.sheet
    # What the foot says of one part's spacing doesn't hold for the whole.
    parts, notes = ((*base, sheet), ()) if which.whole and base else ((sheet,), (made.note,))
    drawn = [DrawnSheet(part, draw(part, notes)) for part in parts]
    swatches = sum(not swatch.control for swatch in sheet.swatches)
    what = f"Addition {sheet.id} to {base[0].id}" if base else f"Swatch set {sheet.id}"
    words = [
        f"{what} for {sheet.pair}: {counted(swatches, 'swatch')} on "
        f"{counted(sheet.pages, 'page')}. {made.note}"
    ]
    if not known.is_read:
        words.append(
            "Nothing is read of this pair yet: spaced by what is usual on paper of CIELAB "
            f"{known.paper[0]:g} {known.paper[1]:g} {known.paper[2]:g}."
        )
    return MadeByHand(
        sheet=sheet,
        new=_keep(source, sheet),
        files=set_files(drawn, page, kept, notes=notes),
        words=tuple(words),
        findings=(*strange, *paper_findings(pair.stock, known.model.paper_lab[0])),
        known=known,
        planned=made,
        base=base,
    )


def make_mask(
    source: AskedShelf, sheet: SampleSheet, page: PageAsked
) -> tuple[Mask, PairKnowledge]:
    """Return a mask for a sheet, and what is known of the pair whose grey it has.

    Raises OrderError as :func:`~inkaccord.planning.by_hand.plan_mask`.
    """
    known = learned(source.shelf, sheet.pair, source.order)
    return plan_mask(known, sheet, page.page(source.order, sheet.pair)), known


def draw_again(
    source: AskedShelf, draw: Draws, sheet_id: str
) -> tuple[SampleSheet, dict[str, bytes]]:
    """Return a sheet of the shelf, and its files once more, with nothing noted at its foot.

    The last of the PDFs is the one to print: that of a small sheet is laid on what its device
    takes. Raises OrderError for an unknown sheet, and for one that was not drawn here.
    """
    sheet = source.shelf.sheet(sheet_id)
    if sheet.purpose is Purpose.IMPORTED:
        raise OrderError.of(
            "not-drawn-here",
            f"sheet {sheet.id} is a target of others: it was not drawn here",
            hint="print it again from the file that it came with",
        )
    drawn = DrawnSheet(sheet, draw(sheet, ()))
    return sheet, block_files(drawn, PageAsked().sheets(source.order, sheet.pair))


def _keep(source: AskedShelf, sheet: SampleSheet) -> bool:
    """Put a sheet that was made on the shelf, which is then found by it. Return False if it was.

    One that was taken back, and of which nothing is known, is asked for again.
    """
    shelf = source.shelf
    new = shelf.add_sheet(sheet)
    remember(shelf.place)
    kept = shelf.kept_sheet(sheet.id)
    if kept.retired_at is None:
        return new
    known = shelf.readings_of_sheet(sheet.id, retired=True) or shelf.picks_of_sheet(sheet.id)
    return shelf.use_again(sheet.id) if not known else False


def _printing(order: Order | None, pair: Pair) -> Printing | None:
    """Return how an order prints on a pair; None where it says nothing of it."""
    if order is None or device_of(pair, order) is None or pair.stock not in order.stocks:
        return None
    return order.on(order.pair(pair))


def _drive(asked: SheetAsked) -> Drive | None:
    return Drive(asked.drive) if asked.drive else None


def _aperture(asked: SheetAsked, order: Order | None) -> float | None:
    """Return the aperture that was asked for, or else the order's."""
    return order.aperture if asked.aperture is None and order is not None else asked.aperture


def _white_under(order: Order | None, pair: Pair) -> str:
    """Return the plate of white under all ink on a pair's stock, where an order names one."""
    return "" if order is None else order.white_under(pair.stock)


def _whole_set(source: AskedShelf, sheet_id: str) -> tuple[SampleSheet, ...]:
    """Return the set that a sheet belongs to, with its additions."""
    asked = source.sheet(sheet_id)
    return swatch_set_of(asked, [kept.sheet for kept in source.shelf.sheets(asked.pair)])
