"""The packing list on paper, with boxes to tick."""

from collections.abc import Sequence

from inkaccord.cautions import POST
from inkaccord.hooks import hookimpl
from inkaccord.order.model import Order
from inkaccord.recall.recall import Recall, computed
from inkaccord.report.packing import Arrival, Delivery, PackingList, packing_list
from inkaccord.report.paper import (
    Row,
    escape,
    gap,
    grid,
    marked,
    paper_of,
    picture,
    rule,
    text,
    tick_box,
    together,
    typeset,
)
from inkaccord.report.parts import Part
from inkaccord.run.bench import Bench
from inkaccord.run.files import OutFile
from inkaccord.run.gallery import SMALL_PX, Gallery
from inkaccord.run.record import PieceStatus, Run
from inkaccord.words import counted, day, joined, thousands

PICTURE_PT = (58.0, 46.0)


def packing_lists(
    order: Order, run: Run, gallery: Gallery, recall: Recall = computed
) -> list[OutFile]:
    """Return the packing list as PDF, CSV and JSON."""
    packing = packing_list(order, run)
    return [
        OutFile("packing-list.pdf", _page(order, run, packing, gallery, recall), "packing-list"),
        OutFile("packing-list.csv", packing.as_csv(), "packing-list"),
        OutFile("packing-list.json", packing.as_json(), "packing-list"),
    ]


def _page(order: Order, run: Run, packing: PackingList, gallery: Gallery, recall: Recall) -> bytes:
    title = run.title or run.order

    def story(width_pt: float) -> list[Part]:
        parts: list[Part] = [
            text("Packing list", "label"),
            text(title, "title"),
            gap(2),
            text(_summary(run, packing)),
            rule(1.0, before=8, after=8),
        ]
        parts += _missing(packing)
        parts += [text("What arrives", "heading"), gap(4)]
        for delivery in packing.deliveries:
            parts += _delivery(delivery, gallery, width_pt)
        parts += _suite(packing, gallery, width_pt)
        return [*parts, gap(8), text(f"The post: {POST}", "small")]

    return typeset(
        story,
        size=paper_of(order),
        title=f"Packing list: {title}",
        running=f"{title} · order {run.order} · {day(run.date)} · packing list",
        recall=recall,
    )


def _summary(run: Run, packing: PackingList) -> str:
    pieces = sum(len(it.pieces) for it in packing.deliveries)
    due = f", due {day(run.due, weekday=True)}" if run.due else ""
    return (
        f"Order {run.order} of {day(run.date)}: {counted(run.suites, 'suite')} of "
        f"{counted(pieces, 'piece')} from "
        f"{counted(len(packing.deliveries), 'vendor')}{due}."
    )


def _missing(packing: PackingList) -> list[Part]:
    if not packing.missing:
        return []
    return [
        text("Still missing", "heading"),
        *(marked(f"<b>{escape(name)}</b>: {escape(why)}") for name, why in packing.missing.items()),
        gap(12),
    ]


def _delivery(delivery: Delivery, gallery: Gallery, width_pt: float) -> list[Part]:
    widths = [20, PICTURE_PT[0] + 12, 0, 62, 50, 58]
    widths[2] = width_pt - sum(widths)
    head = [
        text(f"From {delivery.title}", "strong"),
        text(""),
        text(""),
        text("Ordered", "number-label"),
        text("Overs", "number-label"),
        text("Arrives", "number-label"),
    ]
    rows: list[Row] = [
        [
            tick_box(),
            _small(gallery, arrival.piece),
            _described(arrival),
            text(thousands(arrival.quantity), "number"),
            text(thousands(arrival.overs) if arrival.overs else "–", "number"),
            marked(f"<b>{thousands(arrival.arrives)}</b>", "number"),
        ]
        for arrival in delivery.pieces
    ]
    return [
        grid([head, *rows], widths, head=True, head_span=3, pad_pt=4),
        gap(10),
    ]


def _described(arrival: Arrival) -> list[Part]:
    lines = [
        text(arrival.piece, "strong"),
        text(
            "; ".join(part for part in (arrival.trim, arrival.stock, arrival.finishing) if part),
            "small",
        ),
    ]
    if arrival.more:
        lines.append(
            text(f"{thousands(arrival.more)} more arrive, as the sheets hold them", "italic")
        )
    if arrival.status is not PieceStatus.READY:
        lines.append(text(f"not released yet: {arrival.status}", "italic"))
    return lines


def _suite(packing: PackingList, gallery: Gallery, width_pt: float) -> list[Part]:
    if not packing.suite:
        return []
    widths = [20, PICTURE_PT[0] + 12, 24, 0, 70]
    widths[3] = width_pt - sum(widths)
    rows: list[Row] = [
        [
            tick_box(),
            _small(gallery, packed.piece),
            text(f"{packed.step}.", "strong"),
            [text(packed.piece, "strong"), text(packed.place, "small")],
            marked(f"<b>{packed.per_suite}</b> in each suite", "number"),
        ]
        for packed in packing.suite
    ]
    head: Row = [
        [
            text("Each suite, in the order of assembly", "heading"),
            text(
                f"{counted(packing.suites, 'suite')}: the first piece at the back, "
                "each next one on top, all facing the same way.",
                "small",
            ),
        ],
        *([text("")] * (len(widths) - 1)),
    ]
    parts: list[Part] = [
        gap(6),
        grid([head, *rows], widths, head=True, head_span=len(widths), pad_pt=4),
    ]
    if packing.spare:
        parts += [gap(4), text(f"In no suite: {joined(packing.spare)}.", "small")]
    return [*parts, gap(8), *_tally(packing, width_pt)]


def _tally(packing: PackingList, width_pt: float) -> list[Part]:
    """Give a box for every ten suites packed, up to a number that still can be ticked."""
    tens = -(-packing.suites // 10)
    if tens > 60:
        return []
    across = min(20, tens)
    boxes: list[list[Part]] = [
        [tick_box(), text(str(min(10 * (at + 1), packing.suites)), "label")] for at in range(tens)
    ]
    short = -tens % across
    boxes += [[text("")] for _ in range(short)]
    rows = [boxes[at : at + across] for at in range(0, len(boxes), across)]
    return [
        together(
            [
                text("Suites packed, a box for every ten", "strong"),
                grid(rows, [width_pt / 20] * across, lines=False, pad_pt=2),
            ]
        )
    ]


def _small(gallery: Gallery, piece: str) -> Part:
    pages = gallery.best(piece, SMALL_PX).pages
    if not pages:
        return text("no picture", "quiet")
    return picture(pages[0].png, pages[0].width_px, pages[0].height_px, PICTURE_PT)


@hookimpl
def inkaccord_deliver(order: Order, run: Run, gallery: Gallery, bench: Bench) -> Sequence[OutFile]:
    """Add ``packing-list.pdf``, ``.csv`` and ``.json``."""
    bench.progress("writing the packing list")
    return packing_lists(order, run, gallery, bench.recall)
