"""One piece up, fed singly: envelopes and cards.

The page that is sent to the device has the edge that goes in first at its top (common practice
of drivers, no source: print one and look). A piece is turned so that its chosen edge leads.
"""

from enum import StrEnum
from typing import Annotated

from pydantic import Field

from inkaccord.diagnostics import Diagnostic, Place, note, warning
from inkaccord.layout.model import Edge, Placement, Rotation
from inkaccord.layout.placing import placing
from inkaccord.layout.sources import ArtworkForms
from inkaccord.models import Frozen
from inkaccord.pdf.forms import packed
from inkaccord.pdf.writing import Written, finish, page_mould, page_object
from inkaccord.sizes import Box, Margins, Sides, Size
from inkaccord.units import mm


class Flap(StrEnum):
    """How an envelope's flap lies while it is fed."""

    NONE = "none"
    """A card, or a pocket without a flap."""
    DOWN = "down"
    """Closed, flap underneath: the face looks up."""
    UP = "up"
    """Closed, flap on top: the face looks down."""
    OPEN = "open"
    """Opened out: the flap makes the fed piece longer."""


class Feeding(Frozen):
    """How a device takes single pieces."""

    leading: Edge = Edge.LEFT
    """The edge of the piece, as its face is read, that goes in first."""
    flap: Flap = Flap.NONE
    flap_edge: Edge = Edge.TOP
    flap_depth_pt: Annotated[float, Field(ge=0)] = 0.0
    """Only for an open flap."""
    margins: Margins = Sides()
    """What the device cannot print, as the fed page stands: its top is the leading edge."""


class Fed(Frozen):
    """Where a piece lies on the page that is sent to the device."""

    page: Size
    placement: Placement
    printable: Box
    how: str
    """How to put it into the tray."""
    findings: tuple[Diagnostic, ...] = ()


_SEEN_PT = 0.5
"""What a picture of a page tells no finer than."""
_TURNS: dict[Edge, Rotation] = {Edge.TOP: 0, Edge.RIGHT: 90, Edge.BOTTOM: 180, Edge.LEFT: 270}


def feed(name: str, trim: Size, feeding: Feeding) -> Fed:
    """Return how a piece is placed on the page that is sent.

    Parameters
    ----------
    name
        The piece, for findings.
    trim
        Its size, closed, as its face is read.
    feeding
        How the device takes it.
    """
    rotation = _TURNS[feeding.leading]
    depth = feeding.flap_depth_pt if feeding.flap is Flap.OPEN else 0.0
    flat = Box(
        -depth if feeding.flap_edge is Edge.LEFT else 0.0,
        -depth if feeding.flap_edge is Edge.BOTTOM else 0.0,
        trim.width_pt + (depth if feeding.flap_edge is Edge.RIGHT else 0.0),
        trim.height_pt + (depth if feeding.flap_edge is Edge.TOP else 0.0),
    )
    turned = _turned(flat, rotation)
    face = _turned(Box(0.0, 0.0, trim.width_pt, trim.height_pt), rotation)
    face = face.moved(-turned.left, -turned.bottom)
    page = Size(width_pt=turned.width, height_pt=turned.height)
    printable = feeding.margins.within(page)
    placement = Placement(
        item=name,
        x_pt=face.left,
        y_pt=face.bottom,
        width_pt=face.width,
        height_pt=face.height,
        rotation=rotation,
    )
    return Fed(
        page=page,
        placement=placement,
        printable=printable,
        how=_how(feeding),
        findings=tuple(_flap(name, feeding)),
    )


def single_feed(
    pdf: bytes,
    name: str,
    trim: Size,
    feeding: Feeding,
    *,
    pdf_version: str = "1.7",
    title: str = "",
) -> Written:
    """Write each page of a PDF as it must be sent to the device. Bleed is cut off at the edge."""
    fed = feed(name, trim, feeding)
    with ArtworkForms({name: pdf}) as sources:
        forms = sources.pages(name, range(sources.page_count(name)), trim, 0.0)
        content = f"q {placing(fed.placement)} cm /P0 Do Q".encode()
        mould = page_mould(
            fed.page, fed.placement.trim, fed.placement.trim, packed(sources.pdf, content)
        )
        pages = [page_object(sources.pdf, mould, {"/P0": sources.forms[n]}) for n in forms]
        data = finish(sources.pdf, pages, pdf_version=pdf_version, title=title or name)
        findings = (*sources.findings, *fed.findings)
    return Written(data=data, pages=len(pages), findings=tuple(dict.fromkeys(findings)))


def _turned(box: Box, rotation: Rotation) -> Box:
    """Return a box turned about the origin."""
    for _ in range(rotation // 90):
        box = Box(-box.top, box.left, -box.bottom, box.right)
    return box


def beyond_printable(name: str, fed: Fed, ink: Box | None) -> tuple[Diagnostic, ...]:
    """Tell by how much ink lies beyond what the device prints, as the page is fed.

    ``ink`` is the box round all ink of the page that is sent; None where there is none.
    """
    if ink is None:
        return ()
    printable = fed.printable
    short = max(
        printable.left - ink.left,
        printable.bottom - ink.bottom,
        ink.right - printable.right,
        ink.top - printable.top,
    )
    if short <= _SEEN_PT:
        return ()
    return (
        warning(
            "beyond-printable",
            f"{name} has ink {mm(short):.1f} mm beyond what the device prints",
            place=Place(field=f"pieces.{name}"),
            in_program="move what stands there inwards, away from the edge",
            hint="or feed it by another edge: the device's 'feeds'; the rim that it can't print is "
            "its 'margin'",
        ),
    )


def _flap(name: str, feeding: Feeding) -> list[Diagnostic]:
    place = Place(field=f"pieces.{name}")
    if feeding.flap is Flap.NONE:
        return []
    if feeding.flap_edge is feeding.leading:
        return [
            warning(
                "flap-leads",
                f"the flap of {name} goes in first and may open or jam",
                place=place,
                hint="feed it by an edge without flap, as the device's maker says: its 'feeds'",
            )
        ]
    if feeding.flap is Flap.OPEN and not feeding.flap_depth_pt:
        return [
            note(
                "flap-depth-unknown",
                f"{name} is fed with its flap open, and nobody said how deep the flap is",
                place=place,
                hint="measure the flap and say so",
            )
        ]
    return []


def _how(feeding: Feeding) -> str:
    face = {
        Flap.NONE: "as the device's tray asks for the printed side",
        Flap.DOWN: "flap closed and underneath, face up",
        Flap.UP: "flap closed and on top, face down",
        Flap.OPEN: "flap open, so that it does not lie under the printed part",
    }[feeding.flap]
    return (
        f"{feeding.leading} edge first, {face}. Print one and check it before the run; use only "
        "envelopes that the device's maker allows."
    )
