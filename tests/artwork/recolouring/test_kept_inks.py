"""Builds beside spots that stay on their plates, in one object.

What the plates hold is worked out by hand and told by Ghostscript; the look, by PDFium.
"""

import io
from pathlib import Path

import numpy as np
import pikepdf
import pytest

from artwork_kit import (
    Setup,
    codes,
    content_of,
    document,
    form,
    parsed,
    proven,
    resource,
    stream,
    swaps,
)
from inkaccord.artwork.proof.prove import prove
from inkaccord.artwork.recolouring.recolour import RecolourOptions, SpotMode, recolour
from outside import plates
from page_kit import unblended

PROCESS, KEEP = RecolourOptions(spots=SpotMode.PROCESS), RecolourOptions()
PATCH = b" 0 0 50 50 re f "
BRAND = "cmyk 60 20 50 10 = cmyk 78 12 55 41"
KELP = "spot Kelp = cmyk 10 20 0 40"
FIVE = ("/Cyan /Magenta /Yellow /Black /Foil", "0.5 mul 4 -1 roll add 3 1 roll")
"""Foil looks like half as much magenta."""
THREE = ("/Cyan /Kelp /Foil", "0.5 mul exch 0.6 mul exch 0")
"""Kelp looks like 60 % of it in magenta, foil like half of it in yellow."""


def inks(names: str, words: str, base: str = "/DeviceCMYK", outputs: int = 4) -> Setup:
    """Put a space of inks among the resources, and a state that overprints."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        domain = "0 1 " * len(names.split())
        entries = f"<< /FunctionType 4 /Domain [{domain}] /Range [{'0 1 ' * outputs}] >>"
        space = parsed(f"[ /DeviceN [ {names} ] {base} null ]")
        space[3] = stream(pdf, b"{ " + words.encode() + b" }", entries)
        resource(page, "/ColorSpace", "/N", space)
        resource(page, "/ExtGState", "/Over", parsed("<< /OP true /op true /OPM 1 >>"))

    return setup


def at(data: bytes, folder: Path) -> dict[str, int]:
    """Return the plates that hold anything in the patch."""
    found = {name: round(float(plate[89, 10])) for name, plate in plates(data, folder).items()}
    return {name: amount for name, amount in found.items() if amount}


@pytest.mark.parametrize("options", [KEEP, PROCESS])
def test_process_inks_change_beside_a_spot(options: RecolourOptions, tmp_path: Path) -> None:
    source = document(b"/N cs 0.6 0.2 0.5 0.1 0.5 scn" + PATCH, setup=inks(*FIVE))
    made = proven(source, BRAND, options=options, render=True)
    wanted = {"Cyan": 78, "Magenta": 12, "Yellow": 55, "Black": 41, "Foil": 50}
    assert at(made.data, tmp_path) == wanted
    assert "overprint-changes" not in codes(made)
    twin = unblended(document(b"0.78 0.37 0.55 0.41 k" + PATCH))
    assert np.abs(unblended(made.data).astype(int) - twin).max() <= 2


def test_a_spot_becomes_process_colour_beside_one_that_stays(tmp_path: Path) -> None:
    source = document(b"/N CS /N cs 0.3 0.5 0.5 scn" + PATCH, setup=inks(*THREE))
    made = proven(source, KELP, options=PROCESS, render=True)
    assert at(made.data, tmp_path) == {"Cyan": 35, "Magenta": 10, "Black": 20, "Foil": 50}
    with pikepdf.open(io.BytesIO(made.data)) as pdf:
        assert not any(b"/Kelp" in bytes(pikepdf.Object.unparse(one)) for one in pdf.objects)
    twin = unblended(document(b"0.35 0.1 0.25 0.2 k" + PATCH))
    assert np.abs(unblended(made.data).astype(int) - twin).max() <= 2


def test_an_ink_that_was_not_named_and_is_not_needed_shows_through(tmp_path: Path) -> None:
    content = b"0 0 1 0 k 0 0 100 100 re f /Over gs /N cs 0.3 0.5 0.5 scn" + PATCH
    made = proven(document(content, setup=inks(*THREE)), KELP, options=PROCESS, render=True)
    assert at(made.data, tmp_path) == {
        "Cyan": 35, "Magenta": 10, "Yellow": 100, "Black": 20, "Foil": 50,
    }  # fmt: skip
    assert "overprint-changes" in codes(made)


def test_where_foil_alone_is_left_it_is_a_spot_alone(tmp_path: Path) -> None:
    source = document(b"/N cs 0 0.7 scn" + PATCH, setup=inks("/Kelp /Foil", "exch dup 0"))
    made = proven(source, KELP, options=PROCESS, render=True)
    assert at(made.data, tmp_path) == {"Foil": 70}


def test_process_inks_alone_leave_a_space_that_goes_with_its_spot(tmp_path: Path) -> None:
    """A copy that went on naming that space named nothing."""
    words = "0.2 mul 5 -1 roll add 4 1 roll"
    space = inks("/Cyan /Magenta /Yellow /Black /Kelp", words)
    content = b"/N cs 0.1 0.3 0.2 0.6 0 scn" + PATCH + b"0.1 0.3 0.2 0.6 0.5 scn 50 50 9 9 re f"
    made = proven(document(content, setup=space), KELP, options=PROCESS, render=True)
    assert at(made.data, tmp_path) == {"Cyan": 10, "Magenta": 30, "Yellow": 20, "Black": 60}
    assert b"cs" not in content_of(made.data)


@pytest.mark.parametrize("inside", [b"0.5 /P scn", b"/C scn"])
def test_a_pattern_leaves_the_space_of_a_spot_that_goes(inside: bytes, tmp_path: Path) -> None:
    """Its form chose that space by a name that only the page still had."""
    box = "/PatternType 1 /TilingType 1 /BBox [0 0 9 9] /XStep 9 /YStep 9 /Resources << >>"

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        spot = inks("/Kelp", "0 exch 0 exch 0 exch")
        spot(pdf, page)
        pattern = pikepdf.Array([pikepdf.Name.Pattern, page.obj.Resources.ColorSpace.N])
        resource(page, "/ColorSpace", "/U", parsed("[ /Indexed /DeviceGray 0 <80> ]"))
        one = form(pdf, b"/U cs " + inside + PATCH)
        cells = {
            "/P": stream(pdf, b"0 0 9 9 re f", f"<< {box} /PaintType 2 >>"),
            "/C": stream(pdf, b"0 0.5 0 0 k 0 0 9 9 re f", f"<< {box} /PaintType 1 >>"),
        }
        one["/Resources"] = pikepdf.Dictionary(
            ColorSpace=pikepdf.Dictionary(U=pattern), Pattern=pikepdf.Dictionary(cells)
        )
        resource(page, "/XObject", "/F", one)

    source = document(b"/N cs 1 scn 90 90 9 9 re f /F Do", setup=setup)
    made = proven(source, KELP, options=PROCESS, render=True)
    wanted = {"Cyan": 5, "Magenta": 10, "Black": 20} if b"P" in inside else {"Magenta": 50}
    assert at(made.data, tmp_path) == wanted


@pytest.mark.parametrize("options", [KEEP, PROCESS])
@pytest.mark.parametrize("where", ["group", "pattern", "picture"])
def test_a_mask_keeps_its_mixture_of_inks(
    where: str, options: RecolourOptions, tmp_path: Path
) -> None:
    """The proof asked of it what is asked of inks that print."""
    content = b"/N cs 0.1 0.9 scn 0 0 50 50 re f"

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        inks("/Foil /Kelp", "0.6 mul exch 0.5 mul exch 0 0")(pdf, page)
        spaces = pikepdf.Dictionary(ColorSpace=page.obj.Resources.ColorSpace)
        group = form(pdf, content, "<< /Group << /S /Transparency /CS /DeviceCMYK >> >>")
        group["/Resources"] = spaces
        if where == "pattern":
            box = "/PatternType 1 /TilingType 1 /BBox [0 0 50 50] /XStep 50 /YStep 50"
            cell = stream(pdf, content, f"<< {box} /PaintType 1 >>")
            cell["/Resources"] = spaces
            group["/Resources"] = pikepdf.Dictionary(Pattern=pikepdf.Dictionary(P=cell))
            group.write(b"/Pattern cs /P scn 0 0 50 50 re f")
        if where == "picture":
            size = "/Subtype /Image /Width 1 /Height 1 /BitsPerComponent 8"
            image = stream(pdf, b"\x1a\xe6", f"<< {size} >>")
            image["/ColorSpace"] = page.obj.Resources.ColorSpace.N
            group["/Resources"] = pikepdf.Dictionary(XObject=pikepdf.Dictionary(I=image))
            group.write(b"50 0 0 50 0 0 cm /I Do")
        state = parsed("<< /SMask << /S /Luminosity /G null >> >>")
        state.SMask["/G"] = group
        resource(page, "/ExtGState", "/M", state)

    made = proven(
        document(b"/N cs 0 1 scn 60 60 9 9 re f /M gs 0 0 0 1 k" + PATCH, setup=setup),
        KELP, options=options,
    )  # fmt: skip
    before = document(b"/M gs 0 0 0 1 k" + PATCH, setup=setup)
    assert at(made.data, tmp_path) == at(before, tmp_path)


@pytest.mark.parametrize("options", [KEEP, PROCESS])
def test_a_table_and_a_pattern_in_such_inks(options: RecolourOptions, tmp_path: Path) -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        inks(*(FIVE if options is KEEP else THREE))(pdf, page)
        space = page.obj.Resources.ColorSpace.N
        size = "/Width 1 /Height 1 /BitsPerComponent 8"
        image = stream(pdf, b"\x01", f"<< /Type /XObject /Subtype /Image {size} >>")
        row = [153, 51, 128, 26, 128] if options is KEEP else [77, 128, 128]
        table = pikepdf.String(bytes([*[0] * len(row), *row]))
        image.ColorSpace = pikepdf.Array([pikepdf.Name.Indexed, space, 1, table])
        resource(page, "/XObject", "/I", image)
        box = "/PatternType 1 /PaintType 2 /TilingType 1 /BBox [0 0 9 9] /XStep 9 /YStep 9"
        cell = stream(pdf, b"0 0 9 9 re f", f"<< {box} /Resources << >> >>")
        resource(page, "/Pattern", "/P", cell)
        resource(page, "/ColorSpace", "/U", pikepdf.Array([pikepdf.Name.Pattern, space]))

    amounts = b"0.6 0.2 0.5 0.1 0.5" if options is KEEP else b"0.3 0.5 0.5"
    content = b"q 50 0 0 50 0 0 cm /I Do Q /U cs " + amounts + b" /P scn 50 50 50 50 re f"
    made = proven(document(content, setup=setup), BRAND, KELP, options=options, render=True)
    found = plates(made.data, tmp_path)
    wanted = {"Cyan": 78, "Magenta": 12, "Yellow": 55, "Black": 41, "Foil": 50}
    if options is PROCESS:
        wanted = {"Cyan": 35, "Magenta": 10, "Yellow": 0, "Black": 20, "Foil": 50}
    for name, amount in wanted.items():
        assert found[name][89, 10] == pytest.approx(amount, abs=1)
        assert found[name][10, 89] == pytest.approx(amount, abs=1)


@pytest.mark.parametrize(
    ("setup", "content", "swap", "code", "word"),
    [
        (
            inks("/Kelp /Foil", "exch dup", "[/Lab << /WhitePoint [0.96 1 0.82] >>]", 3),
            b"/N cs 0.5 0.5 scn", KELP, "inks-stay", "in CIELAB",
        ),
        (
            inks(*FIVE), b"/N cs 0.6 0.2 0.5 0.1 0.5 scn",
            "cmyk 60 20 50 10 = rgb 20 90 80", "inks-not-rewritten", "a build in rgb has no place",
        ),
    ],
)  # fmt: skip
def test_what_can_not_be_told_is_refused_in_words(
    setup: Setup, content: bytes, swap: str, code: str, word: str
) -> None:
    made = recolour(document(content + PATCH, setup=setup), swaps(swap), options=PROCESS)
    said = [finding for finding in made.errors if finding.code == code]
    assert len(said) == 1
    assert word in said[0].message


@pytest.mark.parametrize("harm", ["amount", "look", "name"])
def test_the_proof_sees_another_mixture(harm: str) -> None:
    source = document(b"/N cs 0.3 0.5 0.5 scn" + PATCH, setup=inks(*THREE))
    right = recolour(source, swaps(KELP), options=PROCESS).data
    with pikepdf.open(io.BytesIO(right)) as pdf:
        page = pdf.pages[0]
        if harm == "amount":
            content = page.Contents.read_bytes()
            assert b"0.35 0.1 0.2 0.5 scn" in content
            page.Contents = pdf.make_stream(content.replace(b"0.35 0.1 0.2", b"0.35 0.1 0.3"))
        elif harm == "look":
            function = page.Resources.ColorSpace.Ink1[3]
            function.write(bytes(255 - byte for byte in function.read_bytes()))
        else:
            page.Resources.ColorSpace.Ink1[1][3] = pikepdf.Name("/Gloss")
        out = io.BytesIO()
        pdf.save(out)
    assert prove(source, right, swaps(KELP), PROCESS, render=False).passed
    assert not prove(source, out.getvalue(), swaps(KELP), PROCESS, render=False).passed
