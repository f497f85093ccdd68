"""Bleed made where an order asks for it: before a piece is laid, and only where colour needs it."""

from typing import Literal

from inkaccord.artwork.finishing.bleed import make_bleed
from inkaccord.artwork.inventory.edges import bare_edges_of
from inkaccord.diagnostics import Diagnostic
from inkaccord.order.job import Job
from inkaccord.order.pieces import BleedRepair
from inkaccord.pdf.boxes import page_boxes
from inkaccord.pdf.qpdf import opened
from inkaccord.pdf.writing import save_drawn

_HOW: dict[BleedRepair, Literal["mirror", "scale"]] = {
    BleedRepair.MIRROR: "mirror",
    BleedRepair.SCALE: "scale",
}


def with_bleed(data: bytes, job: Job) -> tuple[bytes, tuple[Diagnostic, ...]]:
    """Return a copy with its bleed mended as the order asks, and what was made on which page.

    A page whose trim is not the order's is left to imposition, which says so.
    """
    piece, bleed_pt = job.piece, job.bleed_pt
    if piece.bleed_repair is BleedRepair.REPORT or bleed_pt == 0:
        return data, ()
    with opened(data) as pdf:
        if not all(page_boxes(page).fits(piece.trim) for page in pdf.pages):
            return data, ()
        edges = bare_edges_of(data, bleed_pt)
        findings = make_bleed(pdf, edges, _HOW[piece.bleed_repair], bleed_pt, name=job.name)
        if not findings:
            return data, ()
        return save_drawn(pdf), findings
