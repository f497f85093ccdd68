"""What stands on an order's page to be acted on: a card for each step, and one for each parcel."""

from collections.abc import Mapping
from dataclasses import dataclass

from inkaccord.errors import InkaccordError
from inkaccord.order.approving import ApprovalNow, approval_now, code_of, shown_of
from inkaccord.order.diary import read_diary
from inkaccord.order.sending import SentNow
from inkaccord.report.screen import ScreenColour
from inkaccord.report.vendor_message import parcels, vendor_message
from inkaccord.report.view_colours import aim_on_screen
from inkaccord.report.view_trades import TradeView, trade_view
from inkaccord.report.wording import vendor_title
from inkaccord.run.plan import NextStep, StepKind
from inkaccord.run.record import PieceStatus, RecordedFile, RecordedSheet
from inkaccord.run.sampling import Sampling
from inkaccord.run.sending import print_files_of
from inkaccord.shelf.overview import SheetSummary
from inkaccord.shelf.store import Shelf
from inkaccord.web.studio import OrderOnPage


@dataclass(frozen=True)
class StepCard:
    """A step, with the sheet that it is about and what each of its choices would print."""

    number: int
    """In the record, from 0 on; -1 for one that it can't hold: what was sent is told of later."""
    step: NextStep
    sheet: RecordedSheet | None
    line: SheetSummary | None
    """What the shelf says of the sheet; None where it does not hold it."""
    vendor: str
    trades: TradeView | None
    aim: ScreenColour | None
    """What the colour of the trades should look like."""
    has_files: bool = False
    """Whether there are files now for the vendor that it is about."""

    @property
    def to_be_told(self) -> str | None:
        """The vendor that has files of which none is made any more: it is told, and sent none."""
        called = self.step.kind is StepKind.SEND and not self.has_files
        return self.step.vendor if called else None

    @property
    def looks_at(self) -> str | None:
        """The sheet to look at by eye: one made for it, or one that was read and asks no more."""
        return self.step.sheet if self.step.look or self.sheet is None else None


@dataclass(frozen=True)
class ParcelCard:
    """What may be sent to a vendor."""

    title: str
    holds: tuple[str, ...]
    """The pieces, or the sample sheets."""
    sampling: Sampling | None
    steps: tuple[str, ...]
    """What can be said next of its sample sheets: that they are 'sent', 'printed' or 'back'."""
    package: RecordedFile
    order_sheet: str
    folder: str
    message: str
    vendor: str
    sent: SentNow | None
    """What this vendor was sent last of the job's own files."""


def step_cards(order: OrderOnPage) -> list[StepCard]:
    """Return a card for each step that the last run asks for."""
    run, now = order.run, order.run_now
    if run is None or now is None:
        return []
    numbered = [(-1, it) for it in now.next if it.kind is StepKind.SEND]
    numbered += [(at, it) for at, it in enumerate(run.next) if it.kind is not StepKind.SEND]
    sheets = {it.id: it for it in run.samples}
    lines = _lines_of(order, list(sheets))
    return [
        StepCard(
            number,
            step,
            sheet := sheets.get(step.sheet or ""),
            lines.get(step.sheet or ""),
            _vendor_of(order, sheet),
            trades := _trades(order, step),
            None if trades is None else aim_on_screen(order.loaded.order, run, step.colours[0]),
            step.vendor is not None and bool(print_files_of(run.files, step.vendor)),
        )
        for number, step in numbered
    ]


def parcel_cards(order: OrderOnPage) -> list[ParcelCard]:
    """Return what may be sent; nothing where the order was changed since its run."""
    run = order.run
    if run is None or order.is_stale or run.order_sha256 != order.loaded.sha256:
        return []
    ready = [it for it in run.pieces if it.status is PieceStatus.READY]
    sent = () if order.run_now is None else order.run_now.sent
    lines = _lines_of(order, [sheet for it in run.sampling for sheet in it.sheets])
    printed = {it.id for it in lines.values() if it.printed_at}
    return [
        ParcelCard(
            title=vendor_title(order.loaded.order, parcel.vendor),
            holds=tuple(piece.name for piece in ready if piece.vendor == parcel.vendor)
            if parcel.sampling is None
            else parcel.sampling.sheets,
            sampling=parcel.sampling,
            steps=() if parcel.sampling is None else _steps(parcel.sampling, lines),
            package=parcel.package,
            order_sheet=f"{parcel.package.path.rpartition('/')[0]}/order-sheet.pdf",
            folder=str(order.out / parcel.package.path.rpartition("/")[0]),
            message=vendor_message(order.loaded.order, run, parcel),
            vendor=parcel.vendor,
            sent=next((it for it in sent if it.vendor == parcel.vendor), None),
        )
        for parcel in parcels(run, printed)
    ]


@dataclass(frozen=True)
class ClientCard:
    """What the client is shown, and what was approved of it.

    Attributes
    ----------
    code
        What the page that lies there is called.
    approval
        The last one, held against the order as it stands.
    """

    code: str
    approval: ApprovalNow | None


def client_card(order: OrderOnPage) -> ClientCard | None:
    """Return what may be approved; None where there is no client's page, or nothing to hold it to.

    An approval that was taken down since the last run stands there too.
    """
    run = order.run
    if run is None or not run.shown or not any(it.path == "client.pdf" for it in run.files):
        return None
    try:
        shown = shown_of(order.with_book())
        return ClientCard(code_of(run.shown), approval_now(read_diary(order.path).approval, shown))
    except InkaccordError:
        return None


def _lines_of(order: OrderOnPage, sheets: list[str]) -> dict[str, SheetSummary]:
    """Return what the shelf says of some sheets; nothing where it can't be opened."""
    if not sheets:
        return {}
    try:
        with Shelf.open(order.shelf) as shelf, shelf.one_state():
            return {name: shelf.summary(name) for name in sheets}
    except InkaccordError:
        return {}


def _steps(sampling: Sampling, lines: Mapping[str, SheetSummary]) -> tuple[str, ...]:
    steps = (step for it in sampling.sheets if it in lines for step in lines[it].next_on_paper)
    return tuple(dict.fromkeys(steps))


def _vendor_of(order: OrderOnPage, sheet: RecordedSheet | None) -> str:
    """Return who prints a sheet; nothing where the order does not say any more."""
    if sheet is None:
        return ""
    asked = order.loaded.order
    for name, vendor in asked.vendors.items():
        if sheet.device in vendor.devices:
            return vendor_title(asked, name)
    return ""


def _trades(order: OrderOnPage, step: NextStep) -> TradeView | None:
    run = order.run
    if run is None or not step.choices or run.order_sha256 != order.loaded.sha256:
        return None
    colour = next(iter(step.colours), "")
    return trade_view(colour, [it for it in run.trades if it.colour == colour], order.loaded.order)
