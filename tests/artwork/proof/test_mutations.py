"""Break the recolourer on purpose, and count the wrong files that the proof lets through: none.

Each part of the recolourer is changed in one place at a time (a number, a sign, a comparison, a
condition) and run by itself, while the proof uses the code as it is. A mutant counts when its file
looks otherwise than the right one in PDFium; it must be refused with an error or fail the proof.
"""

import ast
import contextlib
import copy
import hashlib
import importlib
import importlib.util
import io
import signal
import sys
from collections.abc import Iterator
from functools import cache, lru_cache
from pathlib import Path
from time import process_time
from typing import Any

import numpy as np
import pikepdf
import pytest

import gradient_kit
from artwork_kit import KELP, document, form, parsed, resource, stream
from gradient_kit import Stripe
from inkaccord.artwork.marks.mark import Mark
from inkaccord.artwork.marks.reader import PageReader
from inkaccord.artwork.profiled import Profiled
from inkaccord.artwork.proof.prove import prove
from inkaccord.artwork.recolouring.recolour import (
    OverprintMode,
    RecolourOptions,
    SpotMode,
    recolour,
)
from inkaccord.artwork.roles import Role
from inkaccord.artwork.swaps import parse_swap
from inkaccord.errors import FileError
from inkaccord.pdf.boxes import page_boxes
from inkaccord.pdf.entries import entry
from page_kit import unblended
from structure_kit import jpeg_of_inks

pytestmark = pytest.mark.slow

MOST = 20
SMOKE = 2
ENDLESS = 50
"""How many times as long as the recolourer a mutant takes, and a second, before it is endless."""
SEEN = 5
"""Steps of 255 by which a picture must differ to be another."""
_ARTWORK = "inkaccord.artwork."
_ROOM = _ARTWORK + "recolouring."
_COLOURS = "inkaccord.pdf.colours."
_CONTENT = _ARTWORK + "content."
PARTS = [
    _ROOM + "conversion", _ROOM + "gradients", _ROOM + "fields", _ROOM + "recolourer",
    _ROOM + "resources", _ROOM + "pictures", _ROOM + "rewriting", _ROOM + "masks",
    _ROOM + "stops", _ROOM + "flights", _ROOM + "variants",
    _ROOM + "ink_gradients", _ROOM + "ink_mixtures", _ROOM + "mixture_spaces",
    _ROOM + "ink_pictures", _ROOM + "ink_spaces", _ROOM + "edits", _ROOM + "default_spaces",
    _CONTENT + "interpreter", _CONTENT + "pens", _CONTENT + "steps", _CONTENT + "traverse",
    _CONTENT + "scan", _CONTENT + "graphics_state", _CONTENT + "operators", _CONTENT + "switches",
    _ARTWORK + "swap_table", _ARTWORK + "kept_inks", _ARTWORK + "mixing", _ARTWORK + "flights",
    _ARTWORK + "lines", _ARTWORK + "by_look", _COLOURS + "ramps", _COLOURS + "meshes",
    _COLOURS + "functions", _COLOURS + "sections", _COLOURS + "space_reader", _COLOURS + "spaces",
    _COLOURS + "shadings", _COLOURS + "calculator", _COLOURS + "scope",
]  # fmt: skip
UNCOUNTED = {
    _ROOM + "absent": "says which colours that were asked for a file lacks",
    _ROOM + "leftovers": "says which plates a file still names, and takes none away",
    _ROOM + "oddities": "puts findings into words",
    _ROOM + "recolour": "calls the others in turn",
    _ROOM + "unhandled": "says what is left alone",
    _CONTENT
    + "reading": "holds what the interpreter found; edits are made as in recolouring.edits",
    _CONTENT + "walk": "tells the colours of a file to inventory and proof, and writes nothing",
    _COLOURS + "alternates": "tells people what spots look like",
    _COLOURS + "colours": "names colours for people",
    _COLOURS + "profiles": "reads profiles; held to LittleCMS in tests/colour",
    _ARTWORK + "advice": "words for people",
    _ARTWORK + "made_with": "tells the program that made a file, for words",
    _ARTWORK + "one_file": "calls recolouring and proof in turn",
    _ARTWORK + "pixels": "tells pixels apart for photographs, which have a proof of their own",
    _ARTWORK + "plate_copies": "makes copies to draw, none to print",
    _ARTWORK + "plates": "tells the inks of a file, and writes nothing",
    _ARTWORK + "profiled": "names what is asked about profiles",
    _ARTWORK + "programs": "names kinds of programs",
    _ARTWORK + "rewritten": "tells colours that stay, for words",
    _ARTWORK + "roles": "names what colours are used for",
    _ARTWORK + "swaps": "holds what was asked: recolouring and proof are given the same values",
    _ARTWORK + "taking_up": "lines to paste into an order",
    _ARTWORK + "two_plates": "tells plates that a file has twice, for words",
}
"""Modules beside the recolourer's parts, and why no mutant of theirs makes another file.

What finishes a copy, or matches its photographs, is not among them: each has a proof of its own.
"""
_ANEW = (
    _ROOM[:-1], _CONTENT[:-1], _COLOURS[:-1], _ARTWORK + "swap_table", _ARTWORK + "kept_inks",
    _ARTWORK + "mixing", _ARTWORK + "by_look", _ARTWORK + "flights", _ARTWORK + "lines",
)  # fmt: skip
"""How the names of modules begin that are loaded anew beside a mutant: all that may rest on it."""

# -- mutants ----------------------------------------------------------------------------------

_OTHERS: dict[type, type] = {
    ast.Lt: ast.GtE, ast.LtE: ast.Gt, ast.Gt: ast.LtE, ast.GtE: ast.Lt, ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq, ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn,
    ast.NotIn: ast.In, ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult,
    ast.And: ast.Or, ast.Or: ast.And, ast.BitAnd: ast.BitOr, ast.BitOr: ast.BitAnd,
}  # fmt: skip


def _changes(node: ast.AST) -> Iterator[tuple[str, Any]]:
    """Yield the field of a node that can be changed, and to what."""
    if isinstance(node, ast.Compare) and type(node.ops[0]) in _OTHERS:
        yield "ops", [_OTHERS[type(node.ops[0])](), *node.ops[1:]]
    elif isinstance(node, (ast.BinOp, ast.BoolOp)) and type(node.op) in _OTHERS:
        yield "op", _OTHERS[type(node.op)]()
    elif isinstance(node, ast.Constant) and type(node.value) in (int, float):
        yield "value", node.value + 1
    elif isinstance(node, ast.Constant) and type(node.value) is bool:
        yield "value", not node.value
    elif isinstance(node, (ast.IfExp, ast.If)):
        yield "test", ast.UnaryOp(op=ast.Not(), operand=node.test)
    elif isinstance(node, ast.Call) and ast.unparse(node.func) in ("min", "max"):
        other = {"min": "max", "max": "min"}[ast.unparse(node.func)]
        yield "func", ast.Name(id=other, ctx=ast.Load())


def _mutants(source: str) -> Iterator[tuple[str, range, ast.Module]]:
    """Yield mutants of a module in an order that is mixed, and the same on every machine.

    Each comes with what was changed, in words, and the lines of the statement that holds it: none
    outside of functions.
    """
    tree = ast.parse(source)
    statements = _statements(tree)
    places = [
        (number, field, new)
        for number, node in enumerate(ast.walk(tree))
        for field, new in _changes(node)
    ]
    places.sort(key=lambda place: hashlib.sha256(f"{place[0]} {place[1]}".encode()).digest())
    for number, field, new in places:
        mutant = copy.deepcopy(tree)
        node = next(one for i, one in enumerate(ast.walk(mutant)) if i == number)
        before = ast.unparse(node)
        setattr(node, field, new)
        line = getattr(node, "lineno", 0)
        words = f"line {line}: {before} -> {ast.unparse(node)}"
        yield words, statements.get(number, range(0)), ast.fix_missing_locations(mutant)


def _statements(tree: ast.Module) -> dict[int, range]:
    """Return the lines of the statement in a function that holds each node, by its number."""
    lines = {}
    for function in ast.walk(tree):
        if isinstance(function, ast.FunctionDef):
            for statement in (one for top in function.body for one in ast.walk(top)):
                if isinstance(statement, ast.stmt):  # outer ones first
                    span = _span(statement)
                    lines.update({id(part): span for part in ast.walk(statement)})
    return {at: lines[id(node)] for at, node in enumerate(ast.walk(tree)) if id(node) in lines}


def _span(statement: ast.stmt) -> range:
    """Return the lines of a statement; of one that holds others in one body those before them."""
    first = min([one.lineno for one in (statement, *getattr(statement, "decorator_list", ()))])
    last = statement.end_lineno or first
    if isinstance(statement, (ast.FunctionDef, ast.If, ast.For, ast.While, ast.With)):
        last = max(statement.lineno, statement.body[0].lineno - 1)
    return range(first, last + 1)


def _loaded(part: str, tree: ast.Module) -> Any:
    """Return ``recolour`` built on a mutant of one module; what is loaded else stays as it is."""
    own = [name for name in sys.modules if name.startswith(_ANEW)]
    kept = {name: sys.modules.pop(name) for name in own}
    try:
        spec = importlib.util.find_spec(part)
        assert spec is not None
        module = importlib.util.module_from_spec(spec)
        sys.modules[part] = module
        exec(compile(tree, part, "exec"), module.__dict__)  # noqa: S102 - our own source, changed
        return importlib.import_module(_ROOM + "recolour").recolour
    finally:
        for name in [n for n in sys.modules if n.startswith(_ANEW)]:
            del sys.modules[name]
        sys.modules.update(kept)


# -- cases ------------------------------------------------------------------------------------

OLD, PAPER, PINK, SAND = (0.85, 0.2, 0.6, 0.3), (0.0,) * 4, (0.0, 1.0, 0.0, 0.0), (0, 0.1, 0.5, 0.1)
STRIPES = [
    Stripe(0, 0.2, PAPER, PAPER),
    Stripe(0.2, 0.4, OLD, OLD),
    Stripe(0.4, 0.6, PINK, SAND, 2),
    Stripe(0.6, 0.8, OLD, PAPER),
    Stripe(0.8, 1, PINK, PINK),
]
BENT = [Stripe(0, 0.4, PINK, OLD), Stripe(0.4, 1, OLD, SAND)]
MEAN = tuple((a + b) / 2 for a, b in zip(OLD, PINK, strict=True))
DERIVED = [Stripe(0, 0.3, OLD, MEAN), Stripe(0.3, 1, MEAN, PINK)]
"""With a stop that its program derived from the two ends."""
SWAPS = [
    parse_swap("cmyk 85 20 60 30 = cmyk 10 90 55 0"),
    parse_swap("spot Kelp = cmyk 0 70 0 40"),
    parse_swap("lab 45 60 -30 = cmyk 5 0 80 10"),
    parse_swap("rgb 230 20 120 = cmyk 90 0 10 60"),
]
"""Far from what they replace, so that a slip is seen."""
Case = tuple[bytes, RecolourOptions]


def _shaded(build: gradient_kit.Build, frame: gradient_kit.Frame, stripes: list[Stripe]) -> bytes:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        resource(page, "/Shading", "/S", frame(pdf, build(pdf, stripes), "/DeviceCMYK"))

    return document(b"/S sh", setup=setup)


def _field() -> bytes:
    words = "2 copy add 1 lt { pop pop 0.85 0.2 0.6 0.3 } { pop pop 0 1 0 0 } ifelse"

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        shading = parsed("<< /ShadingType 1 /ColorSpace /DeviceCMYK /Matrix [100 0 0 100 0 0] >>")
        shading["/Function"] = gradient_kit.calculated(pdf, words, 4, 2)
        resource(page, "/Shading", "/S", pdf.make_indirect(shading))

    return document(b"/S sh", setup=setup)


def _corners() -> bytes:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        data = b"".join(
            bytes([x, y, *(round(255 * v) for v in colour)])
            for x, y, colour in (
                (0, 0, OLD),
                (128, 0, MEAN),
                (255, 0, PINK),
                (0, 255, PINK),
                (128, 255, PINK),
                (255, 255, OLD),
            )
        )
        entries = (
            "<< /ShadingType 5 /ColorSpace /DeviceCMYK /BitsPerCoordinate 8 /BitsPerComponent 8 "
            "/VerticesPerRow 3 /Decode [0 100 0 100 0 1 0 1 0 1 0 1] >>"
        )
        resource(page, "/Shading", "/S", stream(pdf, data, entries))

    return document(b"/S sh", setup=setup)


def _objects() -> bytes:
    """A spot in page, form, table and mask; plain colour; a gradient in the spot."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        kelp = pdf.make_indirect(parsed(KELP))
        resource(page, "/ColorSpace", "/K", kelp)
        resource(page, "/XObject", "/F", form(pdf, b"/K cs 0.7 scn 60 0 40 40 re f"))
        group = form(
            pdf,
            b"/K cs 0.5 scn 0 0 50 100 re f",
            "<< /Group << /S /Transparency /CS /DeviceCMYK >> >>",
        )
        mask = pikepdf.Dictionary(S=pikepdf.Name.Luminosity, G=group)
        resource(page, "/ExtGState", "/M", pikepdf.Dictionary(SMask=mask))
        image = stream(
            pdf, bytes([0, 1, 1, 0]),
            "<< /Subtype /Image /Width 2 /Height 2 /BitsPerComponent 8 >>",
        )  # fmt: skip
        table = bytes([217, 51, 153, 76, 0, 255, 0, 0])
        image["/ColorSpace"] = pikepdf.Array(
            [pikepdf.Name.Indexed, pikepdf.Name.DeviceCMYK, 1, pikepdf.String(table)]
        )
        resource(page, "/XObject", "/I", image)
        tints = [Stripe(0, 0.5, (0.2,), (1.0,)), Stripe(0.5, 1, (0.6,), (0.0,))]
        shading = parsed("<< /ShadingType 2 /ColorSpace null /Coords [0 0 50 0] >>")
        shading["/ColorSpace"], shading["/Function"] = kelp, gradient_kit.stitched(pdf, tints)
        resource(page, "/Shading", "/S", pdf.make_indirect(shading))

    return document(
        b"0.85 0.2 0.6 0.3 k 0 0 20 20 re f 0.425 0.1 0.3 0.15 K 5 w 0 30 m 50 30 l S "
        b"/K cs 0.5 scn 20 0 20 20 re f /F Do q 30 0 0 30 0 40 cm /I Do Q "
        b"q 50 50 50 50 re W n /M gs 0 1 0 0 k 0 0 100 100 re f Q q 0 80 50 20 re W n /S sh Q",
        setup=setup,
    )


def _masked() -> bytes:
    """A form and a spot that are printed and that masks use, too, once by way of the page."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        kelp = pdf.make_indirect(parsed(KELP))
        resource(page, "/ColorSpace", "/K", kelp)
        inner = pdf.make_indirect(form(pdf, b"0.85 0.2 0.6 0.3 k 0 0 50 100 re f"))
        resource(page, "/XObject", "/F", inner)
        group = "<< /Group << /S /Transparency /CS /DeviceCMYK >> >>"
        own = form(pdf, b"/X Do /K cs 0.9 scn 50 0 50 50 re f", group)
        own["/Resources"] = pikepdf.Dictionary(
            XObject=pikepdf.Dictionary(X=inner), ColorSpace=pikepdf.Dictionary(K=kelp)
        )
        taken = form(pdf, b"/F Do /K cs 0.6 scn 50 50 50 50 re f", group)
        for name, one in (("/A", own), ("/B", taken)):
            mask = pikepdf.Dictionary(S=pikepdf.Name.Luminosity, G=pdf.make_indirect(one))
            resource(page, "/ExtGState", name, pikepdf.Dictionary(SMask=mask))

    return document(
        b"q 0.4 0 0 0.4 0 0 cm /F Do Q /K cs 0.5 scn 0 90 100 10 re f "
        b"q /A gs 0 0 0 1 k 0 0 100 45 re f Q q /B gs 0 0 0 1 k 0 45 100 45 re f Q",
        setup=setup,
    )


def _stepped() -> bytes:
    """A gradient as flat fills, and one of its colours alone."""
    fills = []
    for i in range(30):
        colour = [a + (b - a) * i / 29 for a, b in zip(OLD, PINK, strict=True)]
        fills.append(" ".join(f"{v:.4f}" for v in colour) + f" k {3 * i} 0 4 50 re f")
    alone = fills[12].split(" k")[0] + " k 0 60 50 30 re f"
    return document("\n".join([*fills, alone]).encode())


def _inks() -> bytes:
    """A gradient of process inks and a spot in one space."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        spot = (0.0, 0.0, 0.0, 0.0, 1.0)
        stripes = [Stripe(0, 0.4, (*OLD, 0.0), spot), Stripe(0.4, 1, (*OLD, 0.0), (*PINK, 0.0))]
        shading = gradient_kit.axial(pdf, gradient_kit.stitched(pdf, stripes), "/DeviceGray")
        space = parsed("[/DeviceN [/Cyan /Magenta /Yellow /Black /Kelp] /DeviceCMYK null]")
        corners = [tuple(number >> i & 1 for i in range(5)) for number in range(32)]
        samples = bytes(255 * max(one[i], one[4] * (i == 1)) for one in corners for i in range(4))
        space[3] = stream(
            pdf, samples,
            "<< /FunctionType 0 /BitsPerSample 8 /Size [2 2 2 2 2] "
            "/Domain [0 1 0 1 0 1 0 1 0 1] /Range [0 1 0 1 0 1 0 1] >>",
        )  # fmt: skip
        shading["/ColorSpace"] = space
        resource(page, "/Shading", "/S", shading)

    return document(b"/S sh", setup=setup)


def _beside() -> bytes:
    """Mixtures of inks with a spot that stays: flat, as a pattern, in a table, in a gradient."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        words = b"{ 0.5 mul exch 0.4 mul exch 0 }"
        domain = "/FunctionType 4 /Domain [0 1 0 1 0 1] /Range [0 1 0 1 0 1 0 1]"
        three = parsed("[/DeviceN [/Cyan /Kelp /Foil] /DeviceCMYK null]")
        three[3] = stream(pdf, words, f"<< {domain} >>")
        five = parsed("[/DeviceN [/Cyan /Magenta /Yellow /Black /Foil] /DeviceCMYK null]")
        five[3] = stream(
            pdf,
            b"{ 0.5 mul 4 -1 roll add 3 1 roll }",
            domain.join(("<< ", " >>")).replace("[0 1 0 1 0 1]", "[" + "0 1 " * 5 + "]"),
        )
        resource(page, "/ColorSpace", "/T", three)
        resource(page, "/ColorSpace", "/F", five)
        resource(page, "/ColorSpace", "/U", pikepdf.Array([pikepdf.Name.Pattern, three]))
        box = "/PatternType 1 /PaintType 2 /TilingType 1 /BBox [0 0 9 9] /XStep 9 /YStep 9"
        cell = stream(pdf, b"0 0 6 9 re f", f"<< {box} /Resources << >> >>")
        resource(page, "/Pattern", "/P", cell)
        pixels = "/Width 2 /Height 1 /BitsPerComponent 8"
        image = stream(pdf, b"\x01\x00", f"<< /Subtype /Image {pixels} >>")
        table = pikepdf.String(bytes([90, 200, 60, 0, 128, 255]))
        image["/ColorSpace"] = pikepdf.Array([pikepdf.Name.Indexed, three, 1, table])
        resource(page, "/XObject", "/I", image)
        stripes = [Stripe(0, 0.5, (0.4, 1.0, 0.0), (0.4, 0.0, 1.0)),
                   Stripe(0.5, 1, (0.0, 0.2, 0.6), (0.0, 0.8, 0.6))]  # fmt: skip
        shading = gradient_kit.axial(pdf, gradient_kit.stitched(pdf, stripes), "/DeviceGray")
        shading["/ColorSpace"] = three
        resource(page, "/Shading", "/S", shading)

    return document(
        b"/T cs 0.3 0.5 0.5 scn 0 0 25 25 re f /F cs 0.85 0.2 0.6 0.3 0.5 scn 25 0 25 25 re f "
        b"/U cs 0.2 0.9 0.4 /P scn 50 0 50 25 re f q 50 0 0 25 0 25 cm /I Do Q "
        b"q 0 60 100 40 re W n /S sh Q",
        setup=setup,
    )


def _streams() -> bytes:
    """Glyphs, patterns, an annotation, an inline table, forms called in several colours, looks."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        white = "<< /WhitePoint [0.9642 1 0.8249] >>"
        resource(page, "/ColorSpace", "/L", parsed(f"[/Lab {white}]"))
        resource(
            page, "/XObject", "/F", form(pdf, b"0 0 20 20 re f 0.85 0.2 0.6 0.3 k 9 9 9 9 re f")
        )
        box = "/PatternType 1 /PaintType 1 /TilingType 1 /BBox [0 0 9 9] /XStep 9 /YStep 9"
        cell = b"0.85 0.2 0.6 0.3 k 0 0 5 9 re f 0 0.3 0 0 k 5 0 4 9 re f"
        resource(page, "/Pattern", "/P", stream(pdf, cell, f"<< {box} /Resources << >> >>"))
        glyph = stream(pdf, b"9 0 d0 0.85 0.2 0.6 0.3 k 0 0 9 9 re f", "<< >>")
        stencil = stream(pdf, b"9 0 0 0 9 9 d1 0 0 9 9 re f", "<< >>")
        font = parsed(
            "<< /Type /Font /Subtype /Type3 /FontBBox [0 0 9 9] /FontMatrix [1 0 0 1 0 0] "
            "/FirstChar 97 /LastChar 98 /Widths [12 12] /Resources << >> "
            "/Encoding << /Differences [97 /a /b] >> >>"
        )
        font["/CharProcs"] = pikepdf.Dictionary(a=glyph, b=stencil)
        resource(page, "/Font", "/T", font)
        look = form(pdf, b"0.85 0.2 0.6 0.3 k 0 0 100 100 re f")
        note = parsed("<< /Type /Annot /Subtype /Square /Rect [80 80 99 99] /F 4 >>")
        note["/AP"] = pikepdf.Dictionary(N=pdf.make_indirect(look))
        page.obj["/Annots"] = pikepdf.Array([pdf.make_indirect(note)])

    return document(
        b"0.85 0.2 0.6 0.3 k /F Do q 1 0 0 1 25 0 cm 0 0.9 0.2 0 k /F Do Q q 1 0 0 1 50 0 cm "
        b"/DeviceCMYK cs 0.85 0.2 0.6 0.3 sc /F Do Q /Pattern cs /P scn 75 0 25 25 re f "
        b"BT /T 1 Tf 0.85 0.2 0.6 0.3 k 1 0 0 1 0 30 Tm (aba) Tj ET "
        b"q 20 0 0 20 50 30 cm BI /W 2 /H 1 /BPC 8 /CS [/I /CMYK 1 <D933994C00FF0000>] "
        b"ID \x00\x01 EI Q "
        b"/L cs 45 60 -30 scn 0 55 20 20 re f 0.4 0.1 0.8 rg 25 55 20 20 re f "
        b"q 0.5 g 50 55 20 20 re f q 0.85 0.2 0.6 0.3 K Q Q 0.87 0.2 0.6 0.3 k 75 55 20 20 re f "
        b"0.425 0.1 0.3 0.15 k 0 80 20 20 re f 0.85 0.2 0.6 0.3 k 25 80 20 20 re B",
        setup=setup,
    )


def _pictures() -> bytes:
    """Pictures in a spot and in several inks, of few bits, fax or JPEG, also beside a spot."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        words = b"{ 0.5 mul exch 0.4 mul exch 0 0 4 2 roll }"
        look = stream(
            pdf, words, "<< /FunctionType 4 /Domain [0 1 0 1] /Range [0 1 0 1 0 1 0 1] >>"
        )
        fax = "/Filter /CCITTFaxDecode /DecodeParms << /K 0 /Columns 8 /Rows 2 >>"
        dct = "/Filter /DCTDecode"
        shares = np.array([[[30, 220], [180, 90]]], np.uint8).repeat(2, axis=0).repeat(4, axis=1)
        packed = {fax: bytes.fromhex("00143601436c"), dct: jpeg_of_inks(shares)}
        for name, inks, bits, more in (
            ("/A", ["Kelp"], 8, ""), ("/B", ["Kelp"], 2, "/Decode [0.9 0.1]"),
            ("/C", ["Black", "Kelp"], 8, ""), ("/D", ["Black", "Kelp"], 4, "/Decode [1 0 0 0.8]"),
            ("/E", ["Kelp", "Foil"], 8, ""), ("/F", ["Kelp"], 1, fax),
            ("/G", ["Black", "Kelp"], 8, dct),
        ):  # fmt: skip
            size = 2 * (8 * len(inks) * bits + 7) // 8
            data = bytes(37 * at % 256 for at in range(size))
            image = stream(
                pdf, packed.get(more, data),
                f"<< /Subtype /Image /Width 8 /Height 2 /BitsPerComponent {bits} {more} >>",
            )  # fmt: skip
            space = parsed(KELP)
            if len(inks) > 1:
                names = " ".join(f"/{ink}" for ink in inks)
                space = parsed(f"[/DeviceN [{names}] /DeviceCMYK null]")
                space[3] = look
            image["/ColorSpace"] = pdf.make_indirect(space)
            resource(page, "/XObject", name, image)

    return document(
        b" ".join(
            b"q 50 0 0 24 %d %d cm /%c Do Q" % (50 * (at % 2), 25 * (at // 2), 65 + at)
            for at in range(7)
        ),
        setup=setup,
    )


def _spelt() -> bytes:
    """Operators among strings, comments, dictionaries and pictures that look like them."""
    old = b"0.85 0.2 0.6 0.3 k"
    deep = b"(a (b (c (d " + old + b") ) \\) ) )"
    return document(
        [
            b"% "
            + old
            + b"\n/P <</X ("
            + old
            + b" >> \\) ( ))/Y <</Z[0.85 0.2]>> >> BDC .85 .2 .60"
            b" +.3k%c\n0 0 20 20 re f EMC BT " + deep + b" Tj <302E38> Tj ET q 20 0 0 20 20 0 cm "
            b"BI /W 4 /H 4 /BPC 8 /CS /G ID \n"
            + b"k EI f 0 1 0 0 "
            + b"\nEI Q "
            + old
            + b" 40 0 20 20",
            b"re f /Other cs 0.5 scn 60 0 20 20 re f 1 1 0.85\n0.2\t0.6\r0.3 k 80 0 20 20 re f",
            b"q 0.85 0.2 0.6",
            b"0.3 K 9 w 0 30 m 100 30 l S Q 0 0.9 0 0 k 0 50 50 20 re f q 0.85 0.2 0.6 0.3 k",
            b"50 50 50 20 re f Q 0 70 50 20 re f /#4Belp cs 0.7 scn 50 70 50 20 re f",
            b"0 0 0 0 9 9 d1 " + old + b" 0 90 50 10 re f",  # a stencil only as a character
        ],
        f"<< /ColorSpace << /Kelp {KELP} /Other {KELP.replace('/Kelp', '/Moss')} >> >>",
    )


def _looks() -> bytes:
    """Colours by their look: CIELAB and calibrated RGB, solid, tints and others."""
    white = "/WhitePoint [0.9505 1 1.089]"
    primaries = "0.4124 0.2126 0.0193 0.3576 0.7152 0.1192 0.1805 0.0722 0.9505"
    srgb = f"/Gamma [2.2 2.2 2.2] /Matrix [{primaries}]"
    spaces = (
        f"/L [/Lab << /WhitePoint [0.9642 1 0.8249] /Range [-128 127 -128 127] >>] "
        f"/C [/CalRGB << {white} {srgb} >>] /G [/CalGray << {white} /Gamma 2.2 >>]"
    )
    return document(
        b"/L cs 45 60 -30 scn 0 0 25 25 re f 45.4 60 -30 scn 25 0 25 25 re f "
        b"40 50 -20 scn 50 0 25 25 re f 60 40 -20 scn 75 0 25 25 re f /C cs "
        b"0.902 0.0784 0.4706 scn 0 25 25 25 re f "
        b"0.951 0.5392 0.7353 scn 25 25 25 25 re f 0.1 0.6 0.2 scn 50 25 25 25 re f 0 0 0 scn "
        b"75 25 25 25 re f /G cs 0.3 scn 0 50 50 25 re f 0.902 0.0784 0.4706 rg 50 50 50 25 re f "
        b"0.951 0.5392 0.7353 rg 0 75 50 25 re f 0.1 0.6 0.2 rg 50 75 50 25 re f",
        f"<< /ColorSpace << {spaces} >> >>",
    )


def _defaults() -> bytes:
    """Plain colour that resources send through something else, on a page and in a form."""
    bright = "[/CalRGB << /WhitePoint [0.9505 1 1.089] /Gamma [0.6 0.6 0.6] >>]"
    grey = "[/CalGray << /WhitePoint [0.9505 1 1.089] /Gamma 0.5 >>]"

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        inside = b"0.902 0.0784 0.4706 rg 50 0 50 50 re f 0.4 g 50 50 50 25 re f"
        own = f"<< /Resources << /ColorSpace << /DefaultRGB {bright} >> >> >>"
        resource(page, "/XObject", "/F", form(pdf, inside, own))

    return document(
        b"0.902 0.0784 0.4706 rg 0 0 50 50 re f 0.3 0.5 0.4 rg 0 50 50 50 re f /F Do",
        f"<< /ColorSpace << /DefaultRGB {bright} /DefaultGray {grey} >> >>",
        setup,
    )


def _overprinted() -> bytes:
    """Swapped colours under overprint, filled, stroked and called, beside what stays."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        foil = KELP.replace("Kelp", "Foil")
        resource(page, "/ColorSpace", "/K", parsed(KELP))
        resource(page, "/ColorSpace", "/F", parsed(foil))
        for name, words in (
            ("/O", "/OP true /op true /OPM 1"), ("/M", "/OP true /op true /OPM 0"),
            ("/S", "/OP true /op false /OPM 1"), ("/N", "/OP false"),
        ):  # fmt: skip
            resource(page, "/ExtGState", name, parsed(f"<< {words} >>"))
        entries = "<< /Subtype /Image /Width 2 /Height 1 /BitsPerComponent 8 >>"
        image = stream(pdf, b"\xff\x40", entries)
        image["/ColorSpace"] = parsed(foil)
        resource(page, "/XObject", "/I", image)
        called = form(pdf, b"0 0 15 15 re f /O gs 15 0 15 15 re f")
        called["/Resources"] = parsed("<< /ExtGState << /O << /OP true /op true /OPM 1 >> >> >>")
        resource(page, "/XObject", "/X", called)

    return document(
        b"0.3 0.3 0.3 0.3 k 0 0 100 100 re f /O gs 0.85 0.2 0.6 0.3 k 0 0 20 20 re f /K cs 1 scn "
        b"20 0 20 20 re f q 20 0 0 20 40 0 cm /I Do Q /F cs 0.5 scn 60 0 20 20 re f /M gs "
        b"0.85 0.2 0.6 0.3 k 80 0 20 20 re f /O gs 0.902 0.0784 0.4706 rg 0 20 20 20 re f "
        b"1 0 0 0 K 4 w 22 22 16 16 re B 0.2 0 0 0 k /K CS 0.6 SCN 42 22 16 16 re B /S gs "
        b"0.85 0.2 0.6 0.3 k 62 22 16 16 re B 0.85 0.2 0.6 0.3 K 82 22 16 16 re S q /N gs "
        b"0.85 0.2 0.6 0.3 k 0 40 20 20 re f Q 0 0 0 0.5 k q 1 0 0 1 20 40 cm /X Do Q "
        b"/K cs 1 scn q 1 0 0 1 55 40 cm /X Do Q",
        setup=setup,
    )


def _fields() -> bytes:
    """Comments and form fields that say their colours themselves."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        entries = (
            "/Subtype /Square /Rect [5 5 45 45] /C [0.85 0.2 0.6 0.3] /IC [0.425 0.1 0.3 0.15]",
            "/Subtype /Widget /FT /Tx /T (a) /Rect [55 5 95 45] /DA (/H 9 Tf 0.85 0.2 0.6 0.3 k) "
            "/MK << /BG [0.902 0.0784 0.4706] /BC [0.4] >>",
        )  # fmt: skip
        notes = [pdf.make_indirect(parsed(f"<< /Type /Annot /F 4 {one} >>")) for one in entries]
        page.obj["/Annots"] = pikepdf.Array(notes)
        pdf.Root["/AcroForm"] = pikepdf.Dictionary(
            Fields=pikepdf.Array(notes[1:]), DA=pikepdf.String("/H 9 Tf 0 g")
        )

    return document(b"0.85 0.2 0.6 0.3 k 0 60 50 40 re f", setup=setup)


@cache
def _cases() -> tuple[Case, ...]:
    kept, process = RecolourOptions(), RecolourOptions(spots=SpotMode.PROCESS)
    plain = RecolourOptions(profiled=Profiled.PLAIN)
    off = RecolourOptions(spots=SpotMode.PROCESS, overprint=OverprintMode.OFF)
    return (
        (_shaded(gradient_kit.equal_bounds, gradient_kit.axial, STRIPES), kept),
        (_shaded(gradient_kit.backwards, gradient_kit.mesh, STRIPES), kept),
        (_shaded(gradient_kit.calculator, gradient_kit.axial, STRIPES), kept),
        (_shaded(gradient_kit.one_ink_each, gradient_kit.radial, STRIPES), kept),
        (_shaded(gradient_kit.sampled_8, gradient_kit.axial, BENT), kept),
        (_shaded(gradient_kit.stitched, gradient_kit.axial, DERIVED), kept),
        (_field(), kept),
        (_corners(), kept),
        (_stepped(), kept),
        (_inks(), kept),
        (_inks(), process),
        (_masked(), kept),
        (_masked(), process),
        (_objects(), kept),
        (_objects(), process),
        (_beside(), process),
        (_streams(), kept),
        (_pictures(), process),
        (_beside(), kept),
        (_spelt(), kept),
        (_looks(), kept),
        (_looks(), plain),
        (_defaults(), plain),
        (_overprinted(), kept),
        (_overprinted(), off),
        (_fields(), kept),
    )


def _picture(data: bytes) -> Any:
    """Return what a file looks like, and what its pictures can't show: switches and entries."""
    return unblended(data).astype(int), _unseen(data)


def _unseen(data: bytes) -> list[str]:
    """Return how marks overprint, what comments and fields say, and default colour spaces."""
    found = []
    with pikepdf.open(io.BytesIO(data)) as pdf:
        marks: list[Mark] = []
        reader = PageReader(pdf, marks.append)
        for page in pdf.pages:
            reader.read_page(page, page_boxes(page))
            for note in page.obj.get("/Annots", []):
                look = note.get("/MK", pikepdf.Dictionary())
                values = [note.get(key) for key in ("/C", "/IC", "/DA")]
                values += [look.get(key) for key in ("/BG", "/BC")]
                found.append(" ".join(_rounded(one) for one in values if one is not None))
        # The mode means nothing to pictures (ISO 32000-2, 8.6.7).
        modes = ["" if one.role is Role.IMAGE else one.overprint_mode for one in marks]
        found += [
            f"{one.role} {one.overprint} {mode}" for one, mode in zip(marks, modes, strict=True)
        ]
        found += [key for one in pdf.objects for key in _default_spaces(one)]
    return found


def _default_spaces(thing: Any) -> Iterator[str]:
    """Yield the default colour spaces of an object's resources, which PDFium leaves out."""
    spaces = entry(entry(thing, "/Resources"), "/ColorSpace")
    yield from (key for key in (spaces.keys() if spaces is not None else ()) if "Default" in key)


def _rounded(value: Any) -> str:
    if isinstance(value, pikepdf.Array):
        return " ".join(f"{float(one):.2f}" for one in value)
    return " ".join(f"{float(w):.2f}" if w[:1].isdigit() else w for w in str(value).split())


@cache
def _right() -> tuple[tuple[bytes, Any, float], ...]:
    """Return of each case the right file, its picture, and how long a mutant may take for it."""
    found = []
    for source, options in _cases():
        start = process_time()
        data = recolour(source, SWAPS, options=options).data
        most = 1 + ENDLESS * (process_time() - start)
        found.append((data, _picture(data), most))
    return tuple(found)


def _slips(part: str, most: int) -> tuple[int, list[str]]:
    """Return how many mutants of a part gave another picture, and those that the proof passed."""
    wrong, slipped = 0, []
    for words, lines, tree in _mutants(_file_of(part).read_text("utf-8")):
        seen = _seen(part, lines, tree)
        if seen is None:
            continue
        wrong += 1
        if seen:
            slipped.append(f"{part} {words}")
        if wrong == most:
            break
    return wrong, slipped


class _TooLongError(BaseException):
    """A mutant runs on and on; no ``except Exception`` of its own may catch that."""


@contextlib.contextmanager
def _stopped_if_endless(seconds: float) -> Iterator[None]:
    """Raise after so much processor time that only an endless mutant takes it."""

    def stop(*_: object) -> None:
        raise _TooLongError

    before = signal.signal(signal.SIGVTALRM, stop)
    signal.setitimer(signal.ITIMER_VIRTUAL, seconds)
    try:
        with contextlib.suppress(Exception, _TooLongError):  # a mutant may raise anything
            yield
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)
        signal.signal(signal.SIGVTALRM, before)


@cache
def _run() -> tuple[frozenset[tuple[str, int]], ...]:
    """Return for each case the lines that recolouring runs: files and their numbers."""
    part, found = _ROOM + "recolour", []
    files = {str(_file_of(part)) for part in PARTS}
    for source, options in _cases():
        fresh = _loaded(part, ast.parse(_file_of(part).read_text("utf-8")))  # nothing remembered
        lines: set[tuple[str, int]] = set()

        def note(frame: Any, _: str, __: object, lines: set[tuple[str, int]] = lines) -> Any:
            file = frame.f_code.co_filename
            if file not in files:
                return None
            lines.add((file, frame.f_lineno))
            return note

        before = sys.gettrace()
        sys.settrace(note)
        try:
            fresh(source, SWAPS, options=options)
        finally:
            sys.settrace(before)
        found.append(frozenset(lines))
    return tuple(found)


def _file_of(part: str) -> Path:
    spec = importlib.util.find_spec(part)
    assert spec is not None
    assert spec.origin is not None
    return Path(spec.origin)


def _seen(part: str, lines: range, tree: ast.Module) -> bool | None:
    """Whether the proof passed a file that looks wrong; None if none of them looks so."""
    result: bool | None = None
    changed = {(str(_file_of(part)), line) for line in lines}
    with contextlib.suppress(Exception):  # a mutant that can't be loaded makes no file
        mutant = _loaded(part, tree)
        for (source, options), (right, picture, most), run in zip(
            _cases(), _right(), _run(), strict=True
        ):
            if changed and changed.isdisjoint(run):
                continue
            made = None
            with _stopped_if_endless(most):  # it makes no file then
                made = mutant(source, SWAPS, options=options)
            if made is None or made.data == right or not _looks_otherwise(made.data, picture):
                continue
            result = bool(result) or not (made.errors or _refused(source, made.data, options))
    return result


@lru_cache(1000)
def _refused(source: bytes, made: bytes, options: RecolourOptions) -> bool:
    """Whether the proof stops a file; many mutants make the same one."""
    return not prove(source, made, SWAPS, options, render=False).passed


def _looks_otherwise(data: bytes, picture: Any) -> bool:
    try:
        (now, now_unseen), (was, unseen) = _picture(data), picture
        return bool(np.abs(now - was).max() > SEEN) or now_unseen != unseen
    except (FileError, ValueError):
        return True


def test_every_part_of_the_recolourer_is_counted_or_changes_no_ink() -> None:
    folders = (_ROOM, _CONTENT, _COLOURS, _ARTWORK)
    found = {
        folder + file.stem
        for folder in folders
        for file in _file_of(folder[:-1]).parent.glob("*.py")
        if file.stem != "__init__"
    }
    assert found == {*PARTS, *UNCOUNTED}
    assert not set(PARTS) & set(UNCOUNTED)


def test_a_mutant_is_tried_where_its_statement_runs() -> None:
    source = """
def told(x, y=7):
    if (
        x > 1
    ):
        return [
            2,
        ]
    try:
        return 3
    except KeyError:
        return 4
"""
    lines = {what: list(span) for what, span, _ in _mutants(source) if "\n" not in what}
    assert lines == {
        "line 2: 7 -> 8": [],  # as it is loaded
        "line 4: x > 1 -> x <= 1": [3, 4, 5],
        "line 4: 1 -> 2": [3, 4, 5],
        "line 7: 2 -> 3": [6, 7, 8],
        "line 10: 3 -> 4": [10],
        "line 12: 4 -> 5": [12],
    }


def test_a_few_mutants_are_caught() -> None:
    wrong, slipped = _slips(_ROOM + "stops", SMOKE)
    assert wrong == SMOKE
    assert not slipped


@pytest.mark.parametrize("part", PARTS)
def test_no_mutant_gets_past_the_proof(part: str) -> None:
    wrong, slipped = _slips(part, MOST)
    assert wrong >= MOST // 4, "too few mutants gave another picture to say anything"
    assert not slipped
