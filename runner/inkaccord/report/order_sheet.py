"""The order sheet: what a vendor has to know to print its part, on one page or two."""

from collections.abc import Iterator, Mapping, Sequence

from inkaccord.cautions import POST
from inkaccord.hooks import hookimpl
from inkaccord.layout.model import BackUp
from inkaccord.order.model import Order
from inkaccord.order.workdays import files_needed_by
from inkaccord.recall.recall import Recall, computed
from inkaccord.report import wording
from inkaccord.report.cutting_part import before_cutting, cutting_part
from inkaccord.report.gallery import translations_on
from inkaccord.report.order_parts import (
    head_facts,
    heat_notes,
    notes_part,
    price_table,
    sheet_head,
    who_orders,
)
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
from inkaccord.report.parts import Part
from inkaccord.report.press_run import run_facts, runs_of
from inkaccord.run.bench import Bench
from inkaccord.run.files import OutFile
from inkaccord.run.gallery import LIST_PX, Gallery
from inkaccord.run.imposed import PrintRun, SheetRun
from inkaccord.run.paying import piece_charges
from inkaccord.run.record import PieceStatus, RecordedPiece, Run
from inkaccord.words import counted, day, joined, thousands

PICTURE_PT = (118.0, 132.0)
TWO_PICTURES_PT = (118.0, 92.0)
"""Each of a front and a back, so that two pieces find room on a page."""
SET = "These builds are set for this device and stock; print without conversion."


def order_sheets(
    order: Order,
    run: Run,
    gallery: Gallery,
    notes: Mapping[str, Sequence[str]] | None,
    recall: Recall = computed,
) -> list[OutFile]:
    """Return an order sheet for every vendor that has something to print.

    A vendor all of whose pieces still wait gets none, so that nothing can be sent too early.

    Parameters
    ----------
    notes
        More lines for a vendor's sheet, by vendor.
    recall
        How a sheet is set: computed, or recalled.
    """
    sheets = []
    for name in order.vendors:
        ready = _pieces(run, name, ready=True)
        if ready:
            more = (notes or {}).get(name, ())
            data = _order_sheet(order, run, gallery, name, more, recall)
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
    name: str,
    notes: Sequence[str],
    recall: Recall,
) -> bytes:
    title = wording.vendor_title(order, name)

    def story(width_pt: float) -> list[Part]:
        parts: list[Part] = [*_head(order, run, name, width_pt)]
        for piece in _pieces(run, name, ready=True):
            parts += [_piece(order, run, gallery, piece, width_pt), gap(6)]
        parts += _later(run, name)
        parts += _press_runs(order, run, name, width_pt)
        ready = {piece.name for piece in _pieces(run, name, ready=True)}
        stocks = (piece.stock for piece in _pieces(run, name, ready=True))
        parts += notes_part(order.vendors[name], [*heat_notes(order, stocks), *notes])
        parts += price_table(piece_charges(order, name, run.runs, ready), width_pt)
        return parts

    return typeset(
        story,
        size=paper_of(order),
        title=f"Order sheet for {title}: {run.title or run.order}",
        running=f"{run.title or run.order} · order {run.order} · {day(run.date)} · {title}",
        recall=recall,
    )


def _head(order: Order, run: Run, name: str, width_pt: float) -> Iterator[Part]:
    vendor = order.vendors[name]
    yield from sheet_head(order, run, name, "Order sheet")
    facts = [
        ("Pieces", str(len(_pieces(run, name, ready=True)))),
        ("Print runs", str(len(runs_of(run, name)))),
    ]
    if run.due is not None:
        needed = files_needed_by(run.due, vendor.lead_days)
        facts = [
            ("Files needed by", day(needed)),
            ("Goods due", day(run.due)),
            *facts,
        ]
    widths = [width_pt / 3, width_pt / 3, width_pt / 6, width_pt / 6]
    yield head_facts(facts, widths[-len(facts) :])
    if run.due is not None:
        days = counted(vendor.lead_days, "working day")
        yield text(
            f"{days} before the due date, Monday to Friday; public holidays are not counted."
            if vendor.lead_days
            else "No lead time is stated, so the files are needed by the due date itself.",
            "quiet",
        )
    yield from who_orders(order, width_pt)
    yield gap(10)


def _piece(
    order: Order,
    run: Run,
    gallery: Gallery,
    piece: RecordedPiece,
    width_pt: float,
) -> Part:
    shown = gallery.best(piece.name, LIST_PX)
    pictures: list[Part] = []
    for page in shown.pages[:2]:
        box = PICTURE_PT if len(shown.pages) == 1 else TWO_PICTURES_PT
        pictures += [picture(page.png, page.width_px, page.height_px, box), gap(5)]
    if shown.pages and shown.legend:
        pictures.append(text(f"In the picture {shown.legend}.", "quiet"))
    left = PICTURE_PT[0] + 9
    right = width_pt - left - 5  # the table's own padding
    body: list[Part] = [
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
    body += [
        marked(f"<b>Known, and meant so:</b> {escape(reason)}.", "small")
        for reason in dict.fromkeys(piece.waived.values())
    ]
    return together(
        [
            rule(),
            grid([[pictures or text("no picture", "quiet"), body]],
                 [left, right + 5], pad_pt=8),
        ]
    )  # fmt: skip


def _facts(order: Order, run: Run, piece: RecordedPiece) -> Iterator[tuple[str, Part]]:
    asked = order.pieces[piece.name]
    total = thousands(wording.printed(run, piece))
    made_of = wording.quantity_in_words(run, piece)
    if piece.records is not None:
        yield "Quantity", marked(f"<b>{total}</b>{made_of.removeprefix(total)}")
    else:
        yield "Quantity", marked(f"<b>{total}</b>{'' if made_of == total else f' = {made_of}'}")
    yield "Trim size", text(wording.trim_size(order, piece.name))
    yield "Stock", text(_stock(order, piece))
    setting = f", setting {piece.setting}" if piece.setting else ""
    yield "Device", text(piece.device + setting)
    if asked.sides_of(piece.sides) == 2 and asked.back_up is not BackUp.HEAD_TO_HEAD:
        yield "Back", text("head to foot: turned over like a wall calendar, it stands upright")
    if asked.fold is not None:
        yield "Folding", text(wording.folding(asked.fold, asked.trim))
    if asked.finishing:
        yield "Finishing", text(asked.finishing)
    if asked.addressed:
        yield "Address", text(f"It bears one. {POST}", "small")
    here = [one for one in runs_of(run, piece.vendor) if piece.name in one.pieces]
    for one in here:
        if not one.imposed:
            yield from ((label, text(told)) for label, told in run_facts(order, one))
    if any(one.imposed for one in here):
        numbers = joined([str(one.number) for one in here])
        yield "Laid in", text(f"run{'s' if len(here) > 1 else ''} {numbers}, below")


def _stock(order: Order, piece: RecordedPiece) -> str:
    title, stock = wording.stock_title(order, piece.stock), order.stocks.get(piece.stock)
    return title if stock is None or stock.grain is None else f"{title}, grain {stock.grain}"


def _colours(order: Order, run: Run, piece: RecordedPiece, width_pt: float) -> Iterator[Part]:
    known = translations_on(run, order, piece.pair)
    rows = [
        [text(colour), text(str(known[colour].build))]
        for colour in piece.colours
        if colour in known
    ]
    if rows and not piece.inks_known:
        yield text(wording.inks_unknown([piece.name]), "small")
        return
    if not rows:
        yield text("No colour of this piece was changed.", "small")
        return
    head = [text("Colour", "label"), text("Build", "label")]
    yield grid([head, *rows], [width_pt * 0.35, width_pt * 0.65], head=True, pad_pt=1)
    yield gap(3)
    yield marked(f"<b>{SET}</b>", "small")


def _later(run: Run, name: str) -> list[Part]:
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


def _press_runs(order: Order, run: Run, name: str, width_pt: float) -> list[Part]:
    """Return what is to be known of each run of imposed sheets, and how they are cut."""
    laid = {sheet.number: sheet for sheet in run.sheets if sheet.vendor == name}
    parts: list[Part] = []
    runs = [one for one in runs_of(run, name) if one.imposed]
    numbered = {piece for one in runs if one.each_once for piece in one.pieces}
    for one in runs:
        head: list[Part] = []
        if not parts:
            head = [rule(before=2, after=6), text("Print runs", "heading")]
            head += before_cutting([*laid.values()], numbered)
        parts += _press_run(order, one, laid.get(one.number), head, width_pt)
    return parts


def _press_run(
    order: Order,
    one: PrintRun,
    sheet: SheetRun | None,
    head: list[Part],
    width_pt: float,
) -> list[Part]:
    up = joined([f"{number} × {piece}" for piece, number in one.pieces.items()])
    once = ", each page once" if one.each_once else ""
    facts = [
        ("Sheets", marked(f"<b>{counted(one.times, 'sheet')}</b>{once}, {escape(up)} on each")),
        ("Stock", text(f"{wording.stock_title(order, one.stock)}; device {one.device}")),
        *((label, text(told)) for label, told in run_facts(order, one)),
    ]
    told = [
        *head,
        text(f"Run {one.number}", "strong"),
        grid(
            [[text(label, "tag"), words] for label, words in facts],
            [66, width_pt - 66],
            lines=False,
            pad_pt=0.5,
        ),
        gap(4),
    ]
    if sheet is None or not sheet.cut_plan:
        return [together(told), gap(8)]
    return [*cutting_part(sheet, width_pt, told), gap(8)]


@hookimpl
def inkaccord_deliver(order: Order, run: Run, gallery: Gallery, bench: Bench) -> Sequence[OutFile]:
    """Add ``VENDOR/order-sheet.pdf`` for each vendor that has something to print."""
    bench.progress("writing order sheets")
    return order_sheets(order, run, gallery, run.notes, bench.recall)
