"""Right results that were refused: shared masks, tables of meshes, typefaces chosen by a state."""

import io

import pikepdf
import pytest

from artwork_kit import KELP, document, failures, form, parsed, proven, resource, stream, swaps
from inkaccord.artwork.proof.function_parts import FunctionPart
from inkaccord.artwork.proof.gradient_stops import chains
from inkaccord.artwork.proof.prove import prove
from inkaccord.artwork.recolouring.recolour import RecolourOptions
from inkaccord.pdf.entries import links
from inkaccord.pdf.groups import blends, drawn_from
from outside import need_program

OLD, NEW = b"0.85 0.2 0.6 0.3 k", b"0.1 0.9 0.55 0 k"
SWAP = "cmyk 85 20 60 30 = cmyk 10 90 55 0"
TABLE = "[/Indexed /DeviceCMYK 1 <D933994C00000000>]"
NEW_TABLE = "[/Indexed /DeviceCMYK 1 <1AE68C0000000000>]"
GROUP = "<< /Group << /S /Transparency /CS /DeviceCMYK >> >>"


def typeface(pdf: pikepdf.Pdf, glyph: bytes) -> pikepdf.Object:
    """Return a typeface of drawn characters, of which /a is one."""
    font = parsed(
        "<< /Type /Font /Subtype /Type3 /FontBBox [0 0 1 1] /FontMatrix [1 0 0 1 0 0] "
        "/FirstChar 97 /LastChar 97 /Widths [1] /Encoding << /Differences [97 /a] >> "
        "/CharProcs << >> /Resources << >> >>"
    )
    font.CharProcs["/a"] = pdf.make_stream(b"1 0 d0 " + glyph + b" 0 0 1 1 re f")
    return pdf.make_indirect(font)


def masked(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
    """Let a page and its mask share a pattern called /P, a picture and a typeface /Font."""
    box = "/PatternType 1 /PaintType 1 /TilingType 1 /BBox [0 0 9 9] /XStep 9 /YStep 9"
    cell = stream(pdf, OLD + b" 0 0 5 9 re f", f"<< {box} /Resources << >> >>")
    entries = "<< /Type /XObject /Subtype /Image /Width 2 /Height 1 /BitsPerComponent 8 "
    picture = stream(pdf, b"\x00\x01", f"{entries} /ColorSpace {TABLE} >>")
    shared = {
        "/Pattern": ("/P", pdf.make_indirect(cell)),
        "/XObject": ("/SMask", pdf.make_indirect(picture)),
        "/Font": ("/Font", typeface(pdf, OLD)),
    }
    content = (
        b"/Pattern cs /P scn 0 0 30 100 re f q 30 0 0 100 30 0 cm /SMask Do Q "
        b"BT /Font 30 Tf 60 0 Td (a) Tj ET"
    )
    mask = form(pdf, content, GROUP)
    mask["/Resources"] = pikepdf.Dictionary()
    for category, (name, thing) in shared.items():
        mask.Resources[category] = pikepdf.Dictionary({name: thing})
        resource(page, category, name, thing)
    state = pikepdf.Dictionary(SMask=pikepdf.Dictionary(S=pikepdf.Name.Luminosity, G=mask))
    resource(page, "/ExtGState", "/M", state)
    page.obj.Contents = pdf.make_stream(content + b" /M gs 0 1 0 0 k 0 50 100 50 re f")


def test_what_a_mask_shares_with_the_page_is_copied_whatever_it_is_called() -> None:
    made = proven(document(setup=masked), SWAP)
    with pikepdf.open(io.BytesIO(made.data)) as pdf:
        own = pdf.pages[0].obj.Resources
        mask = own.ExtGState.M.SMask.G.Resources
        assert OLD in mask.Pattern.P.read_bytes()
        assert NEW in own.Pattern.P.read_bytes()
        assert str(mask.XObject["/SMask"].ColorSpace) == str(parsed(TABLE))
        assert str(own.XObject["/SMask"].ColorSpace) == str(parsed(NEW_TABLE))
        assert OLD in mask.Font.Font.CharProcs.a.read_bytes()
        assert NEW in own.Font.Font.CharProcs.a.read_bytes()


def test_a_mask_that_takes_a_spot_from_the_page_keeps_its_look() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        mask = form(pdf, b"/K cs 1 scn 0 0 50 100 re f", GROUP)  # with no resources of its own
        state = pikepdf.Dictionary(SMask=pikepdf.Dictionary(S=pikepdf.Name.Luminosity, G=mask))
        resource(page, "/ExtGState", "/M", state)

    content = b"/K cs 0.5 scn 50 0 50 50 re f /M gs 0 1 0 0 k 0 50 100 50 re f"
    source = document(content, f"<< /ColorSpace << /K {KELP} >> >>", setup)
    made = proven(source, "spot Kelp = cmyk 0 70 0 40")
    with pikepdf.open(io.BytesIO(made.data)) as pdf:
        mask = pdf.pages[0].obj.Resources.ExtGState.M.SMask.G
        look = mask.Resources.ColorSpace.K[3].C1
        assert [float(value) for value in look] == [0.2, 0.4, 0.6, 0.1]


@pytest.mark.parametrize("name", ["/BG", "/DA", "/ColorSpace"])
def test_a_form_may_be_called_as_an_entry_of_colour_is(name: str) -> None:
    def of(colour: bytes, size: bytes) -> bytes:
        def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
            resource(page, "/XObject", name, form(pdf, colour + b" 0 0 %s 50 re f" % size))

        return document(name.encode() + b" Do", setup=setup)

    assert not proven(of(OLD, b"50"), SWAP).errors
    wider = prove(of(OLD, b"50"), of(NEW, b"60"), swaps(SWAP), RecolourOptions(), render=False)
    assert failures(wider)


def test_names_in_a_table_of_resources_are_no_keys() -> None:
    table = pikepdf.Dictionary(P=pikepdf.Dictionary(), Kept=pikepdf.Name.Kept)
    assert [key for key, _ in links(table, "", ("/P",))] == ["/Kept"]
    assert len(list(links(table, "/Pattern", ("/P",)))) == 2
    domain = pikepdf.Array([pikepdf.Name.End, 1, 0.5])
    shading = pikepdf.Dictionary(ShadingType=2, Domain=domain, P=pikepdf.Name.End)
    assert list(links(shading, "/Shading", ("/P",))) == [("/Domain", domain)]
    assert list(links(domain, "/Domain", ())) == [("/Domain", pikepdf.Name.End)], "no numbers"


@pytest.mark.parametrize("category", ["/ExtGState", "/Pattern", "/XObject"])
def test_what_is_drawn_from_is_found_whatever_it_is_called(category: str) -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        resource(page, category, "/SMask", pikepdf.Dictionary(Sought=True))
        resource(page, "/ExtGState", "/M", pikepdf.Dictionary(SMask=pikepdf.Dictionary(Mask=True)))

    with pikepdf.open(io.BytesIO(document(setup=setup))) as pdf:
        found = list(drawn_from(pdf.pages[0]))
    assert any("/Sought" in one for one in found)
    assert not any("/Mask" in one for one in found)


def mesh(table: str) -> bytes:
    """Return a page with one triangle whose corners choose from a table."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        entries = (
            f"<< /ShadingType 4 /BitsPerFlag 8 /ColorSpace {table} /BitsPerCoordinate 8 "
            "/BitsPerComponent 8 /Decode [0 100 0 100 0 255] >>"
        )
        corners = bytes([0, 0, 0, 0, 0, 250, 0, 1, 0, 60, 250, 0])
        resource(page, "/Shading", "/S", stream(pdf, corners, entries))

    return document(b"/S sh", setup=setup)


def test_a_mesh_whose_corners_choose_from_a_table_changes_with_it() -> None:
    made = proven(mesh(TABLE), SWAP)
    assert not made.errors


@pytest.mark.parametrize("table", [NEW_TABLE.replace("1AE6", "1AE0"), TABLE])
def test_a_table_of_a_mesh_that_is_wrong_fails_the_proof(table: str) -> None:
    proof = prove(mesh(TABLE), mesh(table), swaps(SWAP), RecolourOptions(), render=False)
    assert failures(proof)


def chosen_by_a_state(glyph: bytes) -> bytes:
    """Return a page whose typeface is chosen by ``gs`` alone."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        font = pikepdf.Array([typeface(pdf, glyph), 30])
        resource(page, "/ExtGState", "/G", pikepdf.Dictionary(Font=font))

    return document(b"/G gs BT 10 10 Td (a) Tj ET", setup=setup)


@pytest.mark.slow
def test_a_typeface_chosen_by_a_state_is_drawn_and_proved() -> None:
    need_program("gs", "ghostscript")
    made = proven(chosen_by_a_state(OLD), SWAP, render=True)
    assert not made.errors


def test_a_wrong_colour_in_it_fails_the_proof() -> None:
    wrong = chosen_by_a_state(b"0.1 0.8 0.55 0 k")
    proof = prove(chosen_by_a_state(OLD), wrong, swaps(SWAP), RecolourOptions(), render=False)
    assert "cmyk 10 80 55 0" in " ".join(failures(proof))


def test_a_transfer_function_moves_tints_and_a_typeface_of_that_name_does_not() -> None:
    invert = parsed("<< /FunctionType 2 /Domain [0 1] /C0 [1] /C1 [0] /N 1 >>")
    assert blends(pikepdf.Dictionary(TR=invert))
    table = parsed("<< /FunctionType 0 /Domain [0 1] /Range [0 1] /Size [2] >>")
    assert blends(pikepdf.Dictionary(TR2=pikepdf.Array([table, pikepdf.Name.Identity] * 2)))
    assert not blends(pikepdf.Dictionary(TR=pikepdf.Name.Identity))
    assert not blends(pikepdf.Dictionary(TR=parsed("<< /Type /Font /BaseFont /Times >>")))


def test_a_calculator_that_jumps_at_every_place_is_cut_at_every_jump() -> None:
    def at(place: float) -> tuple[float, ...]:
        return (float(int(place * 1024) % 2),)

    found = list(chains([FunctionPart(0.0, 1.0, at, "curve")]))
    assert len(found) == 1025  # the last is the end alone
    assert all(len({at(p) for p in one.places[:-1]}) <= 1 for one in found)


def test_one_that_only_is_steep_is_not_cut() -> None:
    def at(place: float) -> tuple[float, ...]:
        return (min(max(40 * (place - 0.5), 0.0), 1.0),)

    assert len(list(chains([FunctionPart(0.0, 1.0, at, "curve")]))) == 1


def said(colours: str, appearance: str, content: bytes = NEW) -> bytes:
    """Return a page with a comment and a field that say their colours themselves."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        words = (
            f"/Subtype /Square /Rect [5 5 45 45] {colours}",
            f"/Subtype /Widget /FT /Tx /T (a) /Rect [55 5 95 45] /DA ({appearance})",
        )
        notes = [pdf.make_indirect(parsed(f"<< /Type /Annot /F 4 {one} >>")) for one in words]
        page.obj["/Annots"] = pikepdf.Array(notes)
        pdf.Root["/AcroForm"] = pikepdf.Dictionary(Fields=pikepdf.Array(notes[1:]))

    return document(content + b" 0 60 50 40 re f", setup=setup)


HALF = "/C [0.85 0.2 0.6 0.3] /IC [0.425 0.1 0.3 0.15]"
NEW_HALF = "/C [0.1 0.9 0.55 0] /IC [0.05 0.45 0.275 0]"


@pytest.mark.slow
def test_a_comment_without_an_appearance_is_drawn_in_its_new_colour_and_proved() -> None:
    need_program("gs", "ghostscript")
    assert not proven(said(HALF, f"/H 9 Tf {OLD.decode()}", OLD), SWAP, render=True).errors


@pytest.mark.parametrize(
    ("colours", "appearance"),
    [
        (HALF, NEW.decode()),
        (NEW_HALF.replace("0.45", "0.4"), NEW.decode()),
        (NEW_HALF, OLD.decode()),
        (NEW_HALF, "0.1 0.9 0.5 0 k"),
        (NEW_HALF, NEW.decode() + " 1 w"),
        (NEW_HALF, NEW.decode().replace("k", "K")),
    ],
)
def test_a_wrong_colour_in_an_entry_fails_the_proof(colours: str, appearance: str) -> None:
    right = said(HALF, OLD.decode(), OLD), said(NEW_HALF, NEW.decode())
    options = RecolourOptions()
    assert prove(*right, swaps(SWAP), options, render=False).passed
    wrong = said(colours, appearance)
    found = failures(prove(right[0], wrong, swaps(SWAP), options, render=False))
    assert any("its colour is not what it was to become" in one for one in found)


def test_operands_left_over_before_a_new_colour_fail_the_proof() -> None:
    drawn = b" 0 0 50 50 re f"
    before = document([b"0.85 0.2", b"0.6 0.3 k" + drawn])
    assert not proven(before, SWAP).errors
    for more in (b"", b" 1 0 0 0k 9 9 9 9 re f", b" 1 1 0 0 0 1 k 9 9 9 9 re f"):
        left = document([b"0.85 0.2", NEW + drawn + more])  # some renderers take the first four
        old = document([b"0.85 0.2", b"0.6 0.3 k" + drawn + more])
        found = failures(prove(old, left, swaps(SWAP), RecolourOptions(), render=False))
        assert any("operands stand before a colour operator" in one for one in found)
    assert not proven(document(b"1 1 " + OLD + drawn + b" 1 1 0 0 0 1 k" + drawn), SWAP).errors
