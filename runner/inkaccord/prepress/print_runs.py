"""What a vendor prints of which page: the runs of its files, and the slug lines that tell them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from operator import or_
from typing import Any

from inkaccord.artwork.plates import PageInks, inks_of_form
from inkaccord.colour.builds import Drive
from inkaccord.layout.model import Duplex, Imposition, SheetLayout
from inkaccord.layout.sheet_pages import OVERLAY
from inkaccord.layout.sides import side_word
from inkaccord.order.job import Job, Printing
from inkaccord.order.model import Order
from inkaccord.order.vendors import Delivers
from inkaccord.pdf.boxes import page_boxes
from inkaccord.pdf.qpdf import opened
from inkaccord.pdf.writing import Written
from inkaccord.run.imposed import PrintedSide, PrintRun
from inkaccord.units import mm
from inkaccord.words import counted

SEPARATED = " · "
"""What stands between the parts of a slug line."""
_LETTERS = {"Cyan": "C", "Magenta": "M", "Yellow": "Y", "Black": "K"}


@dataclass(frozen=True)
class Inked:
    """A piece to print, with the inks of the pages of its copy, or of those of its first record."""

    job: Job
    inks: tuple[PageInks, ...]
    sides: int

    @property
    def each_once(self) -> bool:
        """Whether every copy has a page of its own."""
        return self.job.piece.records is not None

    @property
    def pages(self) -> int:
        """How many pages it has when it stands alone."""
        return self.sides * (self.job.quantity if self.each_once else 1)

    def of(self, side: int) -> PageInks:
        """Return the inks of a side, of all records together."""
        return reduce(or_, self.inks[side - 1 :: self.sides], PageInks())


def sheet_runs(imposition: Imposition, pieces: Sequence[Inked], first: int) -> tuple[PrintRun, ...]:
    """Return the runs of imposed sheets; ``first`` is the number of the first one."""
    inked = {piece.job.name: piece for piece in pieces}
    printing = pieces[0].job
    each_once = any(piece.each_once and piece.job.quantity > 1 for piece in pieces)
    return tuple(
        _sheet_run(number, printing, layout, inked, each_once=each_once)
        for number, layout in enumerate(imposition.layouts, start=first)
    )


def _sheet_run(
    number: int,
    printing: Printing,
    layout: SheetLayout,
    inked: Mapping[str, Inked],
    *,
    each_once: bool,
) -> PrintRun:
    names = list(dict.fromkeys(placed.item for placed in layout.placements))
    both = inked[names[0]].sides == 2
    numbers = [1, 2] if both else [1]
    sides = [
        _side(side_word(side), printing, [inked[name].of(side) for name in names])
        for side in numbers
    ]
    if layout.duplex.one_forme:
        every = [inked[name].of(side) for name in names for side in numbers]
        sides = [_side("front and back", printing, every)]
    return PrintRun(
        **_common(number, printing),
        pieces={name: layout.copies_of(name) for name in names},
        times=layout.run,
        pages=len(sides) * (layout.run if each_once else 1),
        each_once=each_once,
        bleed_mm=round(mm(max(placed.bleed_pt for placed in layout.placements)), 4),
        turning=layout.duplex,
        gripper=printing.device.gripper,
        gripper_mm=round(mm(printing.device.gripper_margin), 2),
        side_lay=printing.device.side_lay,
        grain=layout.sheet.grain,
        imposed=True,
        sides=tuple(sides),
    )


def single_run(piece: Inked, number: int) -> PrintRun:
    """Return the run of a piece that stands alone on its pages."""
    job, sides = piece.job, piece.sides
    fed = job.vendor.delivers is Delivers.SHEETS
    turning = Duplex(job.device.turning.value) if fed else None
    return PrintRun(
        **_common(number, job),
        pieces={job.name: 1},
        times=job.quantity + job.overs,
        pages=piece.pages,
        each_once=piece.each_once,
        bleed_mm=0.0 if fed else round(mm(job.bleed_pt), 4),
        turning=turning if sides == 2 else Duplex.ONE_SIDED,
        sides=tuple(_side(side_word(1 + at), job, [piece.of(1 + at)]) for at in range(sides)),
    )


def _common(number: int, printing: Printing) -> dict[str, Any]:
    return {
        "number": number,
        "vendor": printing.vendor_name,
        "device": printing.pair.device,
        "stock": printing.pair.stock,
        "width_mm": 0.0,  # as the file says, once it is written
        "height_mm": 0.0,
    }


def _side(word: str, printing: Printing, inks: Sequence[PageInks]) -> PrintedSide:
    if printing.device.drive is not Drive.CMYK:
        return PrintedSide(side=word, converted=True)
    whole = reduce(or_, inks)
    return PrintedSide(
        side=word,
        inks=whole.process,
        separations=whole.separations,
        converted=whole.converted,
    )


def located(
    runs: Sequence[PrintRun], written: Written, files: Sequence[str], before: int = 0
) -> tuple[PrintRun, ...]:
    """Return runs with the file and the page of each side, and the inks of their marks.

    Parameters
    ----------
    runs
        Those of one file as it was laid, in its order.
    written
        That file.
    files
        Where it lies in the out folder: one path, or one for every page.
    before
        How many pages of others stand before it, where several became one file.
    """
    found = []
    page = 1
    with opened(written.data) as pdf:
        for run in runs:
            boxes = page_boxes(pdf.pages[page - 1])
            width, height = boxes.size_of(boxes.media).in_mm
            sides = [
                _located(side, page + at, inks_of_form(pdf, OVERLAY, page + at), files, before)
                for at, side in enumerate(run.sides)
            ]
            size = {"width_mm": round(width, 2), "height_mm": round(height, 2)}
            found.append(run.model_copy(update={"sides": tuple(sides), **size}))
            page += run.pages
    return tuple(found)


def _located(
    side: PrintedSide, page: int, marks: PageInks, files: Sequence[str], before: int
) -> PrintedSide:
    apart = len(files) > 1
    mixed = side.converted and not side.inks
    return side.model_copy(
        update={
            "path": files[page - 1] if apart else files[0],
            "page": 1 if apart else before + page,
            "mark_inks": () if mixed else tuple(i for i in marks.process if i not in side.inks),
        }
    )


def slugs(run: PrintRun, order: Order, builds: Sequence[str]) -> tuple[str, ...]:
    """Return the slug line of each side of a run: what tells it from others first, builds last."""
    return tuple(
        SEPARATED.join(
            [
                f"Run {run.number} {side.side}",
                *_how_many(run),
                *_in_which_inks(side),
                *_how_turned(run),
                order.order,
                order.date.isoformat(),
                f"{run.device}@{run.stock}",
                *builds,
            ]
        )
        for side in run.sides
    )


def slug_stand_in(order: Order, printing: Printing, builds: Sequence[str]) -> str:
    """Return a line about as long as the slug lines of a pair, before its runs are known."""
    likely = "Run 1 front", "000 sheets", "0 × a piece", "sheetwise", "CMYK"
    date = order.date.isoformat()
    return SEPARATED.join([*likely, order.order, date, str(printing.pair), *builds])


def _how_many(run: PrintRun) -> list[str]:
    if not run.imposed:
        (piece,) = run.pieces
        return [piece, "each page once" if run.each_once else counted(run.times, "copy", "copies")]
    pieces = ", ".join(f"{number} × {piece}" for piece, number in run.pieces.items())
    return [counted(run.times, "sheet"), pieces]


def _how_turned(run: PrintRun) -> list[str]:
    if not run.imposed:
        return []
    said = [str(run.turning).replace("-", " ")]
    if run.gripper is not None:
        said.append(f"gripper {run.gripper} {run.gripper_mm:g} mm")
    if run.side_lay is not None:
        said.append(f"side lay {run.side_lay}")
    return [", ".join(said)]


def _in_which_inks(side: PrintedSide) -> list[str]:
    if not side.inks and not side.separations:
        return ["RGB"] if side.converted else ["no ink"]
    letters = "".join(_LETTERS[ink] for ink in side.inks)
    return [" + ".join([*([letters] if letters else []), *side.separations])]
