"""Cards of the control swatches that vendors print beside the pieces, where they take one.

A front end that converts colours shows on them: their builds are known, and what they should look
like is known from the pair's readings.
"""

from collections.abc import Collection, Iterator
from dataclasses import dataclass

from inkaccord.diagnostics import Diagnostic, warning
from inkaccord.errors import OrderError
from inkaccord.files import safe_name
from inkaccord.order.job import Printing
from inkaccord.order.model import Order
from inkaccord.planning.by_hand import plan_controls
from inkaccord.planning.sample_pages import device_sheets
from inkaccord.run.bench import Bench
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.settings import SheetFormat
from inkaccord.sizes import Sides


@dataclass(frozen=True)
class ControlCard:
    """A card of the control swatches for one pair.

    Attributes
    ----------
    sheet
        What is on it; recorded like any sheet.
    printing
        Who prints it, and on what.
    path, table
        Where its PDF and the table to be filled in stand in the out folder.
    """

    sheet: SampleSheet
    printing: Printing
    path: str
    table: str

    @property
    def note(self) -> str:
        """What the vendor's order sheet says of it."""
        name = self.path.rpartition("/")[2]
        return (
            f"{name}: one copy on {self.printing.pair.stock}, printed with the job and treated as "
            "its pieces are, without any other conversion of colours; send it with them"
        )


def control_cards(
    order: Order, pieces: Collection[str], bench: Bench
) -> tuple[tuple[ControlCard, ...], tuple[Diagnostic, ...]]:
    """Return the cards that go with some pieces, and what is to be said of those that can't be."""
    cards: list[ControlCard] = []
    findings: list[Diagnostic] = []
    for printing in _printings(order, pieces):
        pair, vendor = printing.pair, printing.vendor_name
        try:
            sheet = plan_controls(
                bench.pair(pair),
                _pages(printing),
                order.date,
                aperture_pt=order.aperture,
                white_under=order.white_under(pair.stock),
            )
        except OrderError as problem:
            findings.append(
                warning(
                    "no-control-card",
                    f"no card of the controls for {pair}: {problem.findings[0].message}",
                    place=bench.place("vendors", vendor, "control_card"),
                    hint="give a larger 'control_card'",
                )
            )
            continue
        name = safe_name(f"{order.order}-controls-{pair.device}-{pair.stock}")
        path = f"{safe_name(vendor)}/{name}.pdf"
        cards.append(ControlCard(sheet, printing, path, f"samples/{safe_name(sheet.id)}.txt"))
    return tuple(cards), tuple(findings)


def _printings(order: Order, pieces: Collection[str]) -> Iterator[Printing]:
    """Yield the pairs of some pieces whose vendors print a card, each once."""
    seen = set()
    for name, job in order.jobs.items():
        if name in pieces and job.vendor.control_card is not None and job.pair not in seen:
            seen.add(job.pair)
            yield job


def _pages(printing: Printing) -> tuple[SheetFormat, ...]:
    """Return the page of a card: as the vendor takes it, or the envelope or card itself."""
    vendor, size = printing.vendor, printing.vendor.control_card
    if printing.fed_singly or size is None:
        return device_sheets(printing)
    page = SheetFormat(size=size, bleed_pt=vendor.bleed, unprintable=Sides())
    return page, page.turned
