"""Pages that send plain colour through a profile of their own: default colour spaces."""

import io
from pathlib import Path

import numpy as np
import pikepdf
import pytest

from artwork_kit import (
    KELP,
    NEW,
    NEW_K,
    OLD,
    OLD_K,
    codes,
    content_of,
    document,
    failures,
    form,
    parsed,
    proven,
    resource,
    stream,
    swaps,
)
from inkaccord.artwork.profiled import Profiled
from inkaccord.artwork.proof.prove import prove
from inkaccord.artwork.recolouring.recolour import (
    RecolourOptions,
    SpotMode,
    recolour,
)
from inkaccord.pdf.ink_rendering import ink_pages
from outside import KRITA_CMYK, need_file, need_program, plates

PLAIN = RecolourOptions(profiled=Profiled.PLAIN)
BOX = b" 0 0 50 50 re f"
SLATE, SLATE_RG = "rgb 51 102 153", b"0.2 0.4 0.6 rg"


def _cal_rgb(_: pikepdf.Pdf, page: pikepdf.Page) -> None:
    white = "[/CalRGB << /WhitePoint [0.9505 1 1.089] /Gamma [1.2 1.2 1.2] >>]"
    resource(page, "/ColorSpace", "/DefaultRGB", parsed(white))


def _cmyk(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
    profile = pdf.make_stream(need_file(KRITA_CMYK, "krita-data").read_bytes(), N=4)
    space = pikepdf.Array([pikepdf.Name.ICCBased, pdf.make_indirect(profile)])
    resource(page, "/ColorSpace", "/DefaultCMYK", space)


def _everything(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
    """Colours, a form, a picture and a gradient under one default space."""
    _cal_rgb(pdf, page)
    resource(page, "/XObject", "/F", form(pdf, SLATE_RG + BOX, "<< /Resources << >> >>"))
    entries = "<< /Subtype /Image /Width 2 /Height 1 /BitsPerComponent 8 /ColorSpace /DeviceRGB >>"
    resource(page, "/XObject", "/I", stream(pdf, bytes([51, 102, 153, 9, 8, 7]), entries))
    shading = (
        "<< /ShadingType 2 /ColorSpace /DeviceRGB /Coords [0 0 100 0] /Function << "
        "/FunctionType 2 /Domain [0 1] /C0 [0.2 0.4 0.6] /C1 [1 1 1] /N 1 >> >>"
    )
    resource(page, "/Shading", "/S", parsed(shading))


def _inks(data: bytes) -> list[np.ndarray]:
    return [page.samples for page in ink_pages(data, dpi=36, bits=16)]


def test_plain_takes_them_off_and_everything_counts_as_its_numbers() -> None:
    content = (
        SLATE_RG + BOX + b" 1 0 0 rg 60 0 9 9 re f q 9 0 0 9 80 80 cm /I Do Q /F Do "
        b"q 0 60 100 10 re W n /S sh Q"
    )
    swap = f"{SLATE} = rgb 200 90 10"
    made = proven(document(content, setup=_everything), swap, options=PLAIN, render=True)
    assert "default-space-gone" in codes(made)
    # The picture of two pixels shows a brand colour, which holds the piece, and is another matter.
    assert {finding.code for finding in made.errors} == {"brand-in-picture"}
    with pikepdf.open(io.BytesIO(made.data)) as pdf:
        assert "/DefaultRGB" not in pdf.pages[0].Resources.ColorSpace
    need_program("gs", "ghostscript")
    without = document(content, setup=_everything)
    with pikepdf.open(io.BytesIO(without)) as pdf:
        del pdf.pages[0].Resources.ColorSpace.DefaultRGB
        out = io.BytesIO()
        pdf.save(out)
    twin = recolour(out.getvalue(), swaps(swap)).data
    for have, want in zip(_inks(made.data), _inks(twin), strict=True):
        assert (have == want).all()


def test_plain_builds_stand_where_a_default_cmyk_stood() -> None:
    made = proven(document(OLD_K + BOX, setup=_cmyk), f"{OLD} = {NEW}", options=PLAIN, render=True)
    assert content_of(made.data) == NEW_K + BOX


def _under_cmyk(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
    """Everything that can hold a colour, on a page with a default CMYK."""
    _cmyk(pdf, page)
    _everything(pdf, page)
    del page.obj.Resources.ColorSpace["/DefaultRGB"]
    resource(page, "/ColorSpace", "/K", pdf.make_indirect(parsed(KELP)))
    resource(page, "/ColorSpace", "/U", parsed("[/Pattern /DeviceRGB]"))
    box = "/PatternType 1 /PaintType 2 /TilingType 1 /BBox [0 0 9 9] /XStep 9 /YStep 9"
    resource(page, "/Pattern", "/P", stream(pdf, b"0 0 9 9 re f", f"<< {box} /Resources << >> >>"))
    table = parsed("<< /Subtype /Image /Width 1 /Height 1 /BitsPerComponent 8 >>")
    image = stream(pdf, b"\x00", "<< >>")
    for key, value in table.items():
        image[key] = value
    image["/ColorSpace"] = parsed("[/Indexed /DeviceRGB 0 <336699>]")
    resource(page, "/XObject", "/T", image)
    spot = stream(pdf, b"\xff", "<< >>")
    for key, value in table.items():
        spot[key] = value
    spot["/ColorSpace"] = page.obj.Resources.ColorSpace.K
    resource(page, "/XObject", "/Spot", spot)


UNDER_CMYK = {
    "fill": SLATE_RG + BOX,
    "line": b"0.2 0.4 0.6 RG 50 w 25 0 m 25 50 l S",
    "by cs": b"/DeviceRGB cs 0.2 0.4 0.6 sc" + BOX,
    "form": b"/F Do",
    "pattern": b"/U cs 0.2 0.4 0.6 /P scn" + BOX,
    "table": b"q 50 0 0 50 0 0 cm /T Do Q",
    "inline table": b"q 50 0 0 50 0 0 cm BI /W 1 /H 1 /BPC 8 /CS [/I /RGB 0 <336699>] ID \x00 EI Q",
    "gradient": b"q 0 0 20 50 re W n 1 0 0 1 0 0 cm /S sh Q",
    "flight": b"".join(
        b"%.4f %.4f %.4f rg " % tuple(v + (1 - v) * i / 12 for v in (0.2, 0.4, 0.6))
        + b"%d 0 100 50 re f " % (6 * i)
        for i in range(12)
    ),
    "spot": b"/K cs 1 scn" + BOX,
    "picture in a spot": b"q 50 0 0 50 0 0 cm /Spot Do Q",
    "its own numbers": OLD_K + BOX,
    "nothing set": b"0 0 50 50 re f",
}
LOOSE = {"gradient": 3, "flight": 8}
STAYS = b" 0.9 0.1 0.3 0 k 60 60 30 30 re f"


@pytest.mark.parametrize(
    "chosen", [["fill"], ["spot"], list(UNDER_CMYK)], ids=["fill", "spot", "all"]
)
def test_as_profiled_builds_stand_by_their_plates_under_a_default_cmyk(
    chosen: list[str], tmp_path: Path
) -> None:
    cells = {case: (at % 5 * 20, at // 5 * 20) for at, case in enumerate(chosen)}
    content = b" ".join(
        b"q 0.2 0 0 0.2 %d %d cm 0 0 50 50 re W n " % place + UNDER_CMYK[case] + b" Q"
        for case, place in cells.items()
    )
    source = document(content + STAYS, setup=_under_cmyk)
    wanted = [f"{old} = {NEW}" for old in (SLATE, "spot Kelp", OLD, "gray 100")]
    options = RecolourOptions(spots=SpotMode.PROCESS)
    made = proven(source, *wanted, options=options, render=True)
    assert "default-space" not in codes(made)
    before, after = plates(source, tmp_path), plates(made.data, tmp_path)
    build = {"Cyan": 78, "Magenta": 12, "Yellow": 55, "Black": 41}
    for ink, amount in build.items():
        for case, (x, y) in cells.items():
            found = after[ink][99 - y - 2, x + (0 if case in LOOSE else 2)]
            assert found == pytest.approx(amount, abs=LOOSE.get(case, 0.6)), case
        assert after[ink][20, 80] == before[ink][20, 80], "what stays goes through its profile"


def test_as_profiled_an_rgb_build_under_a_default_rgb_is_refused() -> None:
    source, wanted = document(OLD_K + BOX, setup=_cal_rgb), swaps(f"{OLD} = rgb 9 200 9")
    made = recolour(source, wanted)
    assert [one.code for one in made.errors] == ["default-space"]
    assert not prove(source, made.data, wanted, render=False).passed


@pytest.mark.parametrize("harm", [b"1 0 0 rg", b"0.3 0.4 0.6 rg"])
def test_the_proof_sees_another_change_beside_a_default_space_that_went(harm: bytes) -> None:
    content = SLATE_RG + BOX + b" 0 1 0 rg 60 0 9 9 re f"
    source, wanted = document(content, setup=_cal_rgb), swaps(f"{SLATE} = {NEW}")
    right = recolour(source, wanted, options=PLAIN).data
    assert prove(source, right, wanted, PLAIN, render=False).passed
    with pikepdf.open(io.BytesIO(right)) as pdf:
        page = pdf.pages[0]
        page.Contents = pdf.make_stream(page.Contents.read_bytes().replace(b"0 1 0 rg", harm))
        out = io.BytesIO()
        pdf.save(out)
    proof = prove(source, out.getvalue(), wanted, PLAIN, render=False)
    assert not proof.passed
    assert failures(proof)
