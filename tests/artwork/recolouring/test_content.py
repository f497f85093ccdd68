"""Colours in page content: every operator, every space, every trap."""

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
    opened,
    parsed,
    proven,
    resource,
    stream,
    swaps,
)
from inkaccord.artwork.advice import advised
from inkaccord.artwork.profiled import Profiled
from inkaccord.artwork.recolouring.recolour import (
    OverprintMode,
    RecolourOptions,
    SpotMode,
    Swap,
    TintMode,
    recolour,
)
from inkaccord.artwork.swaps import NEUTRALS, TintTable
from inkaccord.colour.builds import Build
from inkaccord.colour.paints import Paint
from outside import plates

PROCESS = RecolourOptions(spots=SpotMode.PROCESS)
SPOT = f"<< /ColorSpace << /Kelp {KELP} >> >>"


@pytest.mark.parametrize(
    ("before", "swap", "after"),
    [
        pytest.param(OLD_K, f"{OLD} = {NEW}", NEW_K, id="k"),
        pytest.param(b"0.85 0.2 0.6 0.3 K", f"{OLD} = {NEW}", b"0.78 0.12 0.55 0.41 K", id="K"),
        pytest.param(b"1 0 .5 rg", "rgb 255 0 127.5 = rgb 0 51 255", b"0 0.2 1 rg", id="rg"),
        pytest.param(b"1 0 0 RG", "rgb 255 0 0 = cmyk 0 90 80 5", b"0 0.9 0.8 0.05 K", id="RG"),
        pytest.param(b"0.25 g", "gray 75 = cmyk 0 0 0 70", b"0 0 0 0.7 k", id="g"),
        pytest.param(b"0.25 G", "gray 75 = gray 70", b"0.3 G", id="G"),
        pytest.param(b"0.85 .2 .6 .3k", f"{OLD} = {NEW}", NEW_K, id="no-blank"),
        pytest.param(b"9 8 0.85 0.2 0.6 0.3 k", f"{OLD} = {NEW}", NEW_K, id="extra-operands"),
        pytest.param(b"0.85 0.2 %c\n0.6 0.3 k", f"{OLD} = {NEW}", NEW_K, id="comment"),
        pytest.param(
            b"/DeviceCMYK cs 0.85 0.2 0.6 0.3 sc", f"{OLD} = {NEW}", b"/DeviceCMYK cs " + NEW_K,
            id="cs-sc",
        ),
        pytest.param(
            b"/DeviceRGB CS 1 0 0 SCN", "rgb 255 0 0 = rgb 0 0 255", b"/DeviceRGB CS 0 0 1 RG",
            id="CS-SCN",
        ),
        pytest.param(b"0.759 0 0 0 k", "cmyk 76 0 0 0 = cmyk 70 0 0 0", b"0.7 0 0 0 k", id="759"),
        pytest.param(
            b"0.85098 0.2 0.6 0.298 k", f"{OLD} = {NEW}", NEW_K, id="eight-bit-rounding"
        ),
        pytest.param(
            b"1.5 0 0 -1 k", "cmyk 100 0 0 0 = cmyk 90 0 0 0", b"0.9 0 0 0 k", id="out-of-range"
        ),
    ],
)  # fmt: skip
def test_swaps_the_operator(before: bytes, swap: str, after: bytes) -> None:
    source = document(b"q\n" + before + b"\n0 0 50 50 re B\nQ")
    render = before in (OLD_K, b"0.85 .2 .6 .3k", b"0.759 0 0 0 k", b"1 0 0 RG")
    result = proven(source, swap, render=render)
    assert content_of(result.data) == b"q\n" + after + b"\n0 0 50 50 re B\nQ"


def test_keeps_every_other_byte() -> None:
    odd = (
        b"%comment 0.85 0.2 0.6 0.3 k\r\nq  1 0 0 1 5 5   cm\t" + OLD_K + b"\r0 0 9 9 re\nf*"
        b" BT /F1 12 Tf (0.85 0.2 0.6 0.3 k) Tj <28> Tj [(a)-20(b)] TJ ET Q   "
    )
    resources = "<< /Font << /F1 << /Type /Font /Subtype /Type1 /BaseFont /Helvetica >> >> >>"
    result = proven(document(odd, resources), f"{OLD} = {NEW}")
    expected = odd.replace(b"cm\t" + OLD_K, b"cm\t" + NEW_K)
    assert content_of(result.data) == expected


def test_all_swaps_happen_at_once() -> None:
    source = document(b"1 0 0 0 k 0 0 9 9 re f 0 1 0 0 k 9 9 9 9 re f")
    result = proven(source, "cmyk 100 0 0 0 = cmyk 0 100 0 0", "cmyk 0 100 0 0 = cmyk 100 0 0 0")
    assert content_of(result.data) == b"0 1 0 0 k 0 0 9 9 re f 1 0 0 0 k 9 9 9 9 re f"


@pytest.mark.parametrize("cut", range(0, 42, 3))
def test_content_cut_anywhere_between_two_streams(cut: int) -> None:
    whole = b"q " + OLD_K + b" 0 0 50 50 re f Q 1 0 0 0 k"
    parts = [whole[:cut], whole[cut:]]
    inside_a_token = whole[cut - 1 : cut].strip() and whole[cut : cut + 1].strip()
    if cut and inside_a_token:
        pytest.skip("a cut inside a token is another token, for renderers too")
    result = proven(document(parts), f"{OLD} = {NEW}")
    text = b" ".join(content_of(result.data).split())
    assert text == b" ".join(whole.replace(OLD_K, NEW_K).split())


def test_a_stream_shared_by_two_pages_is_rewritten_for_each() -> None:
    """Its ``scn`` means another colour on each page, by what stands before it."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        second = pdf.add_blank_page(page_size=(100, 100))
        second.obj.Resources = parsed("<< >>")
        shared = pdf.make_stream(b"1 0 0 sc 0 0 50 50 re f")
        page.obj.Contents = pikepdf.Array([pdf.make_stream(b"/DeviceRGB cs"), shared])
        second.obj.Contents = pikepdf.Array([pdf.make_stream(b"/DeviceCMYK cs 1"), shared])

    result = proven(
        document(setup=setup), "rgb 255 0 0 = rgb 0 0 255", "cmyk 100 100 0 0 = cmyk 9 8 7 6"
    )
    assert content_of(result.data, 0).split(b"\n")[-1] == b"0 0 1 rg 0 0 50 50 re f"
    assert content_of(result.data, 1).endswith(b"0.09 0.08 0.07 0.06 k 0 0 50 50 re f")


def test_black_that_no_operator_sets_is_swapped_where_it_paints() -> None:
    source = document(b"0 0 50 50 re f")
    result = proven(source, "gray 100 = cmyk 60 40 40 100", render=True)
    assert content_of(result.data) == b"0.6 0.4 0.4 1 k\n0 0 50 50 re f"


def test_black_that_paints_nothing_is_left_alone() -> None:
    source = document(b"1 0 0 0 k 0 0 50 50 re f")
    result = proven(source, "gray 100 = cmyk 60 40 40 100")
    assert content_of(result.data) == b"1 0 0 0 k 0 0 50 50 re f"


def test_cs_resets_to_black_of_its_space() -> None:
    """After ``cs`` to DeviceCMYK the colour is 0 0 0 1 without an operator."""
    source = document(b"1 0 0 0 k /DeviceCMYK cs 0 0 50 50 re f")
    result = proven(source, "cmyk 0 0 0 100 = cmyk 60 40 40 100")
    assert content_of(result.data) == b"1 0 0 0 k 0.6 0.4 0.4 1 k 0 0 50 50 re f"


def test_cs_resets_a_spot_to_full() -> None:
    source = document(b"/Kelp cs 0 0 50 50 re f", SPOT)
    result = proven(source, "spot Kelp = cmyk 10 20 30 40", options=PROCESS, render=True)
    assert content_of(result.data) == b"0.1 0.2 0.3 0.4 k 0 0 50 50 re f"


def test_a_colour_that_stays_selects_its_space_again() -> None:
    """The first colour leaves the named space, so the second has to come back to it."""
    lab = "[/Lab << /WhitePoint [0.96 1 0.82] /Range [-128 127 -128 127] >>]"
    resources = f"<< /ColorSpace << /L {lab} >> >>"
    source = document(b"/L cs 50 20 20 sc 0 0 9 9 re f 60 0 0 sc 9 9 9 9 re f", resources)
    result = proven(source, "lab 50 20 20 = cmyk 1 2 3 4", render=True)
    text = content_of(result.data)
    assert b"0.01 0.02 0.03 0.04 k 0 0 9 9 re f" in text
    assert text.endswith(b"cs 60 0 0 sc 9 9 9 9 re f")


def test_the_stack_brings_the_space_back() -> None:
    source = document(
        b"/DeviceRGB cs q /DeviceCMYK cs 1 0 0 0 sc 0 0 9 9 re f Q 1 0 0 sc 9 9 9 9 re f"
    )
    result = proven(source, "rgb 255 0 0 = rgb 0 0 255", "cmyk 100 0 0 0 = cmyk 0 100 0 0")
    assert content_of(result.data) == (
        b"/DeviceRGB cs q /DeviceCMYK cs 0 1 0 0 k 0 0 9 9 re f Q 0 0 1 rg 9 9 9 9 re f"
    )


def test_black_without_an_operator_under_a_default_space_is_profiled() -> None:
    resources = "<< /ColorSpace << /DefaultGray [/CalGray << /WhitePoint [0.95 1 1.09] >>] >> >>"
    source = document(b"0 0 50 50 re f", resources)
    assert "default-space" in codes(recolour(source, swaps("gray 100 = gray 90")))
    plain = proven(source, "gray 100 = cmyk 0 0 0 90")
    assert content_of(plain.data) == b"0 0 0 0.9 k\n" + content_of(source)


# -- spots ------------------------------------------------------------------------------------


def test_a_spot_stays_a_spot_with_the_new_build() -> None:
    source = document(b"/Kelp cs 1 scn 0 0 50 50 re f 0.3 scn 50 50 9 9 re f", SPOT)
    result = proven(source, "spot Kelp = cmyk 10 20 30 40", render=True)
    assert content_of(result.data) == content_of(source)
    with opened(result) as pdf:
        space = pdf.pages[0].Resources.ColorSpace.Kelp
        assert str(space[1]) == "/Kelp"
        assert str(space[2]) == "/DeviceCMYK"
        assert [float(v) for v in space[3].C1] == [0.1, 0.2, 0.3, 0.4]


def test_a_spot_as_process_colour() -> None:
    source = document(b"/Kelp cs 1 scn 0 0 50 50 re f /Kelp CS 0.5 SCN 0 0 9 9 re S", SPOT)
    result = proven(source, "spot Kelp = cmyk 10 20 30 40", options=PROCESS, render=True)
    text = content_of(result.data)
    assert b"0.1 0.2 0.3 0.4 k 0 0 50 50 re f" in text
    assert b"0.05 0.1 0.15 0.2 K 0 0 9 9 re S" in text
    with opened(result) as pdf:
        assert "/Kelp" not in pdf.pages[0].Resources.ColorSpace


def test_one_tint_of_a_spot_by_value() -> None:
    source = document(b"/Kelp cs 0.4 scn 0 0 9 9 re f 1 scn 9 9 9 9 re f", SPOT)
    result = proven(source, "spot Kelp 40% = cmyk 1 2 3 4")
    text = content_of(result.data)
    assert b"0.01 0.02 0.03 0.04 k 0 0 9 9 re f" in text
    assert b" cs 1 scn 9 9 9 9 re f" in text


@pytest.mark.parametrize("name", ["All", "None"])
def test_the_reserved_colorants_never_change(name: str) -> None:
    resources = f"<< /ColorSpace << /A [/Separation /{name} /DeviceCMYK << /FunctionType 2 "
    resources += "/Domain [0 1] /C0 [0 0 0 0] /C1 [1 1 1 1] /N 1 >>] >> >>"
    source = document(b"/A cs 1 scn 0 0 50 50 re f", resources)
    with pytest.raises(Exception, match="never changes"):
        recolour(source, swaps(f"spot {name} = cmyk 1 2 3 4"))
    result = proven(source, "cmyk 100 100 100 100 = cmyk 60 40 40 100", options=PROCESS)
    assert content_of(result.data) == content_of(source)


# -- tints ------------------------------------------------------------------------------------

TABLE = TintTable(
    steps=(
        (25, Build.cmyk(30, 0, 0, 0)),
        (50, Build.cmyk(58, 0, 0, 0)),
        (100, Build.cmyk(96, 2, 0, 0)),
    )
)


def _tinted(tints: TintTable | None) -> Swap:
    return Swap(old=Paint.parse("cmyk 80 40 0 0"), new=Paint.parse("cmyk 96 2 0 0"), tints=tints)


def test_a_tint_follows_the_table() -> None:
    source = document(b"0.4 0.2 0 0 k 0 0 9 9 re f")
    result = proven(source, _tinted(TABLE))
    assert content_of(result.data) == b"0.58 0 0 0 k 0 0 9 9 re f"
    assert (result.counts[0].solids, result.counts[0].tints) == (0, 1)


def test_a_tint_is_scaled_when_asked_for() -> None:
    source = document(b"0.4 0.2 0 0 k 0 0 9 9 re f")
    options = RecolourOptions(tints=TintMode.SCALED)
    result = proven(source, _tinted(TABLE), options=options)
    assert content_of(result.data) == b"0.48 0.01 0 0 k 0 0 9 9 re f"


def test_tints_can_stay() -> None:
    source = document(b"0.4 0.2 0 0 k 0 0 9 9 re f")
    result = proven(source, _tinted(TABLE), options=RecolourOptions(tints=TintMode.OFF))
    assert content_of(result.data) == content_of(source)


def test_what_is_no_tint_stays() -> None:
    source = document(b"0.4 0.25 0 0 k 0 0 9 9 re f 0.01 0 0 0 k 0 0 9 9 re f 0 0 0 0 k f")
    result = proven(source, _tinted(None))
    assert content_of(result.data) == content_of(source)


def test_a_spot_s_transform_follows_the_table() -> None:
    swap = Swap(old=Paint.parse("spot Kelp"), new=Paint.parse("cmyk 96 2 0 0"), tints=TABLE)
    source = document(b"/Kelp cs 0.5 scn 0 0 50 50 re f", SPOT)
    proven(source, swap, render=True)
    result = proven(source, swap, options=PROCESS)
    assert b"0.58 0 0 0 k 0 0 50 50 re f" in content_of(result.data)


# -- matching ---------------------------------------------------------------------------------


def test_a_near_miss_stays_and_is_reported() -> None:
    source = document(b"0.84 0.2 0.6 0.3 k 0 0 9 9 re f")
    result = proven(source, f"{OLD} = {NEW}")
    assert content_of(result.data) == content_of(source)
    finding = next(one for one in result.findings if one.code == "near-miss")
    assert "1 off cmyk 85 20 60 30" in finding.message
    assert finding.place.page == 1
    (told,) = advised([finding], result.program)
    assert "choose the brand colour anew" in (told.in_program or "")


def test_a_tolerance_of_its_own_takes_the_near_miss() -> None:
    source = document(b"0.84 0.2 0.6 0.3 k 0 0 9 9 re f")
    swap = Swap(old=Paint.parse(OLD), new=Paint.parse(NEW), tolerance=1)
    result = proven(source, swap)
    assert content_of(result.data) == NEW_K + b" 0 0 9 9 re f"
    assert not result.findings


def test_the_nearest_of_two_swaps_wins() -> None:
    source = document(b"0.804 0 0 0 k 0 0 9 9 re f")
    result = proven(source, "cmyk 80 0 0 0 = cmyk 10 0 0 0", "cmyk 81 0 0 0 = cmyk 20 0 0 0")
    assert content_of(result.data).startswith(b"0.1 0 0 0 k")


def test_knock_out_white_stays_unless_named() -> None:
    source = document(b"0 0 0 0 k 0 0 9 9 re f")
    assert content_of(proven(source, f"{OLD} = {NEW}").data) == content_of(source)
    named = proven(source, "cmyk 0 0 0 0 = cmyk 0 0 2 0")
    assert content_of(named.data) == b"0 0 0.02 0 k 0 0 9 9 re f"


# -- profiles ---------------------------------------------------------------------------------


def _icc(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
    profile = pdf.make_stream(b"not a real profile")
    profile.N = 4
    page.obj.Resources = parsed("<< /ColorSpace << >> >>")
    page.obj.Resources.ColorSpace.ICC = pikepdf.Array([pikepdf.Name.ICCBased, profile])


def test_a_profiled_colour_stays_and_is_reported() -> None:
    source = document(b"/ICC cs 0.85 0.2 0.6 0.3 sc 0 0 9 9 re f", setup=_icc)
    result = proven(source, f"{OLD} = {NEW}")
    assert content_of(result.data) == content_of(source)
    assert "profiled-colour" in codes(result)


def test_a_profiled_colour_is_swapped_when_asked_for() -> None:
    source = document(
        b"/ICC cs 0.85 0.2 0.6 0.3 sc 0 0 9 9 re f 1 0 0 0 sc 9 9 9 9 re f", setup=_icc
    )
    result = proven(source, f"{OLD} = {NEW}", options=RecolourOptions(profiled=Profiled.PLAIN))
    assert NEW_K + b" 0 0 9 9 re f" in content_of(result.data)
    assert content_of(result.data).endswith(b"cs 1 0 0 0 sc 9 9 9 9 re f")


def test_a_default_colour_space_makes_device_colour_profiled() -> None:
    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        _icc(pdf, page)
        page.obj.Resources.ColorSpace.DefaultCMYK = page.obj.Resources.ColorSpace.ICC

    source = document(OLD_K + b" 0 0 9 9 re f", setup=setup)
    kept = proven(source, f"{OLD} = {NEW}")
    assert content_of(kept.data) == content_of(source)
    assert "profiled-colour" in codes(kept)


def test_calibrated_rgb_is_its_own_kind() -> None:
    resources = "<< /ColorSpace << /C [/CalRGB << /WhitePoint [0.95 1 1.09] >>] >> >>"
    source = document(b"/C cs 1 0 0 sc 0 0 9 9 re f", resources)
    assert "profiled-colour" in codes(proven(source, "rgb 255 0 0 = cmyk 0 90 80 0"))


# -- overprint --------------------------------------------------------------------------------

OVERPRINT = "<< /ExtGState << /O << /OP true /op true /OPM 1 >> /N << /OP false /op false >> >> "


def test_overprint_that_lets_something_else_through_is_reported() -> None:
    source = document(b"/O gs 0.85 0 0.6 0.3 k 0 0 9 9 re f", OVERPRINT + ">>")
    result = proven(source, "cmyk 85 0 60 30 = cmyk 80 5 60 30")
    assert "overprint-changes" in codes(result)
    same = proven(source, "cmyk 85 0 60 30 = cmyk 80 0 60 30")
    assert "overprint-changes" not in codes(same)


def test_overprint_is_switched_off_and_on_again() -> None:
    source = document(
        b"/O gs 0.85 0 0.6 0.3 k 0 0 9 9 re f 1 0 0 0 k 9 9 9 9 re f", OVERPRINT + ">>"
    )
    options = RecolourOptions(overprint=OverprintMode.OFF)
    result = proven(source, "cmyk 85 0 60 30 = cmyk 80 5 60 30", options=options)
    with opened(result) as pdf:
        states = pdf.pages[0].Resources.ExtGState
        text = content_of(result.data)
        first, second = (word for word in text.split() if word.startswith(b"/Ink"))
        assert states[first.decode()].op is False
        assert states[second.decode()].op is True
        assert text.index(first) < text.index(b"0 0 9 9 re f") < text.index(second)
    assert "overprint-switched-off" in codes(result)


def test_black_in_cmyk_that_becomes_gray_lets_nothing_through_any_more() -> None:
    source = document(b"/O gs 0 0 0 1 k 0 0 9 9 re f", OVERPRINT + ">>")
    assert "overprint-changes" in codes(proven(source, "cmyk 0 0 0 100 = gray 100"))


GROUND = b"/Kelp cs 0.5 scn 0 0 100 100 re f /O gs 0 0 1 0 k 0 0 100 100 re f "
PROFILED_WHITE = b"/Calibrated cs 1 1 1 scn 10 10 30 30 re f "


@pytest.mark.parametrize(
    ("content", "swap"),
    [
        (b"1 1 1 rg 10 10 30 30 re f ", NEUTRALS),
        (b"0 0 0 rg 10 10 30 30 re f ", NEUTRALS),
        (PROFILED_WHITE, NEUTRALS),
        (b"0.2 0.4 0.9 rg 10 10 30 30 re f ", swaps("rgb 51 102 229.5 = cmyk 90 60 0 0")[0]),
        (b"0 g 1 1 1 RG 12 w 10 20 m 50 20 l S ", NEUTRALS),
    ],
    ids=["white", "black", "white with a profile", "blue", "a white line"],
)
def test_under_overprint_a_colour_of_rgb_knocks_out_as_before(content, swap, tmp_path) -> None:
    resources = OVERPRINT + (
        f"/ColorSpace << /Kelp {KELP} /Calibrated [/CalRGB << /WhitePoint [0.95 1 1.09] >>] >> >>"
    )
    behind = b" 1 0 0 0 k 60 60 30 30 re f"
    source = document(GROUND + content + behind, resources)
    result = proven(source, swap, render=True)
    old, new = plates(source, tmp_path), plates(result.data, tmp_path)
    # What is covered in CMYK is covered as before, the spot stays below, what follows overprints.
    x, y = 20, 99 - 20
    inks = [*swap.build_at(100).values] if b"0 0 0 rg" in content else None
    build = inks or ([90, 60, 0, 0] if b"0.9 rg" in content else [0, 0, 0, 0])
    found = [new[ink][y, x] for ink in ("Cyan", "Magenta", "Yellow", "Black")]
    assert found == pytest.approx(build, abs=0.3)
    for plate in (*old, *new):
        away = np.ones_like(old[plate], bool)
        away[50:, :55] = False
        assert np.abs(old[plate] - new[plate])[away].max() < 0.5
    assert new["Kelp"][y, x] == pytest.approx(old["Kelp"][y, x], abs=0.5)
    assert codes(result) <= {"overprint-switched-off"}  # of the line, once a fill needs the mode


def test_where_a_line_needs_the_mode_overprint_goes_off_for_the_white_alone(tmp_path) -> None:
    resources = OVERPRINT + f"/ColorSpace << /Kelp {KELP} >> >>"
    content = b"1 0 0 0 K 6 w 1 1 1 rg 10 10 30 30 re B"
    result = proven(document(GROUND + content, resources), NEUTRALS, render=True)
    found = plates(result.data, tmp_path)
    inside, line = (99 - 25, 25), (99 - 8, 25)
    assert [found[ink][inside] for ink in ("Cyan", "Yellow")] == pytest.approx([0, 0], abs=0.3)
    assert [found[ink][line] for ink in ("Cyan", "Yellow")] == pytest.approx([100, 100], abs=0.3)
    assert "overprint-switched-off" in codes(result)


def test_switches_that_the_file_sets_later_count_again(tmp_path) -> None:
    resources = "<< /ExtGState << /O << /OP true /op true /OPM 1 >> /P << /OP true /op true >> >>"
    resources += f" /ColorSpace << /Kelp {KELP} >> >>"
    content = b"1 1 1 rg 10 10 30 30 re f /P gs 1 0 0 0 k 60 60 30 30 re f"
    found = plates(proven(document(GROUND + content, resources), NEUTRALS).data, tmp_path)
    assert found["Yellow"][99 - 70, 70] == pytest.approx(100, abs=0.3)


def test_a_spot_that_overprinted_is_reported_as_process() -> None:
    resources = OVERPRINT + f"/ColorSpace << /Kelp {KELP} >> >>"
    source = document(b"/O gs /Kelp cs 1 scn 0 0 9 9 re f", resources)
    assert "overprint-changes" not in codes(proven(source, "spot Kelp = cmyk 1 2 3 4"))
    result = proven(source, "spot Kelp = cmyk 1 2 3 4", options=PROCESS)
    assert "overprint-changes" in codes(result)


@pytest.mark.parametrize(
    ("content", "wanted"),
    [
        (b"0.5 g % a note\n" + OLD_K, b"0.5 g % a note\n" + NEW_K),
        (b"0.5 g%a note\n" + OLD_K, b"0.5 g%a note\n" + NEW_K),
        (
            b"/DeviceCMYK cs 0.85 0.2 0.6 0.3 scn % a note\n0 1 0 0 scn",
            b"/DeviceCMYK cs 0.78 0.12 0.55 0.41 k % a note\n0 1 0 0 scn",
        ),
        (b"/N cs % a note\n0.85 0.2 0.6 0.3 0 scn % more\n0 1 0 0 0.5 scn", None),
    ],
)
def test_comments_before_a_colour_stay(content: bytes, wanted: bytes | None) -> None:
    """Content that the second parser can't read is compared byte by byte, comments too."""
    names = "/Cyan /Magenta /Yellow /Black /Foil"
    space = f"[ /DeviceN [ {names} ] /DeviceCMYK null ]"

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        made = parsed(space)
        made[3] = stream(
            pdf, b"{ pop }", "<< /FunctionType 4 /Domain [0 1 0 1 0 1 0 1 0 1] "
            "/Range [0 1 0 1 0 1 0 1] >>",
        )  # fmt: skip
        resource(page, "/ColorSpace", "/N", made)

    shapes = b" 1 0 0 0k 0 0 50 50 re f"
    made = proven(document(content + shapes, setup=setup), f"{OLD} = {NEW}")
    assert content_of(made.data).count(b"%") == content.count(b"%")
    if wanted is not None:
        assert content_of(made.data) == wanted + shapes
