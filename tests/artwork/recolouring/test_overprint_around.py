"""Overprint switched off for a swapped colour is on again for all that has colours of its own.

The twin of each artwork is written by hand: `/N gs` stands where the swapped colour is painted.
"""

from pathlib import Path

import numpy as np
import pytest

from artwork_kit import KELP, document, failures, form, parsed, proven, resource, stream, swaps
from inkaccord.artwork.proof.prove import prove
from inkaccord.artwork.recolouring.recolour import OverprintMode, RecolourOptions, SpotMode
from outside import plates

FOIL = KELP.replace("Kelp", "Foil").replace("0.2 0.4 0.6 0.1", "0 0.1 0.5 0")
STATES = (
    "/ExtGState << /O << /OP true /op true /OPM 1 >> /N << /OP false /op false >> "
    "/M << /OP true /op true /OPM 0 >> /S << /OP true /op false /OPM 1 >> >>"
)
CELLS = f"/Cells [/Pattern {KELP}] /New [/Pattern /DeviceCMYK]"
SPACES = f"/ColorSpace << /Kelp {KELP} /Foil {FOIL} {CELLS} >>"
RESOURCES = f"<< {STATES} {SPACES} >>"
AXIAL = (
    f"<< /ShadingType 2 /ColorSpace {FOIL} /Coords [50 0 100 0] "
    "/Function << /FunctionType 2 /Domain [0 1] /C0 [0.2] /C1 [1] /N 1 >> >>"
)
PICTURE = b"q 50 0 0 50 50 0 cm /I Do Q"
INLINE = b"q 50 0 0 50 50 0 cm BI /W 1 /H 1 /BPC 8 /CS /Foil ID A EI Q"
SQUARE, BESIDE = b" 0 0 50 50 re f ", b" q 1 0 0 1 50 0 cm "
GROUND = b"0.3 0.3 0.3 0.3 k 0 0 100 100 re f "
BOTH = b" 10 10 30 30 re B "
KELP_SET, NEW, NEW_STROKE = b"/Kelp cs 1 scn", b"0 0.7 0 0.4 k", b"0 0.7 0 0.4 K "
OFF = RecolourOptions(spots=SpotMode.PROCESS, overprint=OverprintMode.OFF)
SWAPS = ("spot Kelp = cmyk 0 70 0 40", "cmyk 85 20 60 30 = cmyk 10 90 55 0")
OLD_K, NEW_K = b"0.85 0.2 0.6 0.3 k", b"0.1 0.9 0.55 0 k"

CASES = {
    "a picture": (
        b"/O gs " + KELP_SET + SQUARE + PICTURE,
        b"/N gs " + NEW + SQUARE + b"/O gs " + PICTURE,
    ),
    "a gradient": (
        b"/O gs " + KELP_SET + SQUARE + b"q 50 0 50 50 re W n /S sh Q",
        b"/N gs " + NEW + SQUARE + b"/O gs q 50 0 50 50 re W n /S sh Q",
    ),
    "a picture in the content": (
        b"/O gs " + KELP_SET + SQUARE + INLINE,
        b"/N gs " + NEW + SQUARE + b"/O gs " + INLINE,
    ),
    "a picture in the content, smoothed": (
        b"/O gs " + KELP_SET + SQUARE + INLINE.replace(b" ID", b" /I true ID"),
        b"/N gs " + NEW + SQUARE + b"/O gs " + INLINE.replace(b" ID", b" /I true ID"),
    ),
    "a picture in a form": (
        b"/O gs " + KELP_SET + SQUARE + b"/Shows Do",
        b"/N gs " + NEW + SQUARE + b"/O gs " + PICTURE,
    ),
    "a form without overprint, then with": (
        b"/Sets Do /O gs" + BESIDE + b"/Sets Do Q",
        NEW + SQUARE + b"/N gs" + BESIDE + NEW + SQUARE + b" Q",
    ),
    "a form that sets it for its caller's colour": (
        b"0 0 0 0.5 k /Switches Do " + KELP_SET + BESIDE + b"/Switches Do Q",
        b"0 0 0 0.5 k q /O gs" + SQUARE + b"Q " + NEW + BESIDE + b"/N gs" + SQUARE + b"Q",
    ),
    "a pattern that takes the colour": (
        b"/O gs /Cells cs 1 /T scn" + SQUARE + PICTURE,
        b"/N gs /New cs 0 0.7 0 0.4 /T scn" + SQUARE + b"/O gs " + PICTURE,
    ),
    "a form of which the mode counts, in two colours": (
        b"/O gs 0.5 0 0 0 k /Modes Do " + OLD_K + BESIDE + b"/Modes Do Q",
        b"/O gs 0.5 0 0 0 k q /M gs 5 5 5 5 re f /O gs" + SQUARE + b"Q "
        + NEW_K + BESIDE + b"/M gs 5 5 5 5 re f /N gs" + SQUARE + b"Q",
    ),
}  # fmt: skip


def artwork(content: bytes) -> bytes:
    """Return a page with content on a ground of four inks, and with all that the cases draw."""

    def setup(pdf, page):
        entries = "<< /Type /XObject /Subtype /Image /Width 2 /Height 1 /BitsPerComponent 8 "
        picture = pdf.make_indirect(stream(pdf, b"\xff\x40", f"{entries} /ColorSpace {FOIL} >>"))
        resource(page, "/XObject", "/I", picture)
        resource(page, "/Shading", "/S", pdf.make_indirect(parsed(AXIAL)))
        box = "/PatternType 1 /PaintType 2 /TilingType 1 /BBox [0 0 9 9] /XStep 9 /YStep 9"
        cell = stream(pdf, b"0 0 5 9 re f", f"<< {box} /Resources << >> >>")
        resource(page, "/Pattern", "/T", cell)
        for name, inside in (
            ("/Sets", KELP_SET + SQUARE),
            ("/Switches", b"/O gs" + SQUARE),
            ("/Modes", b"/M gs 5 5 5 5 re f /O gs" + SQUARE),
        ):
            resource(page, "/XObject", name, form(pdf, inside, f"<< /Resources {RESOURCES} >>"))
        shows = form(pdf, PICTURE, "<< /Resources << /XObject << >> >> >>")
        shows.Resources.XObject["/I"] = picture
        resource(page, "/XObject", "/Shows", shows)

    return document(GROUND + content, RESOURCES, setup)


@pytest.mark.parametrize("case", CASES)
def test_the_proof_holds(case: str) -> None:
    proven(artwork(CASES[case][0]), *SWAPS, options=OFF)


@pytest.mark.slow
@pytest.mark.parametrize("case", CASES)
def test_the_plates_are_those_of_a_twin_written_by_hand(case: str, tmp_path: Path) -> None:
    first, second = tmp_path / "copy", tmp_path / "twin"
    first.mkdir()
    second.mkdir()
    copy = plates(proven(artwork(CASES[case][0]), *SWAPS, options=OFF).data, first)
    twin = plates(artwork(CASES[case][1]), second)
    for name in {*copy, *twin} - {"Kelp"}:  # the twin's forms still name it, and draw it nowhere
        assert np.abs(copy[name] - twin[name]).max() < 0.5, name


@pytest.mark.parametrize(
    "wrong",
    [
        b"/N gs " + NEW + SQUARE + PICTURE,  # left off for the picture
        b"/O gs " + NEW + SQUARE + PICTURE,  # never switched off
        b"/M gs " + NEW + SQUARE + PICTURE,
    ],
    ids=["left off", "left on", "the mode alone"],
)
def test_a_switch_in_the_wrong_place_fails_the_proof(wrong: bytes) -> None:
    proof = prove(artwork(CASES["a picture"][0]), artwork(wrong), swaps(*SWAPS), OFF, render=False)
    assert any("overprints in another way" in one for one in failures(proof))


@pytest.mark.parametrize(
    ("old", "new", "right"),
    [(b"", b"", "M"), (b"1 0 0 0 K ", b"1 0 0 0 K ", "S"), (b"/Kelp CS 1 SCN ", NEW_STROKE, "S")],
    ids=["alone", "beside cmyk", "beside a spot that becomes cmyk"],
)
def test_a_colour_that_covered_all_plates_goes_on_doing_so(
    old: bytes, new: bytes, right: str
) -> None:
    """By mode 0, which spares spots; by no overprint where the stroke needs mode 1 (8.6.7)."""
    asked = ("rgb 230 20 120 = cmyk 90 0 10 60", SWAPS[0])
    options = RecolourOptions(spots=SpotMode.PROCESS)
    before = artwork(old + b"/O gs 0.902 0.0784 0.4706 rg" + BOTH)
    proven(before, *asked, options=options)
    for state in "ONMS":
        after = artwork(new + b"/%s gs 0.9 0 0.1 0.6 k" % state.encode() + BOTH)
        proof = prove(before, after, swaps(*asked), options, render=False)
        wrong = any("overprints in another way" in one for one in failures(proof))
        assert wrong == (state not in right)


@pytest.mark.parametrize("word", [b"f", b"S"])
def test_a_colour_of_a_table_goes_on_covering_all_plates(word: bytes, tmp_path: Path) -> None:
    """Mode 1 is for plain CMYK alone (8.6.7), which the copy sets; the proof took both for that."""
    table = "<< /Look [/Indexed /DeviceCMYK 0 <D9339900>] >>"
    content = b"0 0 0 0.5 k 0 0 99 99 re f /O gs 9 w /Look cs 0 scn /Look CS 0 SCN 20 20 30 30 re "
    before = document(content + word, f"<< {STATES} /ColorSpace {table} >>")
    made = proven(before, "cmyk 85 20 60 0 = cmyk 85 0 60 0", options=OFF)
    twin = b"0 0 0 0.5 k 0 0 99 99 re f 9 w 0.85 0 0.6 0 k 0.85 0 0.6 0 K 20 20 30 30 re "
    found, wanted = (plates(one, tmp_path) for one in (made.data, document(twin + word)))
    for name, plate in wanted.items():
        assert np.abs(found[name] - plate).max() <= 1


def test_overprint_where_none_was_fails_the_proof() -> None:
    before = artwork(OLD_K + SQUARE + PICTURE)
    after = artwork(b"/O gs " + NEW_K + SQUARE + PICTURE)
    proof = prove(before, after, swaps(*SWAPS), OFF, render=False)
    assert any("overprints in another way" in one for one in failures(proof))
