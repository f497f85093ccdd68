"""A piece, its rules, and what the checks find: for the tests of the checks."""

from pathlib import Path

import pikepdf
import pytest

from inkaccord.artwork.preflight import (
    ArtworkRules,
    PreflightContext,
    preflight,
)
from inkaccord.diagnostics import Diagnostic
from inkaccord.sizes import Size
from page_kit import embedded_font, finish, image, written

TRIM = {"TrimBox": [20.0, 20.0, 180.0, 280.0], "BleedBox": [11.0, 11.0, 189.0, 289.0]}
PIECE = Size(width_pt=160, height_pt=260)
RULES = ArtworkRules(trim=PIECE)
CLEAN = "0.85 0.2 0.6 0.3 k 11 11 178 278 re f"


def found(
    data: bytes | Path,
    rules: ArtworkRules = RULES,
    context: PreflightContext | None = None,
) -> dict[str, Diagnostic]:
    """Return the first finding of each code."""
    by_code: dict[str, Diagnostic] = {}
    for finding in preflight(data, rules, context=context):
        by_code.setdefault(finding.code, finding)
    return by_code


def mm_box(*corners_pt: float) -> object:
    """Return a box in points as a place has it, near enough."""
    return pytest.approx([corner * 25.4 / 72 for corner in corners_pt], abs=0.3)


def states(**settings: object) -> pikepdf.Dictionary:
    """Return graphics states with one, ``/G``."""
    return pikepdf.Dictionary(G=pikepdf.Dictionary(**settings))


def typeset(content: str, boxes: dict[str, list[float]] = TRIM) -> bytes:
    """Return a page with type in squares: ``/T`` is the font."""
    with pikepdf.new() as pdf:
        return finish(pdf, content, boxes, Font=pikepdf.Dictionary(T=embedded_font(pdf)))


def pictured(width: int, size_pt: float, bits: int = 8) -> bytes:
    """Return a page with a gray picture of so many pixels at a size."""
    with pikepdf.new() as pdf:
        samples = bytes((width * bits + 7) // 8 * width)
        gray = image(pdf, samples, (width, width), "/DeviceGray", BitsPerComponent=bits)
        content = f"q {size_pt} 0 0 {size_pt} 50 50 cm /I Do Q"
        return finish(pdf, content, TRIM, XObject=pikepdf.Dictionary(I=gray))


def separation(name: str, *build: float) -> pikepdf.Array:
    """Return the space of a spot with a build in CMYK, 0 to 1."""
    tint = pikepdf.Dictionary(FunctionType=2, Domain=[0, 1], N=1, C0=[0] * 4, C1=list(build))
    return pikepdf.Array(
        [pikepdf.Name.Separation, pikepdf.Name(f"/{name}"), pikepdf.Name.DeviceCMYK, tint]
    )


def registration(content: str) -> bytes:
    """Return a page with the registration colour: ``/A``."""
    spaces = pikepdf.Dictionary(A=separation("All", 1, 1, 1, 1))
    return written(content, TRIM, ColorSpace=spaces)


def layer(pdf: pikepdf.Pdf, name: str, *, hidden: bool) -> pikepdf.Dictionary:
    """Return a page's properties with a layer, ``/L``, that is switched off or on."""
    group = pdf.make_indirect(pikepdf.Dictionary(Type=pikepdf.Name.OCG, Name=pikepdf.String(name)))
    off = pikepdf.Array([group] if hidden else [])
    pdf.Root["/OCProperties"] = pikepdf.Dictionary(OCGs=[group], D=pikepdf.Dictionary(OFF=off))
    return pikepdf.Dictionary(L=group)


def layered(*, hidden: bool) -> bytes:
    """Return a page with a die line on a layer."""
    with pikepdf.new() as pdf:
        content = "/OC /L BDC 50 50 60 60 re f EMC"
        return finish(pdf, content, TRIM, Properties=layer(pdf, "Die line", hidden=hidden))
