"""What pages share that say different things of its colours: each gets its own, or none."""

import io
from collections.abc import Callable
from pathlib import Path

import pikepdf
import pytest

from artwork_kit import KELP, NEW, OLD, OLD_K, codes, form, parsed, proven, resource, stream, swaps
from inkaccord.artwork.proof.prove import prove
from inkaccord.artwork.recolouring.recolour import RecolourOptions, SpotMode, recolour
from inkaccord.pdf.colours.scope import Scopes
from outside import KRITA_CMYK, need_file, plates
from page_kit import saved

pytestmark = pytest.mark.slow

PROCESS = RecolourOptions(spots=SpotMode.PROCESS)
BUILD = {"Cyan": 78.0, "Magenta": 12.0, "Yellow": 55.0, "Black": 41.0}
BOX = b" 0 0 50 50 re f"
CELL = "/PatternType 1 /PaintType 1 /TilingType 1 /BBox [0 0 50 50] /XStep 50 /YStep 50"
PLACE = b"q 50 0 0 50 0 0 cm /X Do Q"
TEXT = b"BT /X 50 Tf 0 0 Td (a) Tj ET"

Thing = Callable[[pikepdf.Pdf, bytes, str], pikepdf.Object]


def _pattern(pdf: pikepdf.Pdf, paint: bytes, own: str) -> pikepdf.Object:
    return stream(pdf, paint + BOX, f"<< {CELL} {own} >>")


def _font(pdf: pikepdf.Pdf, paint: bytes, own: str) -> pikepdf.Object:
    font = parsed(
        "<< /Type /Font /Subtype /Type3 /FontBBox [0 0 50 50] /FontMatrix [0.02 0 0 0.02 0 0] "
        "/FirstChar 97 /LastChar 97 /Widths [50] /Encoding << /Differences [97 /a] >> "
        f"/CharProcs << >> {own} >>"
    )
    font.CharProcs.a = pdf.make_stream(b"50 0 d0 " + paint + BOX)
    return pdf.make_indirect(font)


def _form(pdf: pikepdf.Pdf, paint: bytes, own: str) -> pikepdf.Object:
    return form(pdf, paint + BOX, f"<< {own} >>")


def _picture(pdf: pikepdf.Pdf, _: bytes, own: str) -> pikepdf.Object:
    del own
    image = "/Subtype /Image /Width 1 /Height 1 /BitsPerComponent 8 "
    table = "/ColorSpace [/Indexed /DeviceCMYK 1 <D933994C00000000>]"
    return stream(pdf, b"\x00", f"<< {image} {table} >>")


def _gradient(pdf: pikepdf.Pdf, _: bytes, own: str) -> pikepdf.Object:
    del own
    ends = "/C0 [0.85 0.2 0.6 0.3] /C1 [0.85 0.2 0.6 0.3]"
    function = f"<< /FunctionType 2 /Domain [0 1] {ends} /N 1 >>"
    entries = "/ShadingType 2 /ColorSpace /DeviceCMYK /Coords [0 0 50 0]"
    return pdf.make_indirect(parsed(f"<< {entries} /Function {function} >>"))


def _table(pdf: pikepdf.Pdf, _: bytes, own: str) -> pikepdf.Object:
    del own
    return pdf.make_indirect(parsed("[/Indexed /DeviceCMYK 0 <D933994C>]"))


SHARED: dict[str, tuple[str, Thing, bytes]] = {
    "pattern": ("/Pattern", _pattern, b"/Pattern cs /X scn" + BOX),
    "glyph": ("/Font", _font, TEXT),
    "form": ("/XObject", _form, b"/X Do"),
    "picture": ("/XObject", _picture, PLACE),
    "gradient": ("/Shading", _gradient, b"0 0 50 50 re W n /X sh"),
    "table": ("/ColorSpace", _table, b"/X cs 0 sc" + BOX),
}
NOT_CALLED_BY_NAME = {"pattern", "glyph"}


def _pages(kind: str, paint: bytes, own: str, spaces: list[dict[str, pikepdf.Object]]) -> bytes:
    """Return a page for each set of named spaces, all of which draw one object."""
    category, make, content = SHARED[kind]
    with pikepdf.new() as pdf:
        shared = make(pdf, paint, own)
        for named in spaces:
            page = pdf.add_blank_page(page_size=(100, 100))
            page.obj.Resources = parsed("<< >>")
            page.obj.Contents = pdf.make_stream(content)
            resource(page, category, "/X", shared)
            for name, space in named.items():
                resource(page, "/ColorSpace", name, pdf.make_indirect(space))
        return saved(pdf)


def _under_default(kind: str, defaults: tuple[bool, bool]) -> bytes:
    profile = need_file(KRITA_CMYK, "krita-data").read_bytes()
    data = _pages(kind, OLD_K, "/Resources << >>", [{} for _ in defaults])
    with pikepdf.open(io.BytesIO(data)) as pdf:
        space = pikepdf.Array([pikepdf.Name.ICCBased, pdf.make_stream(profile, N=4)])
        for page, under in zip(pdf.pages, defaults, strict=True):
            if under:
                resource(page, "/ColorSpace", "/DefaultCMYK", space)
        return saved(pdf)


def _printed(data: bytes, number: int, folder: Path) -> dict[str, float]:
    """Return the inks in the middle of what a page draws, in percent, by Ghostscript."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        while number:
            del pdf.pages[0]
            number -= 1
        inks = plates(saved(pdf), folder)
    return {name: float(ink[75, 25]) for name, ink in inks.items() if ink[75, 25]}


@pytest.mark.parametrize(
    ("kind", "defaults"),
    [
        *((kind, (False, True)) for kind in SHARED),
        *((kind, (True, False)) for kind in ("pattern", "picture")),
        ("picture", (True, True)),
    ],
)
def test_one_of_two_pages_has_a_default_space(
    kind: str, defaults: tuple[bool, bool], tmp_path: Path
) -> None:
    """Where plain CMYK would go through a profile on one of them, no copy prints another build."""
    source, wanted = _under_default(kind, defaults), swaps(f"{OLD} = {NEW}")
    if kind in NOT_CALLED_BY_NAME and len(set(defaults)) > 1:
        assert codes(recolour(source, wanted)) == {"drawn-two-ways"}
        return
    made = proven(source, *wanted, render=True)
    for number in range(2):
        assert _printed(made.data, number, tmp_path) == pytest.approx(BUILD, abs=0.6)


@pytest.mark.parametrize("kind", ["picture", "gradient"])
def test_the_proof_sees_a_build_that_would_go_through_a_profile(
    kind: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    source, wanted = _under_default(kind, (False, True)), swaps(f"{OLD} = {NEW}")
    monkeypatch.setattr(Scopes, "defaulted", lambda *_: False)
    assert not prove(source, recolour(source, wanted).data, wanted, render=False).passed


@pytest.mark.parametrize("names", [("Kelp", "Plum"), ("Plum", "Kelp")])
@pytest.mark.parametrize("kind", ["pattern", "glyph", "form"])
def test_a_name_stands_for_another_spot_on_each_page(
    kind: str, names: tuple[str, str], tmp_path: Path
) -> None:
    """Both look the same, so that no rendering in CMYK could tell them apart."""
    spaces = [{"/K": parsed(KELP.replace("Kelp", name))} for name in names]
    source, wanted = _pages(kind, b"/K cs 1 scn", "", spaces), swaps(f"spot Kelp = {NEW}")
    if kind in NOT_CALLED_BY_NAME:
        made = recolour(source, wanted, options=PROCESS)
        assert "drawn-two-ways" in codes(made)
        assert not prove(source, made.data, wanted, PROCESS, render=False).passed
        return
    made = proven(source, *wanted, options=PROCESS, render=True)
    for number, name in enumerate(names):
        expected = BUILD if name == "Kelp" else {"Plum": 100.0}
        assert _printed(made.data, number, tmp_path) == pytest.approx(expected, abs=0.6)


def test_the_look_of_a_comment_is_shared_by_two_pages() -> None:
    with pikepdf.new() as pdf:
        look = form(pdf, b"/K cs 1 scn" + BOX)
        for name in ("Kelp", "Plum"):
            page = pdf.add_blank_page(page_size=(100, 100))
            page.obj.Resources = parsed(f"<< /ColorSpace << /K {KELP.replace('Kelp', name)} >> >>")
            comment = parsed("<< /Subtype /Stamp /F 4 /Rect [0 0 50 50] /AP << >> >>")
            comment.AP.N = look
            page.obj.Annots = pikepdf.Array([pdf.make_indirect(comment)])
        source = saved(pdf)
    assert "drawn-two-ways" in codes(recolour(source, swaps(f"spot Kelp = {NEW}"), options=PROCESS))


@pytest.mark.parametrize("names", [("Kelp", "Plum"), ("Plum", "Kelp")])
def test_pages_share_their_content_and_a_name_in_it_is_another_spot(
    names: tuple[str, str], tmp_path: Path
) -> None:
    with pikepdf.new() as pdf:
        content = pdf.make_stream(b"/K cs 1 scn" + BOX)
        for name in names:
            page = pdf.add_blank_page(page_size=(100, 100))
            page.obj.Resources = parsed(f"<< /ColorSpace << /K {KELP.replace('Kelp', name)} >> >>")
            page.obj.Contents = content
        source = saved(pdf)
    made = proven(source, f"spot Kelp = {NEW}", options=PROCESS, render=True)
    for number, name in enumerate(names):
        expected = BUILD if name == "Kelp" else {"Plum": 100.0}
        assert _printed(made.data, number, tmp_path) == pytest.approx(expected, abs=0.6)
