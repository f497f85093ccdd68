"""Pages and groups that mix in another kind of colour than the device prints."""

import io
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from numpy.typing import NDArray

from artwork_kit import KELP as SPOT
from artwork_kit import document, form, parsed, resource, stream, swaps
from inkaccord.artwork.finishing import groups
from inkaccord.artwork.finishing.groups import mend_groups
from inkaccord.artwork.proof import group_proof
from inkaccord.artwork.proof.group_proof import prove_groups
from inkaccord.artwork.recolouring.recolour import recolour
from inkaccord.artwork.taking_up import OrderSays
from inkaccord.colour.builds import Drive
from inkaccord.diagnostics import Severity
from inkaccord.pdf.rendering import page_pictures
from outside import need_program, plates, screen_colours
from page_kit import changed, saved

pytestmark = pytest.mark.slow

KELP, LANTERN = b"0.85 0.2 0.6 0.3 k 10 10 40 40 re f ", b"0 0.38 0.88 0.02 k 30 30 40 40 re f "
GRAY = b"0.5 g 60 60 30 30 re f "
RGB = b"1 0 0 rg 5 5 60 60 re f "
RGB_APART = b"1 0 0 rg 80 5 15 15 re f "
STATES = (
    "<< /ExtGState << /Half << /ca 0.5 >> /Multiply << /BM /Multiply >> /Screen << /BM /Screen >> "
    "/Luminosity << /BM [ /Luminosity /Normal ] >> >> >>"
)


def page(content: bytes, space: str = "/DeviceRGB", more: str = "", setup: object = None) -> bytes:
    """Return a page of a group in a space; ``more`` are entries of the group."""

    def add(pdf: pikepdf.Pdf, one: pikepdf.Page) -> None:
        one.obj.Group = parsed(f"<< /S /Transparency /I true {more} >>")
        one.obj.Group.CS = parsed(space) if space != "/ICC" else icc(pdf, 3)
        if callable(setup):
            setup(pdf, one)

    return document(content, STATES, add)


def icc(pdf: pikepdf.Pdf, components: int) -> pikepdf.Object:
    profile = stream(pdf, b"no profile that is read", f"<< /N {components} >>")
    return pikepdf.Array([pikepdf.Name.ICCBased, profile])


def spaces(data: bytes) -> list[str]:
    """Return the spaces that groups of a file name, in the order of its objects."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        return [
            str(one.Group.CS)
            for one in pdf.objects
            if isinstance(one, (pikepdf.Dictionary, pikepdf.Stream))
            and "/CS" in one.get("/Group", {})
        ]


def at(plate: dict[str, NDArray[np.float64]], x: int, y: int) -> dict[str, int]:
    return {name: round(float(values[99 - y, x])) for name, values in plate.items()}


def inks(*amounts: int) -> dict[str, int]:
    return dict(zip(("Cyan", "Magenta", "Yellow", "Black"), amounts, strict=True))


def mended(data: bytes, drive: Drive = Drive.CMYK) -> bytes:
    made, said = mend_groups(data, drive)
    assert [it.code for it in said] == ["mixing-mended"], said
    assert said[0].severity is Severity.NOTE
    assert made is not None
    return made


def held(data: bytes, drive: Drive = Drive.CMYK) -> str:
    """Return the code of the error for which a page keeps its groups."""
    made, said = mend_groups(data, drive)
    assert made is None
    assert [it.severity for it in said] == [Severity.ERROR]
    assert "blending" not in f"{said[0].message} {said[0].hint}"
    return said[0].code


CALIBRATED = "[ /CalRGB << /WhitePoint [0.95 1 1.09] >> ]"


@pytest.mark.parametrize("space", ["/DeviceRGB", "/ICC", CALIBRATED])
def test_what_is_opaque_prints_its_builds(space: str, tmp_path: Path) -> None:
    before = page(KELP + LANTERN + GRAY + RGB_APART, space)
    after = mended(before)
    assert spaces(after) == ["/DeviceCMYK"]
    plate = plates(after, tmp_path)
    assert at(plate, 15, 15) == inks(85, 20, 60, 30)
    assert at(plate, 60, 40) == inks(0, 38, 88, 2)
    assert at(plate, 85, 85) == inks(0, 0, 0, 50)
    if space == "/DeviceRGB":
        old = plates(before, tmp_path)
        assert at(old, 15, 15) != inks(85, 20, 60, 30), "the case shows nothing"
        assert at(old, 85, 10) == at(plate, 85, 10), "RGB is converted once, either way"
    pictures = [np.asarray(next(page_pictures(one, dpi=72))) for one in (before, after)]
    assert np.array_equal(*pictures)


def test_cmyk_through_opacity_and_multiply_lies_as_inks_do(tmp_path: Path) -> None:
    data = page(KELP + b"q /Half gs " + LANTERN + b"Q q /Multiply gs " + GRAY + b"Q " + RGB_APART)
    plate = plates(mended(data), tmp_path)
    assert at(plate, 15, 15) == inks(85, 20, 60, 30)
    assert at(plate, 60, 40) == inks(0, 19, 44, 1)
    assert at(plate, 40, 40) == pytest.approx(inks(42, 29, 74, 16), abs=1)


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (RGB + b"q /Half gs " + KELP + b"Q", "see-through"),
        (KELP + b"q /Half gs " + RGB + b"Q", "see-through"),
        (b"q /Half gs " + RGB_APART + b"Q " + KELP, "see-through"),
        (KELP + b"q /Screen gs " + LANTERN + b"Q", "'Screen'"),
        (KELP + b"q /Luminosity gs " + LANTERN + b"Q", "'Luminosity'"),
    ],
)
def test_what_rests_on_rgb_is_held(content: bytes, why: str) -> None:
    data = page(content)
    assert held(data) == "mixed-in-rgb"
    _, said = mend_groups(data, Drive.CMYK)
    assert why in said[0].message
    assert said[0].place.page == 1
    assert said[0].place.box_mm is not None


BOTH = swaps("rgb 255 0 0 = cmyk 0 90 80 0", "rgb 0 0 255 = cmyk 90 80 0 0")


def test_the_lines_that_take_up_what_is_in_the_way_are_said_and_one_of_them_ends_it() -> None:
    content = KELP + b"/Half gs 1 0 0 rg 5 5 60 60 re f 0 0 1 rg 70 70 9 9 re f"
    _, (said,) = mend_groups(page(content), Drive.CMYK, says=OrderSays())
    lines = (said.hint or "").splitlines()[1:]
    assert [line.partition(":")[0] for line in lines] == [
        "colours.rgb-0-0-255", "colours.rgb-255-0-0",
    ]  # fmt: skip
    taken = recolour(page(content), BOTH)
    assert mended(taken.data)


def test_opaque_rgb_over_what_is_see_through_is_mixed_with_nothing() -> None:
    mended(page(b"q /Half gs " + KELP + b"Q " + RGB))


def test_a_page_without_colours_of_the_device_s_own_is_left_alone() -> None:
    assert mend_groups(page(RGB + b"q /Half gs " + RGB_APART + b"Q"), Drive.CMYK) == (None, ())
    assert mend_groups(document(KELP), Drive.CMYK) == (None, ())
    assert mend_groups(page(KELP, "/DeviceCMYK"), Drive.CMYK) == (None, ())


def test_an_image_with_soft_edges_in_rgb_is_held_and_in_cmyk_mended() -> None:
    def pictured(space: str, samples: bytes) -> bytes:
        def setup(pdf: pikepdf.Pdf, one: pikepdf.Page) -> None:
            entries = "<< /Type /XObject /Subtype /Image /Width 1 /Height 1 /BitsPerComponent 8 >>"
            image, mask = stream(pdf, samples, entries), stream(pdf, b"\x80", entries)
            image.ColorSpace, mask.ColorSpace = pikepdf.Name(space), pikepdf.Name.DeviceGray
            image.SMask = mask
            resource(one, "/XObject", "/I", image)

        return page(KELP + b"q 20 0 0 20 70 70 cm /I Do Q", setup=setup)

    assert held(pictured("/DeviceRGB", b"\x10\x80\xf0")) == "mixed-in-rgb"
    _, said = mend_groups(pictured("/DeviceRGB", b"\x10\x80\xf0"), Drive.CMYK)
    assert "photographs: matched" in str(said[0].hint)
    mended(pictured("/DeviceCMYK", b"\x10\x80\xf0\x00"))


# -- where groups stand -----------------------------------------------------------------------

GROUP = "/Group << /S /Transparency /CS /DeviceRGB /I true /K true >>"


def nested(pdf: pikepdf.Pdf, one: pikepdf.Page) -> None:
    outer = form(pdf, b"/In Do", f"<< {GROUP} /Resources << /XObject << >> >> >>")
    outer.Resources.XObject.In = form(pdf, KELP, f"<< {GROUP} >>")
    resource(one, "/XObject", "/Out", outer)


def in_a_pattern(pdf: pikepdf.Pdf, one: pikepdf.Page) -> None:
    entries = "<< /PatternType 1 /PaintType 1 /TilingType 1 /BBox [0 0 100 100] /XStep 100 "
    tile = stream(pdf, b"/In Do", entries + "/YStep 100 /Resources << /XObject << >> >> >>")
    tile.Resources.XObject.In = form(pdf, KELP, f"<< {GROUP} >>")
    resource(one, "/Pattern", "/P", tile)


def in_an_annotation(pdf: pikepdf.Pdf, one: pikepdf.Page) -> None:
    note = parsed("<< /Type /Annot /Subtype /Stamp /Rect [0 0 100 100] /F 4 /AP << >> >>")
    note.AP.N = form(pdf, KELP, f"<< {GROUP} >>")
    one.obj.Annots = pikepdf.Array([pdf.make_indirect(note)])


@pytest.mark.parametrize(
    ("content", "setup"),
    [
        (b"/Out Do", nested),
        (b"/Pattern cs /P scn 0 0 100 100 re f", in_a_pattern),
        (b" ", in_an_annotation),
    ],
)
def test_groups_in_forms_patterns_and_annotations(
    content: bytes, setup: Callable[[pikepdf.Pdf, pikepdf.Page], None], tmp_path: Path
) -> None:
    after = mended(document(content, "<< >>", setup))
    assert set(spaces(after)) == {"/DeviceCMYK"}
    assert at(plates(after, tmp_path), 15, 15) == inks(85, 20, 60, 30)
    with pikepdf.open(io.BytesIO(after)) as pdf:
        flags = [
            (bool(one.Group.I), bool(one.Group.K))
            for one in pdf.objects
            if isinstance(one, pikepdf.Stream) and "/Group" in one
        ]
    assert flags
    assert set(flags) == {(True, True)}


def test_a_soft_mask_keeps_its_space() -> None:
    def setup(pdf: pikepdf.Pdf, one: pikepdf.Page) -> None:
        mask = parsed("<< /Type /Mask /S /Luminosity >>")
        mask.G = form(pdf, b"1 g 0 0 50 50 re f", f"<< {GROUP} >>")
        state = pikepdf.Dictionary(SMask=pdf.make_indirect(mask))
        resource(one, "/ExtGState", "/Masked", state)

    after = mended(page(b"/Masked gs " + KELP, setup=setup))
    assert sorted(spaces(after)) == ["/DeviceCMYK", "/DeviceRGB"]


@pytest.mark.parametrize(
    ("call", "drawn"), [(b"", False), (b" /X13 Do", True), (b" /X#313 Do", True), (b" /T Do", True)]
)
def test_a_form_that_is_listed_and_never_called_is_not_drawn(call: bytes, drawn: bool) -> None:
    """Browsers list the forms of soft masks so, which are to be gray."""

    def setup(pdf: pikepdf.Pdf, one: pikepdf.Page) -> None:
        light = form(pdf, KELP, "<< /Group << /S /Transparency /CS /DeviceGray >> >>")
        resource(one, "/XObject", "/X13", light)
        caller = form(pdf, b"/X13 Do")
        caller.Resources = pikepdf.Dictionary(XObject=pikepdf.Dictionary(X13=light))
        resource(one, "/XObject", "/T", caller if b"/T" in call else form(pdf, b""))
        mask = pikepdf.Dictionary(S=pikepdf.Name.Luminosity, G=light)
        resource(one, "/ExtGState", "/M", pikepdf.Dictionary(SMask=mask))

    source = document(KELP + call + b" /M gs " + LANTERN, setup=setup)
    if drawn:
        assert held(source) == "mixed-in-gray"
    else:
        assert mend_groups(source, Drive.CMYK) == (None, ())


def test_the_look_of_a_comment_is_drawn_though_no_content_calls_it() -> None:
    def setup(pdf: pikepdf.Pdf, one: pikepdf.Page) -> None:
        look = form(pdf, KELP, "<< /Group << /S /Transparency /CS /DeviceRGB >> >>")
        resource(one, "/XObject", "/X", look)
        stamp = parsed("<< /Type /Annot /Subtype /Stamp /F 4 /Rect [0 0 100 100] >>")
        stamp.AP = pikepdf.Dictionary(N=look)
        one.obj.Annots = pikepdf.Array([pdf.make_indirect(stamp)])

    assert spaces(mended(document(LANTERN, setup=setup))) == ["/DeviceCMYK"]


def test_a_default_colour_space_is_held() -> None:
    def setup(pdf: pikepdf.Pdf, one: pikepdf.Page) -> None:
        resource(one, "/ColorSpace", "/DefaultCMYK", icc(pdf, 4))
        resource(one, "/ColorSpace", "/Kelp", parsed(SPOT))

    assert held(page(b"/Kelp cs 1 scn 10 10 40 40 re f", setup=setup)) == "mixed-in-rgb"


def test_colours_that_are_to_be_shown_in_gray_are_held_and_grays_left() -> None:
    assert held(page(KELP, "/DeviceGray")) == "mixed-in-gray"
    assert mend_groups(page(GRAY, "/DeviceGray"), Drive.CMYK) == (None, ())


def test_each_page_is_judged_for_itself() -> None:
    def second(pdf: pikepdf.Pdf, one: pikepdf.Page) -> None:
        other = pdf.add_blank_page(page_size=(100, 100))
        other.obj.Resources = parsed(STATES)
        other.obj.Group = parsed("<< /S /Transparency /CS /DeviceRGB >>")
        other.obj.Contents = pdf.make_stream(RGB + b"/Half gs " + KELP)

    made, said = mend_groups(page(KELP, setup=second), Drive.CMYK)
    assert [(it.code, it.place.page) for it in said] == [("mixed-in-rgb", 2), ("mixing-mended", 1)]
    assert made is not None
    assert sorted(spaces(made)) == ["/DeviceCMYK", "/DeviceRGB"]


def _two_pages(first: bytes, second: bytes, shared: str) -> bytes:
    """Return two pages with one group between them: theirs, a form's, or of forms with one."""
    with pikepdf.new() as pdf:
        group = pdf.make_indirect(parsed("<< /S /Transparency /CS /DeviceRGB /I true >>"))
        one = form(pdf, b"1 0 0 rg 0 0 5 5 re f")
        one.Group = group
        for content in (first, second):
            added = pdf.add_blank_page(page_size=(100, 100))
            added.obj.Resources = parsed(STATES)
            if shared == "page":
                added.obj.Group = group
            else:
                resource(added, "/XObject", "/F", one)
            if shared == "two forms":
                resource(added, "/XObject", "/G", form(pdf, b""))
                added.obj.Resources.XObject.G.Group = group
            added.obj.Contents = pdf.make_stream(content)
        return saved(pdf)


CLEAR_RGB = RGB + b"/Half gs 0 0 1 rg 20 20 70 70 re f"


def test_pages_that_share_a_group_keep_it_where_they_need_it(tmp_path: Path) -> None:
    """The second page has no ink of the device's own kind, and is see-through in RGB."""
    source = _two_pages(KELP, CLEAR_RGB, "page")
    copy = mended(source)
    assert sorted(spaces(copy)) == ["/DeviceCMYK", "/DeviceRGB"]
    before, after = (changed(one, lambda pdf: pdf.pages.__delitem__(0)) for one in (source, copy))
    found, wanted = plates(after, tmp_path), plates(before, tmp_path)
    assert all(np.array_equal(found[name], wanted[name]) for name in wanted)


def test_a_form_on_two_pages_keeps_the_group_that_one_of_them_needs() -> None:
    made, said = mend_groups(_two_pages(KELP + b"/F Do", CLEAR_RGB + b"/F Do", "form"), Drive.CMYK)
    assert made is None
    assert [(it.code, it.place.page) for it in said] == [("mixed-in-rgb", 1)]
    assert "lies on page 2 too" in said[0].message
    mended(_two_pages(KELP + b"/F Do", RGB + b"/F Do", "form"))


def test_forms_of_one_page_may_share_a_group() -> None:
    mended(_two_pages(KELP + b"/F Do /G Do", KELP + b"/F Do /G Do", "two forms"))


# -- a device driven in RGB -------------------------------------------------------------------

SEEN = b"0.1 0.7 0.3 rg 10 10 40 40 re f "


def test_a_device_in_rgb_keeps_groups_in_rgb_and_loses_those_in_cmyk(tmp_path: Path) -> None:
    assert mend_groups(page(SEEN), Drive.RGB) == (None, ())
    before = page(SEEN, "/DeviceCMYK")
    after = mended(before, Drive.RGB)
    assert spaces(after) == ["/DeviceRGB"]
    colour = [26, 178, 76]
    old, new = (screen_colours(one, tmp_path)[85, 15].tolist() for one in (before, after))
    assert new == pytest.approx(colour, abs=1)
    assert old != pytest.approx(colour, abs=1), "the case shows nothing"


def test_a_device_in_rgb_is_not_given_cmyk_that_is_mixed() -> None:
    data = page(SEEN + b"q /Half gs " + KELP + b"Q", "/DeviceCMYK")
    assert held(data, Drive.RGB) == "mixed-in-cmyk"


# -- the proof --------------------------------------------------------------------------------


def _another(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].obj.Group.CS = pikepdf.Name.DeviceGray


def _no_more_isolated(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].obj.Group.I = False


def _none(pdf: pikepdf.Pdf) -> None:
    del pdf.pages[0].obj.Group


def _content(pdf: pikepdf.Pdf) -> None:
    pdf.pages[0].obj.Contents = pdf.make_stream(KELP + b"1 w")


@pytest.mark.parametrize("change", [_another, _no_more_isolated, _none, _content])
def test_the_proof_lets_no_other_change_through(change: Callable[[pikepdf.Pdf], None]) -> None:
    before = page(KELP)
    assert prove_groups(before, mended(before), [1], "/DeviceCMYK").passed
    after = changed(mended(before), change)
    assert not prove_groups(before, after, [1], "/DeviceCMYK").passed


def test_a_copy_that_prints_other_inks_is_not_let_through(monkeypatch: pytest.MonkeyPatch) -> None:
    need_program("gs", "ghostscript")
    before = page(KELP)
    # Nothing was changed, so the builds still go through RGB.
    proof = prove_groups(before, before, [1], "/DeviceCMYK")
    assert not proof.passed
    assert "other inks" in proof.why
    failing = group_proof.GroupProof(passed=False, why="the page would look different")
    monkeypatch.setattr(groups, "prove_groups", lambda *_: failing)
    assert held(before) == "mixed-in-rgb"
