"""Bleed made where an order asks for it: before a piece is laid, and only where colour needs it."""

import io
from dataclasses import replace
from typing import Literal

import pikepdf

from inkaccord.artwork.finishing.bleed import make_bleed
from inkaccord.artwork.inventory.edges import bare_edges_of
from inkaccord.diagnostics import Diagnostic
from inkaccord.order.pieces import BleedRepair, Piece
from inkaccord.pdf.boxes import page_boxes
from inkaccord.pdf.writing import save_drawn
from inkaccord.run.recoloured import RecolouredPiece

_HOW: dict[BleedRepair, Literal["mirror", "scale"]] = {
    BleedRepair.MIRROR: "mirror",
    BleedRepair.SCALE: "scale",
}


def with_bleed(
    copy: RecolouredPiece, piece: Piece, bleed_pt: float
) -> tuple[RecolouredPiece, tuple[Diagnostic, ...]]:
    """Return a piece with its bleed mended as the order asks, and what was made on which page.

    A page whose trim is not the order's is left to imposition, which says so.
    """
    if piece.bleed_repair is BleedRepair.REPORT or bleed_pt == 0:
        return copy, ()
    with pikepdf.open(io.BytesIO(copy.data)) as pdf:
        if not all(page_boxes(page).fits(piece.trim) for page in pdf.pages):
            return copy, ()
        edges = bare_edges_of(copy.data, bleed_pt)
        findings = make_bleed(pdf, edges, _HOW[piece.bleed_repair], bleed_pt, name=copy.piece)
        if not findings:
            return copy, ()
        return replace(copy, data=save_drawn(pdf)), findings
