"""What colours mean that no swap concerns is the same in the copy, rendered or not."""

from collections.abc import Callable

import pikepdf
import pytest

from artwork_kit import KELP, document, opened, parsed, recolour, resource, stream, swaps
from inkaccord.artwork.proof.prove import prove
from page_kit import saved

SWAP = "cmyk 85 20 60 30 = cmyk 10 60 0 40"
RGB = bytes([200, 30, 40, 9, 99, 200, 20, 180, 20, 128, 128, 128])
TINTS = bytes([0, 80, 160, 255])
INLINE = b"q 40 0 0 40 0 55 cm BI /W 2 /H 2 /BPC 8 /CS /N ID " + RGB + b" EI Q"
FILL = b"/N cs 0.2 0.5 0.8 scn 0 60 30 30 re f"
TINT = b"/N cs 0.5 scn 0 60 30 30 re f"
CALIBRATED = "[/CalRGB << /WhitePoint [0.95 1 1.09] /Gamma [{0} {0} {0}] >>]"
LIGHT, DARK = CALIBRATED.format(1), CALIBRATED.format(2.2)
OTHER_KELP = KELP.replace("0.2 0.4 0.6 0.1", "0.9 0 0 0")


def page(space: str, data: bytes, content: bytes = b"") -> bytes:
    """Return a page with a swapped colour, a picture in a space, and content that names it."""

    def setup(pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        entries = "<< /Type /XObject /Subtype /Image /Width 2 /Height 2 /BitsPerComponent 8 >>"
        image = stream(pdf, data, entries)
        image.ColorSpace = parsed(space)
        resource(page, "/XObject", "/I", image)
        resource(page, "/ColorSpace", "/N", parsed(space))

    old = b"0.85 0.2 0.6 0.3 k 0 0 50 50 re f q 50 0 0 50 50 50 cm /I Do Q "
    return document(old + content, setup=setup)


def of_picture(space: str) -> Callable[[pikepdf.Object], None]:
    return lambda resources: setattr(resources.XObject.I, "ColorSpace", parsed(space))


def named(space: str) -> Callable[[pikepdf.Object], None]:
    return lambda resources: setattr(resources.ColorSpace, "N", parsed(space))


def gone(resources: pikepdf.Object) -> None:
    del resources.ColorSpace["/N"]


SPOILT: dict[str, tuple[bytes, Callable[[pikepdf.Object], None]]] = {
    "a picture's gamma": (page(LIGHT, RGB), of_picture(DARK)),
    "a picture's profile": (page(LIGHT, RGB), of_picture("/DeviceRGB")),
    "what a picture's numbers are": (
        page("/DeviceRGB", RGB), of_picture("[/Lab << /WhitePoint [0.95 1 1.09] >>]"),
    ),
    "what a picture's spot looks like": (page(KELP, TINTS), of_picture(OTHER_KELP)),
    "a fill's gamma": (page(LIGHT, RGB, FILL), named(DARK)),
    "what a fill's spot looks like": (page(KELP, TINTS, TINT), named(OTHER_KELP)),
    "the gamma of a picture in the content": (page(LIGHT, RGB, INLINE), named(DARK)),
    "the space of a picture in the content": (page(LIGHT, RGB, INLINE), gone),
    "a default space": (
        page("/DeviceRGB", RGB),
        lambda resources: setattr(resources.ColorSpace, "DefaultRGB", parsed(DARK)),
    ),
    "the gamma of a table": (
        page(f"[/Indexed {LIGHT} 1 <102030405060>]", bytes([0, 1, 1, 0])),
        of_picture(f"[/Indexed {DARK} 1 <102030405060>]"),
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", SPOILT)
def test_the_proof_sees_that_a_colour_nobody_swapped_means_another(case: str) -> None:
    source, spoil = SPOILT[case]
    wanted = swaps(SWAP)
    made = recolour(source, wanted)
    assert prove(source, made.data, wanted, render=False).passed
    with opened(made) as pdf:
        spoil(pdf.pages[0].Resources)
        wrong = saved(pdf)
    assert not prove(source, wrong, wanted, render=False).passed
