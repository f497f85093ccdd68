"""Files that between them ask every part of the recolourer, for its mutants."""

from functools import cache

import numpy as np
import pikepdf

import gradient_kit
from artwork_kit import KELP, document, form, parsed, resource, stream
from gradient_kit import Stripe
from inkaccord.artwork.profiled import Profiled
from inkaccord.artwork.recolouring.recolour import OverprintMode, RecolourOptions, SpotMode
from inkaccord.artwork.swaps import parse_swap
from structure_kit import jpeg_of_inks

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
def cases() -> tuple[Case, ...]:
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
