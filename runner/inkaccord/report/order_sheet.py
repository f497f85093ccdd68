"""The order sheet: what a vendor has to know to print its part, on one page or two."""

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from inkaccord.hooks import hookimpl
from inkaccord.layout.cutplan import BLADES
from inkaccord.order.model import Order
from inkaccord.order.pricing import Priced, price_of
from inkaccord.order.vendors import Delivers, Vendor
from inkaccord.order.workdays import files_needed_by
from inkaccord.report import wording
from inkaccord.report.gallery import translations_on
from inkaccord.report.paper import (
    escape,
    gap,
    grid,
    marked,
    paper_of,
    picture,
    rule,
    text,
    together,
    typeset,
)
from inkaccord.report.paper_chart import drawn
from inkaccord.report.sheet_picture import sheet_chart
from inkaccord.run.bench import Bench
from inkaccord.run.files import OutFile
from inkaccord.run.gallery import Gallery
from inkaccord.run.record import PieceStatus, RecordedFile, RecordedPiece, Run
from inkaccord.run.verdicts import Sign, at_a_glance
from inkaccord.words import counted, joined, thousands

if TYPE_CHECKING:
    from reportlab.platypus import Flowable

PICTURE_PT = (118.0, 132.0)
PICTURE_PX = 480
SET = "These builds are set for this device and stock; print without conversion."
BESIDE = 14
"""Cuts that stand beside the picture of their sheet; the others follow below."""
MAKERS = (
    "Drying, scoring, folding, glue and inks: follow the makers' instructions for this device, "
    "stock and finish, and the local rules for safe work and for the post."
)

Glance = Mapping[tuple[str, str], Sign]
"""What is to be said of each colour on each piece."""


def order_sheets(
    order: Order,
    run: Run,
    gallery: Gallery,
    notes: Mapping[str, Sequence[str]] | None = None,
) -> list[OutFile]:
    """Return an order sheet for every vendor that has something to print.

    A vendor all of whose pieces still wait gets none, so that nothing can be sent too early.

    Parameters
    ----------
    notes
        More lines for a vendor's sheet, by vendor.
    """
    sheets = []
    glance = at_a_glance(run)
    for name in order.vendors:
        ready = _pieces(run, name, ready=True)
        if ready:
            more = (notes or {}).get(name, ())
            data = _order_sheet(order, run, gallery, glance, name, more)
            sheets.append(OutFile(f"{name}/order-sheet.pdf", data, "order-sheet", vendor=name))
    return sheets


def _pieces(run: Run, vendor: str, *, ready: bool) -> list[RecordedPiece]:
    return [
        piece
        for piece in run.pieces
        if piece.vendor == vendor and (piece.status is PieceStatus.READY) is ready
    ]


def _order_sheet(
    order: Order,
    run: Run,
    gallery: Gallery,
    glance: Glance,
    name: str,
    notes: Sequence[str],
) -> bytes:
    title = wording.vendor_title(order, name)

    def story(width_pt: float) -> "list[Flowable]":
        parts: list[Flowable] = [*_head(order, run, name, width_pt)]
        for piece in _pieces(run, name, ready=True):
            parts += [_piece(order, run, gallery, glance, piece, width_pt), gap(6)]
        parts += _later(run, name)
        parts += _sheets(run, name, width_pt)
        parts += _price(order, run, name, width_pt)
        parts += _notes(order.vendors[name], notes)
        return parts

    return typeset(
        story,
        size=paper_of(order),
        title=f"Order sheet for {title}: {run.title or run.order}",
        running=f"{run.title or run.order} · order {run.order} · {wording.day(run.date)} · {title}",
    )


def _head(order: Order, run: Run, name: str, width_pt: float) -> "Iterator[Flowable]":
    vendor = order.vendors[name]
    yield text("Order sheet", "label")
    yield text(wording.vendor_title(order, name), "title")
    yield gap(2)
    yield text(f"{run.title or run.order}: order {run.order} of {wording.day(run.date)}")
    yield rule(1.0, before=8, after=8)
    facts = [("Pieces on this sheet", str(len(_pieces(run, name, ready=True))))]
    if run.due is not None:
        needed = files_needed_by(run.due, vendor.lead_days)
        facts = [
            ("Files needed by", wording.day(needed)),
            ("Goods due", wording.day(run.due)),
            *facts,
        ]
    column = width_pt / 3
    yield grid(
        [[[text(label, "label"), text(value, "fact")] for label, value in facts]],
        [column] * len(facts),
        lines=False,
        pad_pt=0,
    )
    if run.due is not None:
        days = counted(vendor.lead_days, "working day")
        yield text(
            f"{days} before the due date, Monday to Friday; public holidays are not counted."
            if vendor.lead_days
            else "No lead time is stated, so the files are needed by the due date itself.",
            "quiet",
        )
    yield gap(10)


def _piece(
    order: Order,
    run: Run,
    gallery: Gallery,
    glance: Glance,
    piece: RecordedPiece,
    width_pt: float,
) -> "Flowable":
    shown = gallery.best(piece.name, PICTURE_PX)
    pictures: list[Flowable] = []
    for page in shown.pages[:2]:
        pictures += [picture(page.png, page.width_px, page.height_px, PICTURE_PT), gap(5)]
    left = PICTURE_PT[0] + 9
    right = width_pt - left - 5  # the table's own padding
    body: list[Flowable] = [
        text(piece.name, "heading"),
        grid(
            [[text(label, "tag"), value] for label, value in _facts(order, run, piece)],
            [66, right - 66],
            lines=False,
            pad_pt=0.5,
        ),
        gap(5),
        *_colours(order, run, piece, right),
    ]
    by_eye = [it for it in piece.colours if glance[it, piece.name] is Sign.BY_EYE]
    if by_eye:
        body.append(text(f"Judged by eye, not measured: {joined(by_eye)}.", "small"))
    doubtful = {Sign.UNCERTAIN, Sign.OUTSIDE}
    unsure = [it for it in piece.colours if glance[it, piece.name] in doubtful]
    if unsure:
        body.append(
            marked(
                "<b>Released as the order asks</b>, though not surely inside the tolerances: "
                f"{escape(joined(unsure))}.",
                "small",
            )
        )
    for code, reason in piece.waived.items():
        body.append(marked(f"<b>Accepted as it is:</b> {escape(code)}: {escape(reason)}.", "small"))
    return together(
        [
            rule(),
            grid([[pictures or text("no picture", "quiet"), body]],
                 [left, right + 5], pad_pt=8),
        ]
    )  # fmt: skip


def _facts(order: Order, run: Run, piece: RecordedPiece) -> "Iterator[tuple[str, Flowable]]":
    asked = order.pieces[piece.name]
    total = thousands(wording.printed(run, piece))
    made_of = wording.quantity_in_words(run, piece)
    if piece.records is not None:
        yield "Quantity", marked(f"<b>{total}</b>{made_of.removeprefix(total)}")
    else:
        yield "Quantity", marked(f"<b>{total}</b>{'' if made_of == total else f' = {made_of}'}")
    yield "Trim size", text(wording.trim_size(order, piece.name))
    yield "Stock", text(wording.stock_title(order, piece.stock))
    setting = f", setting {piece.setting}" if piece.setting else ""
    yield "Device", text(piece.device + setting)
    yield "Printed", text(wording.sides(piece.sides))
    if asked.fold is not None:
        yield "Folding", text(wording.folding(asked.fold, asked.trim))
    if asked.finishing:
        yield "Finishing", text(asked.finishing)
    for at, file in enumerate(_files_of(run, piece)):
        yield "Files" if at == 0 else "", text(_file(file))


def _files_of(run: Run, piece: RecordedPiece) -> list[RecordedFile]:
    own = [it for it in run.files if it.what == "print" and piece.name in it.pieces]
    paths = {it.path for it in run.sheets if piece.name in it.pieces and it.vendor == piece.vendor}
    return own + [it for it in run.files if it.path in paths and it not in own]


def _file(file: RecordedFile) -> str:
    name = file.path.rpartition("/")[2]
    return name if file.pages is None else f"{name}, {counted(file.pages, 'page')}"


def _colours(order: Order, run: Run, piece: RecordedPiece, width_pt: float) -> "Iterator[Flowable]":
    known = translations_on(run, order, piece.pair)
    rows = [
        [text(colour), text(str(known[colour].build)), text(known[colour].evidence)]
        for colour in piece.colours
        if colour in known
    ]
    if rows and not piece.inks_known:
        yield text(wording.inks_unknown([piece.name]), "small")
        return
    if not rows:
        yield text("No colour of this piece was changed.", "small")
        return
    head = [text("Colour", "label"), text("Build", "label"), text("Known from", "label")]
    yield grid(
        [head, *rows], [width_pt * 0.3, width_pt * 0.42, width_pt * 0.28], head=True, pad_pt=1
    )
    yield gap(3)
    yield marked(f"<b>{SET}</b>", "small")
    if any(not known[colour].reachable for colour in piece.colours if colour in known):
        lost = [
            f"{colour} ({known[colour].reach}: {known[colour].lost or 'nearest build'})"
            for colour in piece.colours
            if colour in known and not known[colour].reachable
        ]
        yield text(f"Printed as near as it goes: {', '.join(lost)}.", "small")


def _later(run: Run, name: str) -> "list[Flowable]":
    waiting = _pieces(run, name, ready=False)
    if not waiting:
        return []
    return [
        together(
            [
                rule(before=2, after=6),
                text("Still to come", "heading"),
                *(
                    text(f"{piece.name}, {thousands(piece.quantity + piece.overs)}: not released "
                         "yet; please don't print an earlier file.")
                    for piece in waiting
                ),
                gap(6),
            ]
        )
    ]  # fmt: skip


def _sheets(run: Run, name: str, width_pt: float) -> "list[Flowable]":
    laid = [it for it in run.sheets if it.vendor == name]
    if not laid:
        return []
    parts: list[Flowable] = []
    for at, sheet in enumerate(laid):
        up = joined([f"{number} × {piece}" for piece, number in sheet.pieces.items()])
        head = [rule(before=2, after=6), text("Sheets and cuts", "heading")] if at == 0 else []
        head.append(
            marked(
                f"<b>{escape(sheet.path.rpartition('/')[2])}</b>: {escape(up)} on a sheet of "
                f"{sheet.width_mm:g} × {sheet.height_mm:g} mm, {escape(sheet.stock)}; "
                f"print <b>{counted(sheet.run, 'sheet')}</b>."
            )
        )
        # The first cuts stay with what is cut, beside its picture.
        beside: list[Flowable] = [text(line) for line in sheet.cut_plan[:BESIDE]]
        if sheet.cuts:
            picture_of = drawn(sheet_chart(sheet, width_pt * 0.29, 14 * BESIDE, size=7))
            widths = [width_pt * 0.3, width_pt * 0.7]
            beside = [grid([[picture_of, beside]], widths, lines=False)]
        parts.append(together([*head, gap(2), *beside]))
        parts += [text(line) for line in sheet.cut_plan[BESIDE:]]
        parts.append(gap(5))
    if any(it.cut_plan for it in laid):
        parts += [text(BLADES, "small"), gap(6)]
    return parts


def _price(order: Order, run: Run, name: str, width_pt: float) -> "list[Flowable]":
    vendor = order.vendors[name]
    lines = list(_priced(run, name, vendor))
    if not lines:
        return []
    rows = [
        [
            text(line.what),
            text(thousands(line.number), "number"),
            text(f"{line.each:.4g}", "number"),
            text(f"{line.total:,.2f}", "number"),
        ]
        for line in lines
    ]
    head = [
        text("Price", "label"),
        text("number", "number-label"),
        text("each", "number-label"),
        text("together", "number-label"),
    ]
    total = sum(line.total for line in lines)
    rows.append(
        [text("Total", "strong"), text(""), text(""), marked(f"<b>{total:,.2f}</b>", "number")]
    )
    widths = [width_pt - 3 * 72, 72, 72, 72]
    outside = "; numbers past its last line are taken at that line's price"
    return [
        together(
            [
                rule(before=2, after=6),
                grid([head, *rows], widths, head=True, pad_pt=1.5),
                text(
                    "From the price table in the order"
                    f"{outside if any(it.past_table for it in lines) else ''}. Not an invoice.",
                    "quiet",
                ),
                gap(6),
            ]
        )
    ]


def _priced(run: Run, name: str, vendor: Vendor) -> Iterator[Priced]:
    if not vendor.prices:
        return
    if vendor.delivers is Delivers.PIECES:
        for piece in _pieces(run, name, ready=True):
            yield price_of(vendor.prices, piece.name, wording.printed(run, piece))
    else:
        for sheet in run.sheets:
            if sheet.vendor == name:
                yield price_of(vendor.prices, sheet.path.rpartition("/")[2], sheet.run)


def _notes(vendor: Vendor, more: Sequence[str]) -> "list[Flowable]":
    lines = [*(line for line in vendor.notes.splitlines() if line.strip()), *more]
    return [
        together(
            [
                rule(before=2, after=6),
                *([text("Notes", "heading")] if lines else []),
                *(text(line) for line in lines),
                gap(4),
                text(MAKERS, "small"),
            ]
        )
    ]


@hookimpl
def inkaccord_deliver(order: Order, run: Run, gallery: Gallery, bench: Bench) -> Sequence[OutFile]:
    """Add ``VENDOR/order-sheet.pdf`` for each vendor that has something to print."""
    bench.progress("writing order sheets")
    return order_sheets(order, run, gallery, run.notes)
