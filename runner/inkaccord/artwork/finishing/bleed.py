"""Making bleed where an order asks for it.

Made bleed is a makeshift. It is only made when asked, and every page on which it was made has a
finding that says so.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal

import pikepdf

from inkaccord.artwork.inventory.edges import BareEdge, Side
from inkaccord.diagnostics import Diagnostic, Place, warning
from inkaccord.pdf.boxes import PageBoxes, page_boxes
from inkaccord.pdf.page_objects import inherited
from inkaccord.units import mm
from inkaccord.words import joined

Repair = Literal["mirror", "scale"]


def make_bleed(
    pdf: pikepdf.Pdf,
    edges: Mapping[int, Sequence[BareEdge]],
    how: Repair,
    bleed_pt: float,
    *,
    name: str | None = None,
) -> tuple[Diagnostic, ...]:
    """Make bleed on the pages that need it, in place.

    Parameters
    ----------
    pdf
        The open file.
    edges
        From :func:`~inkaccord.artwork.inventory.edges.bare_edges_of`; other pages and sides stay
        as they are.
    how
        ``mirror``: the rim inside the cut is mirrored outwards, on the sides that need it.
        ``scale``: the whole page is enlarged about its middle until the trim fills the bleed.
    bleed_pt
        How much.
    name
        What to call the file in findings.

    Returns
    -------
    tuple of Diagnostic
        ``bleed-mirrored`` or ``bleed-scaled`` for each page, naming sides or scale.
    """
    findings = []
    for number, page in enumerate(pdf.pages, start=1):
        sides = tuple(dict.fromkeys(edge.side for edge in edges.get(number, ())))
        if not sides:
            continue
        place = Place(file=name, page=number)
        if how == "mirror":
            _mirror(pdf, page, sides, bleed_pt)
            findings.append(
                warning(
                    "bleed-mirrored",
                    f"the artwork has too little bleed: {mm(bleed_pt):.1f} mm were made by "
                    f"mirroring its rim on the {joined(sides)}",
                    place=place,
                    hint="look at the edges by eye",
                )
            )
        else:
            scale = _enlarge(pdf, page, bleed_pt)
            findings.append(
                warning(
                    "bleed-scaled",
                    f"the artwork has too little bleed: the page was enlarged to {scale:.1%} to "
                    f"make {mm(bleed_pt):.1f} mm, so everything stands nearer to the cut",
                    place=place,
                    hint="look at what stands near the edges",
                )
            )
    return tuple(findings)


def _mirror(pdf: pikepdf.Pdf, page: pikepdf.Page, sides: Sequence[Side], bleed_pt: float) -> None:
    boxes = page_boxes(page)
    unit = boxes.user_unit
    by = bleed_pt / unit
    left, bottom, right, top = (corner / unit for corner in boxes.trim)
    # What there is stays on the other sides; on these it ends at the cut.
    inner = (
        left if "left" in sides else left - by,
        bottom if "bottom" in sides else bottom - by,
        right if "right" in sides else right + by,
        top if "top" in sides else top + by,
    )
    across = [("", inner[0], inner[2])]
    across += [("left", left - by, left)] if "left" in sides else []
    across += [("right", right, right + by)] if "right" in sides else []
    up = [("", inner[1], inner[3])]
    up += [("bottom", bottom - by, bottom)] if "bottom" in sides else []
    up += [("top", top, top + by)] if "top" in sides else []
    edge = {"left": left, "right": right, "bottom": bottom, "top": top}
    content = []
    for side_x, x0, x1 in across:
        for side_y, y0, y1 in up:
            turn_x = f"-1 0 0 {{}} {2 * edge[side_x]:.5f}" if side_x else "1 0 0 {} 0"
            turn_y, shift_y = ("-1", 2 * edge[side_y]) if side_y else ("1", 0.0)
            content.append(
                f"q {x0:.5f} {y0:.5f} {x1 - x0:.5f} {y1 - y0:.5f} re W n "
                f"{turn_x.format(turn_y)} {shift_y:.5f} cm /Artwork Do Q"
            )
    _replace(pdf, page, boxes, "\n".join(content), bleed_pt)


def _enlarge(pdf: pikepdf.Pdf, page: pikepdf.Page, bleed_pt: float) -> float:
    boxes = page_boxes(page)
    trim, unit = boxes.trim, boxes.user_unit
    scale = max(
        (trim.width + 2 * bleed_pt) / trim.width,
        (trim.height + 2 * bleed_pt) / trim.height,
    )
    x = (trim.left + trim.right) / 2 / unit * (1 - scale)
    y = (trim.bottom + trim.top) / 2 / unit * (1 - scale)
    content = f"q {scale:.7f} 0 0 {scale:.7f} {x:.5f} {y:.5f} cm /Artwork Do Q"
    _replace(pdf, page, boxes, content, bleed_pt)
    return scale


def _replace(
    pdf: pikepdf.Pdf, page: pikepdf.Page, boxes: PageBoxes, content: str, bleed_pt: float
) -> None:
    """Turn the page's content into a form, draw it by ``content``, and set the boxes."""
    node = page.obj
    page.contents_coalesce()
    form = node.get("/Contents")
    if not isinstance(form, pikepdf.Stream):
        return
    artwork = pdf.make_stream(
        form.read_bytes(),
        Type=pikepdf.Name.XObject,
        Subtype=pikepdf.Name.Form,
        BBox=pikepdf.Array([corner / boxes.user_unit for corner in boxes.media]),
        Resources=inherited(node, "/Resources") or pikepdf.Dictionary(),
    )
    node["/Resources"] = pikepdf.Dictionary(XObject=pikepdf.Dictionary(Artwork=artwork))
    node["/Contents"] = pdf.make_stream(content.encode())
    bleed = boxes.trim.grown(bleed_pt)
    for key, outer in (("/MediaBox", boxes.media), ("/CropBox", boxes.crop)):
        node[key] = pikepdf.Array([corner / boxes.user_unit for corner in outer.around(bleed)])
    for key, box in (("/BleedBox", bleed), ("/TrimBox", boxes.trim)):
        node[key] = pikepdf.Array([corner / boxes.user_unit for corner in box])
    if "/ArtBox" in node:
        del node["/ArtBox"]
