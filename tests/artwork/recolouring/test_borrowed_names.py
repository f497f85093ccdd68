"""Names that a form, cell, character or appearance lacks, and that whoever calls it has.

Ghostscript 10.00, poppler and PDFium draw what the page's resources hold under such a name (tried),
and programs write forms like that: the old ink stayed in them.
"""

import io
from pathlib import Path

import numpy as np
import pikepdf
import pytest

from artwork_kit import (
    KELP,
    codes,
    document,
    failures,
    form,
    opened,
    parsed,
    proven,
    resource,
    stream,
)
from inkaccord.artwork.content.walk import Where, walk
from inkaccord.artwork.proof.prove import prove
from inkaccord.artwork.recolouring.recolour import (
    OverprintMode,
    RecolourOptions,
    SpotMode,
    recolour,
)
from inkaccord.artwork.swaps import parse_swap
from outside import KRITA_CMYK, need_file, plates
from page_kit import saved, unblended

PROCESS = RecolourOptions(spots=SpotMode.PROCESS)
SWAP = "spot Kelp = cmyk 30 0 90 20"
OLD = b"/K cs 1 scn 0 0 50 99 re f .5 scn 50 0 49 99 re f"
NEW = b"0.3 0 0.9 0.2 k 0 0 50 99 re f 0.15 0 0.45 0.1 k 50 0 49 99 re f"
OWN = "<< /Resources << /ProcSet [/PDF] >> >>"
WRITTEN = b"0.3 0 0.9 0.2 k " + NEW
"""The space and the tint in it each become the build."""
CELL = "/PatternType 1 /TilingType 1 /PaintType 1 /BBox [0 0 99 99] /XStep 99 /YStep 99"
FONT = (
    "<< /Type /Font /Subtype /Type3 /FontBBox [0 0 99 99] /FontMatrix [.01 0 0 .01 0 0] "
    "/Widths [99] /FirstChar 97 /LastChar 97 /Resources << >> "
    "/Encoding << /Differences [97 /a] >> >>"
)
CALLS = {
    "form": b"/F Do",
    "nested": b"/N Do",
    "cell": b"/Pattern cs /T scn 0 0 99 99 re f",
    "glyph": b"BT /A 100 Tf (a) Tj ET",
    "appearance": b"",
}


def _drawn(where: str, inside: bytes) -> bytes:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        resource(page, "/XObject", "/F", form(pdf, inside, OWN))
        resource(page, "/XObject", "/N", form(pdf, b"/F Do", OWN))
        cell = stream(pdf, inside, f"<< {CELL} /Resources << >> >>")
        resource(page, "/Pattern", "/T", cell)
        font = parsed(FONT)
        font["/CharProcs"] = pikepdf.Dictionary(a=pdf.make_stream(b"99 0 d0 " + inside))
        resource(page, "/Font", "/A", pdf.make_indirect(font))
        if where == "appearance":
            look = pikepdf.Dictionary(N=form(pdf, inside, OWN))
            stamp = pikepdf.Dictionary(
                Type=pikepdf.Name.Annot, Subtype=pikepdf.Name.Stamp, Rect=[0, 0, 100, 100], F=4,
                AP=look,
            )  # fmt: skip
            page.obj.Annots = pikepdf.Array([pdf.make_indirect(stamp)])

    return document(CALLS[where], f"<< /ColorSpace << /K {KELP} >> >>", setup)


def test_a_form_is_recoloured_by_the_names_of_its_page() -> None:
    made = proven(_drawn("form", OLD), SWAP, options=PROCESS)
    with opened(made) as pdf:
        assert pdf.pages[0].Resources.XObject.F.read_bytes() == WRITTEN


@pytest.mark.slow
@pytest.mark.parametrize("where", CALLS)
def test_it_prints_as_its_twin(where: str, tmp_path: Path) -> None:
    made = proven(_drawn(where, OLD), SWAP, options=PROCESS, render=True)
    found, wanted = (plates(one, tmp_path) for one in (made.data, _drawn(where, NEW)))
    assert found.keys() == wanted.keys()
    assert max(np.abs(found[name] - wanted[name]).max() for name in wanted) < 1
    assert wanted["Yellow"].max() > 80


def _twice(*spots: str) -> bytes:
    """Return a file of as many pages that draw one form, each with another spot under its name."""
    with pikepdf.new() as pdf:
        shared = form(pdf, OLD, OWN)
        for spot in spots:
            page = pdf.add_blank_page(page_size=(100, 100))
            page.obj.Contents = pdf.make_stream(b"/F Do")
            space = parsed(KELP.replace("Kelp", spot))
            page.obj.Resources = pikepdf.Dictionary(
                XObject=pikepdf.Dictionary(F=shared), ColorSpace=pikepdf.Dictionary(K=space)
            )
        return saved(pdf)


def test_one_form_means_another_spot_on_each_page() -> None:
    made = proven(_twice("Kelp", "Foil", "Kelp"), SWAP, options=PROCESS, render=True)
    with opened(made) as pdf:
        drawn = [
            page.Resources.XObject[str(pikepdf.parse_content_stream(page)[0].operands[0])]
            for page in pdf.pages
        ]
        assert [one.read_bytes() for one in drawn] == [WRITTEN, OLD, WRITTEN]


@pytest.mark.parametrize("where", ["cell", "glyph"])
def test_what_pages_share_is_counted_by_the_names_of_each(where: str) -> None:
    with pikepdf.new() as pdf:
        cell = stream(pdf, OLD, f"<< {CELL} /Resources << >> >>")
        font = parsed(FONT)
        font["/CharProcs"] = pikepdf.Dictionary(a=pdf.make_stream(b"99 0 d0 " + OLD))
        shared = pdf.make_indirect(font)
        for spot in ("Foil", "Kelp", "Foil"):
            page = pdf.add_blank_page(page_size=(100, 100))
            page.obj.Contents = pdf.make_stream(CALLS[where])
            page.obj.Resources = parsed(f"<< /ColorSpace << /K {KELP.replace('Kelp', spot)} >> >>")
            resource(page, "/Pattern", "/T", cell)
            resource(page, "/Font", "/A", shared)
        found = [(use.page, str(use.colour)) for use in walk(pdf) if "spot" in str(use.colour)]
    assert {it for it in found if it[0] is not None and "50%" not in it[1]} == {
        (1, "spot Foil"), (2, "spot Kelp"), (3, "spot Foil"),
    }  # fmt: skip


def test_a_typeface_with_a_table_of_its_own_borrows_nothing_for_it(tmp_path: Path) -> None:
    """Ghostscript 10.00, poppler and PDFium look no further (tried); of forms two of them do."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        font = parsed(FONT)
        font["/CharProcs"] = pikepdf.Dictionary(a=pdf.make_stream(b"99 0 d0 " + OLD))
        font["/Resources"] = parsed("<< /ColorSpace << /Z /DeviceRGB >> >>")
        resource(page, "/Font", "/A", pdf.make_indirect(font))

    source = document(CALLS["glyph"], f"<< /ColorSpace << /K {KELP} >> >>", setup)
    drawn = plates(source, tmp_path)
    assert not drawn["Cyan"].any()
    assert not drawn.get("Kelp", drawn["Cyan"]).any()
    with pikepdf.open(io.BytesIO(source)) as pdf:
        assert not [use for use in walk(pdf) if use.where is Where.GLYPH and "Kelp" in str(use)]
    with opened(recolour(source, [parse_swap(SWAP)], options=PROCESS)) as pdf:
        assert pdf.pages[0].Resources.Font.A.CharProcs.a.read_bytes() == b"99 0 d0 " + OLD


def test_a_new_name_is_none_that_is_borrowed() -> None:
    """``/Ink1`` is what the recolourer would call its first resource."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        own = form(pdf, b"/L cs /N Do /K cs /N Do /Ink1 Do", OWN)
        own.Resources["/XObject"] = pikepdf.Dictionary(N=form(pdf, b".5 scn 0 0 9 9 re f"))
        resource(page, "/XObject", "/F", own)
        resource(page, "/XObject", "/Ink1", form(pdf, b"1 0 0 rg 20 20 9 9 re f"))

    foil = KELP.replace("Kelp", "Foil")
    source = document(b"/F Do", f"<< /ColorSpace << /K {KELP} /L {foil} >> >>", setup)
    with opened(proven(source, SWAP, options=PROCESS, render=True)) as pdf:
        own = pdf.pages[0].Resources.XObject.F
        assert set(own.Resources.XObject.keys()) == {"/N", "/Ink2"}
        assert own.read_bytes().endswith(b"/Ink2 Do /Ink1 Do")


def test_a_picture_in_the_content_takes_a_table_of_the_page() -> None:
    picture = b"q 90 0 0 90 0 0 cm BI /W 2 /H 1 /BPC 8 /CS /T ID \0\1 EI Q"

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        resource(page, "/XObject", "/F", form(pdf, picture, OWN))

    table = f"[/Indexed {KELP} 1 <FF80>]"
    made = proven(
        document(b"/F Do", f"<< /ColorSpace << /T {table} >> >>", setup),
        SWAP, options=PROCESS, render=True,
    )  # fmt: skip
    with opened(made) as pdf:
        page = pdf.pages[0].Resources
        assert page.XObject.F.read_bytes() == picture
        assert bytes(page.ColorSpace.T[3]) == bytes.fromhex("4C00E6332600731A")


@pytest.mark.parametrize("inner", [False, True])
@pytest.mark.parametrize("options", [PROCESS, RecolourOptions()])
def test_a_mask_keeps_the_spot_of_its_page(
    options: RecolourOptions, inner: bool, tmp_path: Path
) -> None:
    """Its twin names the spot, as it looked, in resources of its own."""
    content = b"/K cs .6 scn 0 0 99 50 re f 0 g 0 50 99 50 re f"

    def masked(paint: bytes, spot: str, own: str) -> bytes:
        def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
            group = "<< /Group << /S /Transparency /CS /DeviceCMYK >> /Resources << {} >> >>"
            mask = form(pdf, b"/N Do" if inner else content, group.format(own))
            if inner:
                mask.Resources["/XObject"] = pikepdf.Dictionary(N=form(pdf, content))
            settings = pikepdf.Dictionary(S=pikepdf.Name.Luminosity, G=pdf.make_indirect(mask))
            resource(page, "/ExtGState", "/M", pikepdf.Dictionary(SMask=settings))

        return document(b"/M gs " + paint, f"<< /ColorSpace << /K {spot} >> >>", setup)

    made = proven(masked(OLD, KELP, ""), SWAP, options=options, render=True)
    new = KELP.replace("0.2 0.4 0.6 0.1", "0.3 0 0.9 0.2")
    named = f"/ColorSpace << /K {KELP} >>"
    twin = masked(NEW if options is PROCESS else OLD, new, named)
    found, wanted = (plates(one, tmp_path) for one in (made.data, twin))
    ink = "Yellow" if options is PROCESS else "Kelp"
    assert np.abs(found[ink] - wanted[ink]).max() < 1
    assert 5 < wanted[ink][80, 20] < 85


@pytest.mark.parametrize("own", [False, True])
def test_a_copy_whose_form_lacks_a_new_name_does_not_pass(own: bool) -> None:
    """PDFium leaves such a form its old colour, where its resources have others of that kind."""

    def drawn(paint: bytes, *, new: bool) -> bytes:
        def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
            inside = form(
                pdf, paint + b" 50 0 50 50 re f", "<< /Resources << /ColorSpace << >> >> >>"
            )
            resource(page, "/XObject", "/F", inside)
            if new:
                space = parsed("[/DeviceN [/Cyan /Magenta /Yellow /Black] /DeviceCMYK null]")
                units = "[0 1 0 1 0 1 0 1]"
                space[3] = stream(
                    pdf, b"{ }", f"<< /FunctionType 4 /Domain {units} /Range {units} >>"
                )
                resource(page, "/ColorSpace", "/Ink1", space)
                if own:
                    inside.Resources.ColorSpace["/Ink1"] = space

        return document(paint + b" 0 0 50 50 re f /F Do", setup=setup)

    before = drawn(b"0.85 0.2 0.6 0.3 k", new=False)
    after = drawn(b"/Ink1 cs 0.3 0 0.9 0.2 scn", new=True)
    swaps = [parse_swap("cmyk 85 20 60 30 = cmyk 30 0 90 20")]
    proof = prove(before, after, swaps, render=False)
    assert proof.passed is own
    assert any("/Ink1" in said for said in proof.inventory.details) is not own


def test_a_form_that_gets_a_table_of_its_own_keeps_what_it_borrowed() -> None:
    """PDFium looks at the page only where a form has no table of that kind at all."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        profile = pdf.make_stream(need_file(KRITA_CMYK, "krita-data").read_bytes(), N=4)
        default = pikepdf.Array([pikepdf.Name.ICCBased, profile])
        resource(page, "/ColorSpace", "/DefaultCMYK", default)
        resource(page, "/ColorSpace", "/F", parsed(KELP.replace("Kelp", "Foil")))
        inside = (
            b"/F cs 1 scn 0 0 50 50 re f 0.85 0.2 0.6 0.3 k 50 0 50 50 re f "
            b"/F cs 0.6 scn 0 50 50 50 re f"
        )
        resource(page, "/XObject", "/X", form(pdf, inside, OWN))

    source = document(b"/X Do", setup=setup)
    swaps = [parse_swap("cmyk 85 20 60 30 = cmyk 30 0 90 20")]
    made = recolour(source, swaps)
    assert prove(source, made.data, swaps, render=False).passed
    before, after = (unblended(it).astype(int) for it in (source, made.data))
    assert np.abs(before[:, :50] - after[:, :50]).max() == 0
    assert np.abs(before[50:, 50:] - after[50:, 50:]).min(axis=(0, 1)).max() > 10
    assert before[75, 25].tolist() != before[25, 25].tolist() != [255, 255, 255]

    with opened(made) as pdf:
        del pdf.pages[0].Resources.XObject.X.Resources.ColorSpace["/F"]
        assert not prove(source, saved(pdf), swaps, render=False).passed


# -- overprint that is borrowed -----------------------------------------------------------------

OVER = "<< /op true /OP true /OPM 1 >>"
MUTED = RecolourOptions(overprint=OverprintMode.OFF)
GREEN = "cmyk 85 20 60 0 = cmyk 10 12 55 41"
UNDER = b"0 1 0 0 k 0 0 99 99 re f /F Do"


def _overprinting(*states: str) -> bytes:
    """Return a file of as many pages, on each of which a form borrows another graphics state."""
    with pikepdf.new() as pdf:
        drawn = form(pdf, b"/G gs .85 .2 .6 0 k 0 0 50 50 re f", OWN)
        for state in states:
            page = pdf.add_blank_page(page_size=(100, 100))
            page.obj.Contents = pdf.make_stream(UNDER)
            page.obj.Resources = parsed(f"<< /ExtGState << /G {state} >> >>")
            resource(page, "/XObject", "/F", drawn)
        return saved(pdf)


def test_borrowed_overprint_is_switched_off_where_that_was_asked_for() -> None:
    made = proven(_overprinting(OVER, OVER), GREEN, options=MUTED, render=True)
    with opened(made) as pdf:
        own = pdf.pages[0].Resources.XObject.F
        assert own.read_bytes() == b"/G gs 0.1 0.12 0.55 0.41 k /Ink1 gs 0 0 50 50 re f"
        assert parsed(OVER) == own.Resources.ExtGState.G


@pytest.mark.slow
def test_borrowed_overprint_that_is_off_prints_as_its_twin(tmp_path: Path) -> None:
    made = proven(_overprinting(OVER), GREEN, options=MUTED)
    twin = document(UNDER.replace(b"/F Do", b".1 .12 .55 .41 k 0 0 50 50 re f"))
    found, wanted = (plates(one, tmp_path) for one in (made.data, twin))
    assert max(np.abs(found[name] - wanted[name]).max() for name in wanted) < 1
    assert wanted["Magenta"][80, 20] < 15


@pytest.mark.parametrize("other", [OVER.replace("1 >>", "0 >>"), "<< /LW 3 >>", "<< /ca .5 >>"])
def test_no_copy_names_for_all_pages_what_only_one_of_them_has(other: str) -> None:
    source, swap = _overprinting(OVER, other), parse_swap(GREEN)
    made = recolour(source, [swap], options=MUTED)
    proof = prove(source, made.data, [swap], MUTED, render=False)
    assert not proof.passed
    assert any("ExtGState G: the value differs" in one for one in failures(proof))


@pytest.mark.parametrize("inside", [False, True])
def test_a_form_without_resources_is_drawn_under_overprint_and_without(inside: bool) -> None:
    """One of the two states gets a form of its own, with a switch that its surroundings name."""
    content = b"q 1 0 0 1 50 0 cm /F Do Q /G gs /F Do"
    states = f"<< /ExtGState << /G {OVER} >> >>"

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        around = form(pdf, content)
        around.Resources = parsed(states)
        around.Resources["/XObject"] = pikepdf.Dictionary(
            F=form(pdf, b".85 .2 .6 0 k 0 0 50 50 re f")
        )
        resource(page, "/XObject", "/A", around)
        if not inside:
            page.obj.Resources = around.Resources

    drawn = b"/A Do" if inside else content
    source = document(UNDER.replace(b"/F Do", drawn), setup=setup)
    made = proven(source, GREEN, options=MUTED, render=True)
    assert codes(made) == {"overprint-switched-off"}


def test_a_name_that_came_to_mean_another_thing_is_seen() -> None:
    source, swap = _overprinting(OVER), parse_swap(GREEN)
    made = recolour(source, [swap], options=MUTED)
    with opened(made) as pdf:
        pdf.pages[0].Resources.XObject.F.Resources.ExtGState.G.SA = True
        spoilt = saved(pdf)
    assert not prove(source, spoilt, [swap], MUTED, render=False).passed


# -- what readers look for in different places ----------------------------------------------------


FOIL = KELP.replace("Kelp", "Foil")


@pytest.mark.parametrize(
    ("pages", "held"),
    [
        (((FOIL, b"/F Do"),), True),
        (((KELP, b"/F Do"),), False),
        ((("", b"/F Do"), (FOIL, b"/F Do")), True),
        (((KELP, b"/F Do"), (FOIL, b"")), False),
    ],
)
def test_a_character_whose_name_a_page_has_too_is_held_where_they_differ(
    pages: tuple[tuple[str, bytes], ...], held: bool
) -> None:
    """Ghostscript takes the page's, as ISO 32000-2, 9.6.4 has it, PDFium and poppler the form's."""
    with pikepdf.new() as pdf:
        font = parsed(
            "<< /Type /Font /Subtype /Type3 /FontBBox [0 0 1 1] /FontMatrix [1 0 0 1 0 0] "
            "/Widths [1] /FirstChar 97 /LastChar 97 /Encoding << /Differences [97 /a] >> >>"
        )
        glyph = pdf.make_stream(b"1 0 d0 /K cs 1 scn 0 0 1 1 re f")
        font["/CharProcs"] = pikepdf.Dictionary(a=glyph)
        shown = form(pdf, b"BT /T 50 Tf (a) Tj ET", OWN)
        shown.Resources = pikepdf.Dictionary(
            ColorSpace=pikepdf.Dictionary(K=parsed(KELP)), Font=pikepdf.Dictionary(T=font)
        )
        for space, content in pages:
            page = pdf.add_blank_page(page_size=(100, 100))
            page.obj.Contents = pdf.make_stream(content)
            page.obj.Resources = parsed(f"<< /ColorSpace << {'/K ' + space if space else ''} >> >>")
            if content:
                resource(page, "/XObject", "/F", shown)
        source = saved(pdf)
    swap = parse_swap("spot Kelp = cmyk 30 5 90 20")
    process = RecolourOptions(spots=SpotMode.PROCESS)
    made = recolour(source, [swap], options=process)
    assert [it.code for it in made.errors] == (["drawn-two-ways"] if held else [])


def test_a_mask_with_resources_may_get_what_a_form_in_it_borrows() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        resource(page, "/ColorSpace", "/K", parsed(KELP))
        box = "/BBox [0 0 9 9] /XStep 9 /YStep 9 /Resources << >>"
        entries = f"<< /PatternType 1 /PaintType 2 /TilingType 1 {box} >>"
        resource(page, "/Pattern", "/P", stream(pdf, b"0 0 5 5 re f", entries))
        resource(page, "/ColorSpace", "/PK", parsed(f"[ /Pattern {KELP} ]"))
        group = form(pdf, b"/X Do", "<< /Group << /S /Transparency /CS /DeviceGray >> >>")
        inner = form(pdf, b"/PK cs 0.5 /P scn 0 0 50 50 re f")
        group.Resources = pikepdf.Dictionary(XObject=pikepdf.Dictionary(X=inner))
        state = parsed("<< /SMask << /S /Luminosity /G null >> >>")
        state.SMask["/G"] = group
        resource(page, "/ExtGState", "/M", state)

    content = b"/K cs 1 scn 60 60 9 9 re f /M gs 0 g 0 0 50 50 re f"
    process = RecolourOptions(spots=SpotMode.PROCESS)
    swap = "spot Kelp = cmyk 30 5 90 20"
    source = document(content, setup=setup)
    made = proven(source, swap, options=process)
    with opened(made) as pdf:
        mask = pdf.pages[0].Resources.ExtGState.M.SMask.G
        mask.Resources.ColorSpace.PK[1] = parsed(KELP.replace("0.2 0.4", "0.9 0.4"))
        harmed = saved(pdf)
    proof = prove(source, harmed, [parse_swap(swap)], process, render=False)
    assert any("a soft mask differs" in one for one in failures(proof))
