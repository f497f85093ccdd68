"""The order sheet of a vendor's sample sheets: what to print on what, and how to send it back."""

from collections.abc import Iterator

from inkaccord.cautions import EITHER_BLADE
from inkaccord.hooks import hookimpl
from inkaccord.order.model import Order
from inkaccord.order.stocks import StockKind
from inkaccord.recall.recall import Recall
from inkaccord.report import wording
from inkaccord.report.order_parts import (
    head_facts,
    heat_notes,
    notes_part,
    price_table,
    sheet_head,
    who_orders,
)
from inkaccord.report.paper import gap, grid, marked, paper_of, rule, text, together, typeset
from inkaccord.report.parts import Part
from inkaccord.report.press_run import plate_in_words
from inkaccord.run.bench import Bench
from inkaccord.run.files import OutFile
from inkaccord.run.record import Run
from inkaccord.run.sampling import SamplePart, Sampling
from inkaccord.units import mm
from inkaccord.words import counted, day, joined

AS_THE_JOB = (
    "These sheets show what the device does with numbers. Print them as the job will be printed: "
    "the same device, stock and setting, the same inks or toner, the same screen."
)
NO_CONVERSION = (
    "At 100 % and without colour conversion: no colour management, no profile, no toner or ink "
    "saving, nothing fitted or scaled to the page."
)
DRY = "Let them dry as the makers of ink and stock ask. No varnish, no film, no stamp on a swatch."
WITH_WHITE = "; it lies under all of the sheet, and is printed as on the job"
WRITE = (
    "On the back, in pencil: the day, the device, and whatever was otherwise than asked. If "
    "anything must be otherwise, ask before you print."
)
SEND = (
    "Send all of them, also what came out badly: flat between boards, dry, in the dark, not folded."
)
"""Common practice, no source."""


def sample_orders(order: Order, run: Run, recall: Recall) -> list[OutFile]:
    """Return an order sheet for every vendor that sample sheets are to be printed by."""
    made = []
    for sampling in run.sampling:
        folder = sampling.parts[0].path.rpartition("/")[0]
        data = _order_sheet(order, run, sampling, recall)
        path = f"{folder}/order-sheet.pdf"
        made.append(OutFile(path, data, "order-sheet", vendor=sampling.vendor))
    return made


def _order_sheet(order: Order, run: Run, sampling: Sampling, recall: Recall) -> bytes:
    name = sampling.vendor
    vendor, title = order.vendors[name], wording.vendor_title(order, name)

    def story(width_pt: float) -> list[Part]:
        envelopes = heat_notes(order, (part.stock for part in sampling.parts))
        return [
            *_head(order, run, sampling, width_pt),
            *_parts(order, run, sampling, width_pt),
            *_how(order, sampling),
            *notes_part(vendor, envelopes),
            *price_table(sampling.charges, width_pt),
        ]

    return typeset(
        story,
        size=paper_of(order),
        title=f"Order sheet for samples from {title}: {run.title or run.order}",
        running=f"{run.title or run.order} · order {run.order} · samples · {title}",
        recall=recall,
    )


def _head(order: Order, run: Run, sampling: Sampling, width_pt: float) -> Iterator[Part]:
    yield from sheet_head(order, run, sampling.vendor, "Order sheet for samples")
    facts = [
        ("Sample sheets", str(len(sampling.sheets))),
        ("Copies of each", str(sampling.copies)),
        ("Pages in all", str(sampling.prints)),
    ]
    if sampling.dates is not None:
        facts.insert(0, ("Needed back by", day(sampling.dates.back_by)))
    yield head_facts(facts, [width_pt / len(facts)] * len(facts))
    yield from who_orders(order, width_pt, "Send back to")
    yield gap(10)


def _parts(order: Order, run: Run, sampling: Sampling, width_pt: float) -> Iterator[Part]:
    swatches = {it.id: it.swatches for it in run.samples}
    vendor = order.vendors[sampling.vendor]
    bleed = (
        f", and {mm(vendor.bleed):.3g} mm bleed round it, left white" if vendor.sample_bleed else ""
    )
    for part in sampling.parts:
        sizes = [f"{wide:g} × {high:g} mm" for wide, high in part.sizes_mm]
        facts = [
            ("File", part.path.rpartition("/")[2] + _which_pages(sampling, part)),
            ("Device", part.device + (f", setting {part.setting}" if part.setting else "")),
            ("Stock", wording.stock_title(order, part.stock)),
            ("Page size", joined(sizes) + bleed),
            ("Print", f"{counted(sampling.copies, 'copy', 'copies')} of "
             f"{counted(part.pages, 'page')}, one side only"),
            ("Swatches", str(sum(swatches[sheet] for sheet in part.sheets))),
        ]  # fmt: skip
        if white := order.white_under(part.stock):
            facts.insert(3, ("Finish", plate_in_words(order, white, part.stock) + WITH_WHITE))
        if part.cut_out:
            facts.append(("Cutting", f"out at the marks, once dry. {EITHER_BLADE}"))
        word = "Sheet" if len(part.sheets) == 1 else "Sheets"
        yield together(
            [
                rule(after=6),
                text(f"{word} {joined(part.sheets)}", "heading"),
                grid(
                    [[text(label, "tag"), text(value)] for label, value in facts],
                    [66, width_pt - 66],
                    lines=False,
                    pad_pt=0.5,
                ),
                gap(8),
            ]
        )


def _which_pages(sampling: Sampling, part: SamplePart) -> str:
    """Say which pages of its file a part is, where others stand in it too."""
    if sum(it.path == part.path for it in sampling.parts) == 1:
        return ""
    last = part.first + part.pages - 1
    return f", page {last}" if last == part.first else f", pages {part.first} to {last}"


def _how(order: Order, sampling: Sampling) -> Iterator[Part]:
    kinds = {order.stocks[part.stock].kind for part in sampling.parts}
    told = [AS_THE_JOB, NO_CONVERSION, DRY, WRITE, SEND]
    if StockKind.ENVELOPE in kinds:
        told.insert(3, "Envelopes: printed made up and empty, fed as the job's will be.")
    yield together(
        [
            rule(after=6),
            text("How they are printed, and sent back", "heading"),
            *(marked(f"{number}. {line}") for number, line in enumerate(told, start=1)),
            gap(8),
        ]
    )


@hookimpl
def inkaccord_deliver(order: Order, run: Run, bench: Bench) -> list[OutFile]:
    """Add ``samples/VENDOR/order-sheet.pdf`` for each vendor that is to print sample sheets."""
    if run.sampling:
        bench.progress("writing order sheets for samples")
    return sample_orders(order, run, bench.recall)
