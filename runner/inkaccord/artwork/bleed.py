"""Bleed: where colour stops at the cut, and making bleed where an order asks for it.

Made bleed is a makeshift. It is only made when asked, and every page on which it was made has a
finding that says so.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
import pikepdf
from numpy.typing import NDArray

from inkaccord.artwork.inventory.areas import PAPER, ColourMap, colour_maps
from inkaccord.artwork.limits import Limits
from inkaccord.artwork.objects.boxes import Box, PageBoxes, page_boxes
from inkaccord.artwork.objects.page_objects import inherited
from inkaccord.diagnostics import Diagnostic, Place, warning
from inkaccord.units import mm

Side = Literal["left", "bottom", "right", "top"]
Repair = Literal["mirror", "scale"]
SIDES: tuple[Side, ...] = ("left", "bottom", "right", "top")
_SHORTEST_MM = 1.0


@dataclass(frozen=True)
class BareEdge:
    """A side of a page along which colour runs to the cut but not through the bleed.

    Attributes
    ----------
    side
        Which side, unrotated.
    length_mm
        How much of it.
    reach_pt
        How far past the cut colour goes at the least.
    box
        The strip of bleed that is bare, ends included.
    """

    side: Side
    length_mm: float
    reach_pt: float
    box: Box


def bare_edges(found: ColourMap, bleed_pt: float) -> tuple[BareEdge, ...]:
    """Return the sides of a page on which colour at the cut does not fill the bleed.

    White and bare paper count as no colour. Less than 1 mm of a side counts as none.
    """
    white = np.zeros(len(found.names) + 1, dtype=bool)
    white[PAPER] = True
    for at, (colour, _) in enumerate(found.names, start=1):
        white[at] = colour.is_white
    inked = ~white[found.labels]
    edges = (_bare_edge(found, inked, side, bleed_pt) for side in SIDES)
    return tuple(edge for edge in edges if edge is not None and edge.length_mm >= _SHORTEST_MM)


def bare_edges_of(
    source: Path | bytes, bleed_pt: float, *, dpi: float = 150, limits: Limits | None = None
) -> dict[int, tuple[BareEdge, ...]]:
    """Return the bare edges of each page that has any. Raises FileError."""
    found = {
        one.page: bare_edges(one, bleed_pt) for one in colour_maps(source, dpi=dpi, limits=limits)
    }
    return {page: edges for page, edges in found.items() if edges}


def _bare_edge(
    found: ColourMap, inked: NDArray[np.bool_], side: Side, bleed_pt: float
) -> BareEdge | None:
    trim, media = found.boxes.trim, found.boxes.media
    rows, columns = found.window(trim)
    height, width = found.labels.shape
    upright = side in {"left", "right"}
    field = inked if upright else inked.T
    along, across = (rows, columns) if upright else (columns, rows)
    across_pt, along_pt = media.width_pt / width, media.height_pt / height
    if not upright:
        across_pt, along_pt = along_pt, across_pt
    outwards = -1 if side in {"left", "top"} else 1
    edge = across.start if outwards < 0 else across.stop - 1

    def line(at: int) -> NDArray[np.bool_]:
        inside = 0 <= at < field.shape[1]
        return field[along, at] if inside else np.zeros(along.stop - along.start, dtype=bool)

    # Two pixels inside, so that a cut in the middle of a pixel does not hide what touches it.
    going = line(edge) & line(edge - outwards)
    at_cut = going.copy()
    steps = max(1, int(bleed_pt / across_pt) - 1)  # the last pixel may be cut by rounding
    reach = np.full(going.shape, steps)
    for step in range(1, steps + 1):
        here = line(edge + outwards * step)
        reach[going & ~here] = step - 1
        going &= here
    bare = at_cut & (reach < steps)
    if not bare.any():
        return None
    spots = np.nonzero(bare)[0]
    first, last = float(spots[0]) * along_pt, float(spots[-1] + 1) * along_pt
    if upright:
        top = media.top_pt - along.start * along_pt
        low, high = top - last, top - first
    else:
        left = media.left_pt + along.start * along_pt
        low, high = left + first, left + last
    strip = {
        "left": (trim.left_pt - bleed_pt, low, trim.left_pt, high),
        "right": (trim.right_pt, low, trim.right_pt + bleed_pt, high),
        "bottom": (low, trim.bottom_pt - bleed_pt, high, trim.bottom_pt),
        "top": (low, trim.top_pt, high, trim.top_pt + bleed_pt),
    }[side]
    return BareEdge(
        side=side,
        length_mm=mm(float(np.count_nonzero(bare)) * along_pt),
        reach_pt=float(reach[bare].min()) * across_pt,
        box=Box.of(strip),
    )


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
        From :func:`bare_edges_of`; other pages and sides stay as they are.
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
                    f"mirroring its rim on the {_list(sides)}",
                    place=place,
                    hint="look at the edges by eye; better, have the artwork drawn with bleed",
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
                    hint="look at what stands near the edges; better, have the artwork drawn "
                    "with bleed",
                )
            )
    return tuple(findings)


def _list(sides: Sequence[str]) -> str:
    return sides[0] if len(sides) == 1 else f"{', '.join(sides[:-1])} and {sides[-1]}"


def _mirror(pdf: pikepdf.Pdf, page: pikepdf.Page, sides: Sequence[Side], bleed_pt: float) -> None:
    boxes = page_boxes(page)
    unit = boxes.user_unit
    by = bleed_pt / unit
    left, bottom, right, top = (corner / unit for corner in boxes.trim.corners_pt)
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
        (trim.width_pt + 2 * bleed_pt) / trim.width_pt,
        (trim.height_pt + 2 * bleed_pt) / trim.height_pt,
    )
    x = (trim.left_pt + trim.right_pt) / 2 / unit * (1 - scale)
    y = (trim.bottom_pt + trim.top_pt) / 2 / unit * (1 - scale)
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
        BBox=pikepdf.Array([corner / boxes.user_unit for corner in boxes.media.corners_pt]),
        Resources=inherited(node, "/Resources") or pikepdf.Dictionary(),
    )
    node["/Resources"] = pikepdf.Dictionary(XObject=pikepdf.Dictionary(Artwork=artwork))
    node["/Contents"] = pdf.make_stream(content.encode())
    bleed = boxes.trim.grown(bleed_pt)
    for key, outer in (("/MediaBox", boxes.media), ("/CropBox", boxes.crop)):
        around = (
            min(outer.left_pt, bleed.left_pt),
            min(outer.bottom_pt, bleed.bottom_pt),
            max(outer.right_pt, bleed.right_pt),
            max(outer.top_pt, bleed.top_pt),
        )
        node[key] = pikepdf.Array([corner / boxes.user_unit for corner in around])
    for key, box in (("/BleedBox", bleed), ("/TrimBox", boxes.trim)):
        node[key] = pikepdf.Array([corner / boxes.user_unit for corner in box.corners_pt])
    if "/ArtBox" in node:
        del node["/ArtBox"]
