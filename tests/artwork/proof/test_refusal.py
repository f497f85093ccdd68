"""What a person is told of a copy that was refused: which colour, where, in words of the trade."""

import pikepdf
import pytest

from artwork_kit import NEW, OLD, document, parsed, resource, swaps
from inkaccord.artwork.proof.prove import prove
from inkaccord.artwork.recolouring.recolour import recolour
from inkaccord.diagnostics import Severity

# 36 points are 12.7 mm.
BARS = b"0.85 0.2 0.6 0.3 k 36 36 36 36 re f 0 0 0 1 k 0 0 10 10 re f"
_INNARDS = ("missing:", "not expected", "Resources", "fill in a", "pixels")


def test_a_failed_proof_says_which_colour_would_be_wrong_and_where_on_which_page() -> None:
    source = document(BARS)
    wrong = document(BARS.replace(b"0.85 0.2 0.6 0.3 k", b"0.5 0.5 0.5 0.5 k"))
    proof = prove(source, wrong, swaps(f"{OLD} = {NEW}"), render=False)
    (said,) = proof.refusals
    assert (said.code, said.severity) == ("not-proved", Severity.ERROR)
    assert said.place.page == 1
    assert said.place.box_mm == pytest.approx((12.7, 12.7, 25.4, 25.4), abs=0.02)
    assert OLD in said.message
    assert not any(word in said.message for word in _INNARDS)


def test_a_change_that_no_swap_concerns_names_its_page() -> None:
    source, wrong = document(BARS), document(BARS.replace(b"0 0 10 10", b"0 0 20 10"))
    proof = prove(source, wrong, swaps("cmyk 1 2 3 4 = cmyk 5 6 7 8"), render=False)
    (said,) = proof.refusals
    assert said.place.page == 1
    assert not any(word in said.message for word in _INNARDS)


def test_a_right_copy_has_nothing_said_of_it() -> None:
    source, wanted = document(BARS), swaps(f"{OLD} = {NEW}")
    assert prove(source, recolour(source, wanted).data, wanted, render=False).refusals == ()


def test_an_error_of_recolouring_has_its_place_too() -> None:
    def setup(_: pikepdf.Pdf, page: pikepdf.Page) -> None:
        shading = (
            "<< /ShadingType 2 /ColorSpace /DeviceRGB /Coords [0 0 36 0] /Function << "
            "/FunctionType 2 /Domain [0 1] /C0 [0.2 0.4 0.6] /C1 [1 0.5 0] /N 1 >> >>"
        )
        resource(page, "/Shading", "/S", parsed(shading))

    content = b"q 36 36 18 36 re W n /S sh Q 0.2 0.4 0.6 rg 0 0 5 5 re f"
    made = recolour(document(content, setup=setup), swaps("rgb 51 102 153 = cmyk 12 63 41 7"))
    (error,) = made.errors
    assert error.code == "mixed-kinds"
    assert error.place.page == 1
    assert error.place.box_mm == pytest.approx((12.7, 12.7, 19.05, 25.4), abs=0.02)
