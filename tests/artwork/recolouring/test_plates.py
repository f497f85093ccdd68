"""No plate is left by name once its spot is process colour, and inks in mixtures are rewritten.

Judged by the names in the written file and by the plates that Ghostscript makes of it.
"""

import io
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pikepdf
import pytest

from artwork_kit import KELP, codes, document, form, parsed, proven, resource, stream, swaps
from inkaccord.artwork.advice import ProgramKind, advised
from inkaccord.artwork.proof.prove import prove
from inkaccord.artwork.recolouring.oddities import _WORDS
from inkaccord.artwork.recolouring.recolour import RecolourOptions, SpotMode, recolour
from inkaccord.diagnostics import Severity
from outside import plates

pytestmark = pytest.mark.slow

SWAP = "spot Kelp = cmyk 78 12 55 41"
PROCESS = RecolourOptions(spots=SpotMode.PROCESS)
KEEP = RecolourOptions(spots=SpotMode.KEEP)
AXIAL = "/ShadingType 2 /Coords [0 0 100 0] /Extend [true true]"
TO_WHITE = "/Function << /FunctionType 2 /Domain [0 1] /C0 [1] /C1 [0] /N 1 >>"
PIXELS = "<< /Type /XObject /Subtype /Image /Width 2 /Height 2 /BitsPerComponent 8 >>"
PATCH = b" 0 0 50 50 re f "
Setup = Callable[[pikepdf.Pdf, pikepdf.Page], None]


def mixed(pdf: pikepdf.Pdf, inks: str = "/Kelp /Black", more: str = "") -> pikepdf.Object:
    """Return a space of two inks on CMYK: the first as kelp, the second as black."""
    function = stream(
        pdf,
        b"{ 1 index 0.2 mul 2 index 0.4 mul 3 index 0.6 mul 5 -1 roll 0.1 mul 5 -1 roll add }",
        "<< /FunctionType 4 /Domain [0 1 0 1] /Range [0 1 0 1 0 1 0 1] >>",
    )
    space = parsed(f"[ /DeviceN [ {inks} ] /DeviceCMYK null {more} ]")
    space[3] = function
    return space


def shading(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
    one = parsed(f"<< {AXIAL} {TO_WHITE} >>")
    one.ColorSpace = space = pdf.make_indirect(parsed(KELP))
    resource(page, "/Shading", "/S", one)
    resource(page, "/ColorSpace", "/Named", space)


def shading_pattern(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
    text = f"<< /PatternType 2 /Shading << {AXIAL} /ColorSpace {KELP} {TO_WHITE} >> >>"
    resource(page, "/Pattern", "/P", parsed(text))


def shading_of_one_ink(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
    text = KELP.replace("/Separation /Kelp", "/DeviceN [ /Kelp ]")
    resource(page, "/Shading", "/S", parsed(f"<< {AXIAL} /ColorSpace {text} {TO_WHITE} >>"))


def mesh(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
    corners = bytes([0, 0, 0, 255, 0, 255, 0, 128, 0, 128, 255, 0])
    entries = (
        "<< /ShadingType 4 /BitsPerCoordinate 8 /BitsPerComponent 8 /BitsPerFlag 8 "
        "/Decode [0 100 0 100 0 1] >>"
    )
    one = stream(pdf, corners, entries)
    one.ColorSpace = parsed(KELP)
    resource(page, "/Shading", "/S", one)


def uncoloured_pattern(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
    entries = (
        "<< /PatternType 1 /PaintType 2 /TilingType 1 /BBox [0 0 9 9] /XStep 9 /YStep 9 "
        "/Resources << >> >>"
    )
    resource(page, "/Pattern", "/P", stream(pdf, b"0 0 5 5 re f", entries))
    resource(page, "/ColorSpace", "/PK", parsed(f"[ /Pattern {KELP} ]"))


def picture(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
    one = stream(pdf, b"\x00\x50\xa0\xff", PIXELS)
    one.ColorSpace = parsed(KELP)
    resource(page, "/XObject", "/I", one)


def picture_with_a_table(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
    one = stream(pdf, b"\x00\x01\x01\x00", PIXELS)
    one.ColorSpace = parsed("[ /Indexed null 1 <FF8000FF> ]")
    one.ColorSpace[1] = mixed(pdf)
    resource(page, "/XObject", "/I", one)


def nchannel(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
    more = (
        f"<< /Subtype /NChannel /Colorants << /Kelp {KELP} >> /Process << /ColorSpace /DeviceCMYK "
        "/Components [ /Cyan /Magenta /Yellow /Black ] >> >>"
    )
    resource(page, "/ColorSpace", "/N", mixed(pdf, more=more))


def told_beside_others(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
    more = (
        f"<< /Colorants << /Kelp {KELP} >> /MixingHints << /Solidities << /Kelp 1 /Foil 1 >> "
        "/PrintingOrder [ /Foil /Kelp /Black ] >> >>"
    )
    resource(page, "/ColorSpace", "/N", mixed(pdf, "/Foil /Black", more))


def unused(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
    resource(page, "/ColorSpace", "/U", parsed(KELP))
    resource(page, "/ColorSpace", "/UN", mixed(pdf))
    resource(page, "/ColorSpace", "/UP", parsed(f"[ /Pattern {KELP} ]"))
    resource(page, "/ColorSpace", "/DefaultGray", parsed(KELP))
    unused_form = form(pdf, b"/K cs 1 scn" + PATCH, "<< /Resources << /ColorSpace << >> >> >>")
    unused_form.Resources.ColorSpace.K = parsed(KELP)
    resource(page, "/XObject", "/Uncalled", unused_form)


def mixed_picture(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
    one = stream(pdf, bytes(range(0, 128, 16)), PIXELS)
    one.ColorSpace = mixed(pdf)
    resource(page, "/XObject", "/I", one)


def mixed_shading(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
    one = parsed(f"<< {AXIAL} {TO_WHITE.replace('[1]', '[1 0]').replace('[0]', '[0 0]')} >>")
    one.ColorSpace = mixed(pdf)
    resource(page, "/Shading", "/S", one)


CASES: dict[str, tuple[bytes, Setup]] = {
    "shading": (b"/S sh", shading),
    "shading pattern": (b"/Pattern cs /P scn 0 0 100 100 re f", shading_pattern),
    "shading of one ink": (b"/S sh", shading_of_one_ink),
    "shading of two inks": (b"/S sh", mixed_shading),
    "mesh": (b"/S sh", mesh),
    "uncoloured pattern": (b"/PK cs 1 /P scn 0 0 100 100 re f", uncoloured_pattern),
    "picture": (b"100 0 0 100 0 0 cm /I Do", picture),
    "picture of two inks": (b"100 0 0 100 0 0 cm /I Do", mixed_picture),
    "picture with a table": (b"100 0 0 100 0 0 cm /I Do", picture_with_a_table),
    "nchannel": (b"/N cs 1 0.5 scn" + PATCH, nchannel),
    "told beside others": (b"/N cs 1 0.5 scn" + PATCH, told_beside_others),
    "unused": (b"0 0 0 1 k" + PATCH, unused),
}


def names(data: bytes) -> Iterator[str]:
    """Yield every name that a written file holds outside its content, keys too."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        pending: list[Any] = list(pdf.objects)
        while pending:
            thing = pending.pop()
            if isinstance(thing, pikepdf.Name):
                yield str(thing)
            elif isinstance(thing, pikepdf.Dictionary | pikepdf.Stream):
                yield from thing.keys()
                pending += [value for _, value in thing.items() if not value_is_indirect(value)]
            elif isinstance(thing, pikepdf.Array):
                pending += [one for one in thing if not value_is_indirect(one)]


def value_is_indirect(value: object) -> bool:
    return isinstance(value, pikepdf.Object) and value.is_indirect


@pytest.mark.parametrize("case", CASES)
def test_no_plate_is_left_by_name(case: str, tmp_path: Path) -> None:
    source = document(CASES[case][0], setup=CASES[case][1])
    assert "/Kelp" in set(names(source)), "the case shows nothing"
    result = proven(source, SWAP, options=PROCESS, render=True)
    assert not result.errors
    assert "/Kelp" not in set(names(result.data))
    assert "Kelp" not in plates(result.data, tmp_path)


@pytest.mark.parametrize("case", CASES)
def test_a_spot_that_stays_is_proved_in_every_construct(case: str) -> None:
    proven(document(CASES[case][0], setup=CASES[case][1]), SWAP, options=KEEP, render=True)


# -- what can't be taken out ------------------------------------------------------------------


def mixed_mesh(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
    corners = bytes([0, 0, 0, 255, 9, 0, 255, 0, 128, 0, 0, 128, 255, 0, 99])
    entries = (
        "<< /ShadingType 4 /BitsPerCoordinate 8 /BitsPerComponent 8 /BitsPerFlag 8 "
        "/Decode [0 100 0 100 0 1 0 1] >>"
    )
    one = stream(pdf, corners, entries)
    one.ColorSpace = mixed(pdf)
    resource(page, "/Shading", "/S", one)


def picture_with_a_matte(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
    one = stream(pdf, bytes(range(0, 128, 16)), PIXELS)
    one.ColorSpace = mixed(pdf)
    one.SMask = stream(
        pdf, b"\x80" * 4, PIXELS.replace(">>", "/ColorSpace /DeviceGray /Matte [0 0] >>")
    )
    resource(page, "/XObject", "/I", one)


def separated(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
    page.obj.SeparationInfo = parsed("<< /DeviceColorant /Kelp >>")
    page.obj.SeparationInfo.Pages = pikepdf.Array([page.obj])


STUCK: dict[str, tuple[bytes, Setup, str]] = {
    "mesh": (b"/S sh", mixed_mesh, "inks-stay"),
    "picture": (b"100 0 0 100 0 0 cm /I Do", picture_with_a_matte, "inks-stay"),
    "separated page": (b"0 g" + PATCH, separated, "plate-left"),
}


@pytest.mark.parametrize("case", STUCK)
def test_a_plate_that_must_stay_is_an_error_that_says_what_to_untick(case: str) -> None:
    content, setup, code = STUCK[case]
    result = recolour(document(content, setup=setup), swaps(SWAP), options=PROCESS)
    (said,) = [it for it in result.findings if it.severity is Severity.ERROR]
    assert said.code == code
    (told,) = advised([said], ProgramKind.UNKNOWN)
    assert "untick 'spot'" in str(told.in_program)
    assert codes(recolour(document(content, setup=setup), swaps(SWAP), options=KEEP)) <= {
        "left-alone"
    }


# -- one ink of several -----------------------------------------------------------------------


def at(data: bytes, folder: Path, x: int, y: int) -> dict[str, int]:
    return {name: round(float(plate[99 - y, x])) for name, plate in plates(data, folder).items()}


def flat(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
    resource(page, "/ColorSpace", "/N", mixed(pdf))
    resource(page, "/ColorSpace", "/Two", mixed(pdf, "/Kelp /Sand"))


FLAT = b"/N cs 0.5 0.25 scn" + PATCH + b"/Two CS 1 0.5 SCN 8 w 60 60 30 30 re S"
TWO = (SWAP, "spot Sand = cmyk 0 10 20 5")


def test_as_process_colour_the_builds_of_mixed_inks_are_added(tmp_path: Path) -> None:
    result = proven(document(FLAT, setup=flat), *TWO, options=PROCESS, render=True)
    # By hand: half of 78 12 55 41 and 25 black; all of it and half of 0 10 20 5.
    found = at(result.data, tmp_path, 10, 10)
    assert found == pytest.approx({"Cyan": 39, "Magenta": 6, "Yellow": 28, "Black": 46}, abs=1)
    found = at(result.data, tmp_path, 60, 75)
    assert found == pytest.approx({"Cyan": 78, "Magenta": 17, "Yellow": 65, "Black": 44}, abs=1)


def test_kept_inks_print_as_they_did_and_look_like_the_new_build(tmp_path: Path) -> None:
    result = proven(document(FLAT, setup=flat), *TWO, options=KEEP, render=True)
    found = at(result.data, tmp_path, 10, 10)
    assert found["Kelp"] == pytest.approx(50, abs=1)
    assert found["Black"] == pytest.approx(25, abs=1)
    assert found["Cyan"] == 0


def five(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
    function = stream(
        pdf, b"{ pop }", f"<< /FunctionType 4 /Domain [{'0 1 ' * 5}] /Range [{'0 1 ' * 4}] >>"
    )
    space = parsed("[ /DeviceN [ /Cyan /Magenta /Yellow /Black /Foil ] /DeviceCMYK null ]")
    space[3] = function
    resource(page, "/ColorSpace", "/N", space)


@pytest.mark.parametrize("options", [PROCESS, KEEP])
def test_a_build_written_among_more_inks_is_that_build(
    options: RecolourOptions, tmp_path: Path
) -> None:
    content = b"/N cs 0.6 0.2 0.5 0.1 0 scn" + PATCH + b"0 0 0 0.4 0 scn 60 60 30 30 re f"
    swap = "cmyk 60 20 50 10 = cmyk 78 12 55 41"
    result = proven(document(content, setup=five), swap, options=options, render=True)
    found = at(result.data, tmp_path, 10, 10)
    assert [found[ink] for ink in ("Cyan", "Magenta", "Yellow", "Black")] == [78, 12, 55, 41]
    assert at(result.data, tmp_path, 75, 75)["Black"] == 40


def test_the_proof_sees_a_mixture_that_was_left_or_misread() -> None:
    source = document(FLAT, setup=flat)
    assert not prove(source, source, swaps(*TWO), PROCESS, render=False).passed
    wrong = recolour(source, swaps(SWAP, "spot Sand = cmyk 0 10 20 9"), options=PROCESS).data
    assert not prove(source, wrong, swaps(*TWO), PROCESS, render=False).passed


def test_no_hint_speaks_of_what_only_this_program_knows() -> None:
    for _, _, hint in _WORDS.values():
        assert "blending" not in (hint or "")
