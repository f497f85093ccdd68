"""A swap whose colour the file lacks names the nearest one that it holds."""

import re

import pikepdf
import pytest
from PIL import ImageCms

from artwork_kit import KELP, document, resource, stream
from inkaccord.artwork.one_file import Asked, proved_copy
from inkaccord.artwork.recolouring.absent import absent
from inkaccord.artwork.recolouring.recolour import RecolourOptions, recolour
from inkaccord.artwork.swaps import parse_swap
from inkaccord.errors import OrderError
from inkaccord.pdf.opening import open_artwork

SRGB = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()

SPOT = f"<< /ColorSpace << /Cherry {KELP.replace('Kelp', 'Cherry')} >> >>"


def hints(content, *swaps):
    data = document(content, SPOT)
    made = recolour(data, [parse_swap(it) for it in swaps])
    with open_artwork(data) as pdf:
        return {it.message: it.hint for it in absent(pdf, made.counts)}


@pytest.mark.parametrize(
    ("old", "words"),
    [
        ("spot Chery", "did you mean 'spot Cherry'?"),
        ("spot CHERRY", "did you mean 'spot Cherry'?"),
        ("spot Kelp", "its spots are 'spot Cherry'"),
        ("cmyk 84 20 60 30", "'cmyk 85 20 60 30', up to 1 off in a number"),
        ("rgb 1 2 3", "it holds 'cmyk 85 20 60 30', 'spot Cherry'"),
    ],
)
def test_what_is_not_there_is_an_error_with_the_nearest(old, words):
    content = b".85 .2 .6 .3 k 0 0 9 9 re f /Cherry cs 1 scn 0 0 5 5 re f"
    (said,) = hints(content, f"{old} = cmyk 1 2 3 4").items()
    assert said[0] == f"the file does not hold '{old}'"
    assert words in said[1]


def test_what_is_there_is_no_error():
    content = b".85 .2 .6 .3 k 0 0 9 9 re f /Cherry cs .4 scn 0 0 5 5 re f"
    assert hints(content, "C85 M20 Y60 K30 = 1/2/3/4", "spot Cherry = cmyk 1 2 3 4") == {}


def test_a_spot_among_other_inks_is_there():
    space = "[/DeviceN [/Black /Cherry] /DeviceLab null]"
    data = document(b"/N cs 1 1 scn 0 0 9 9 re f", f"<< /ColorSpace << /N {space} >> >>")
    made = recolour(data, [parse_swap("spot Cherry = rgb 1 2 3")])
    with open_artwork(data) as pdf:
        assert not absent(pdf, made.counts)


@pytest.mark.parametrize(
    ("inks", "profile", "words"),
    [
        (4, b"none", r"a profile that can't be read \(object \d+: it is no ICC profile\)"),
        (4, SRGB, r"can't be read \(object \d+: it is for 3 numbers, not 4\)"),
        (5, b"none", r"a profile for 5 numbers \(object \d+\), not 1, 3 or 4"),
    ],
)
def test_a_profile_that_cannot_be_read_is_named(inks, profile, words):
    def setup(pdf, page):
        held = stream(pdf, profile, f"<< /N {inks} >>")
        resource(page, "/ColorSpace", "/P", pikepdf.Array([pikepdf.Name.ICCBased, held]))

    numbers = b" ".join([b".85", b".2", b".6", b".3", b".1"][:inks])
    data = document(b"/P cs " + numbers + b" scn 0 0 9 9 re f", setup=setup)
    asked = Asked(swaps=(parse_swap("cmyk 85 20 60 30 = cmyk 1 2 3 4"),), options=RecolourOptions())
    with pytest.raises(OrderError) as refused:
        proved_copy(data, asked, (), lambda _: None)
    missed, why = refused.value.findings
    assert missed.code == "colour-not-in-file"
    assert "through a profile" in missed.hint or inks == 5
    assert re.search(words, why.message)


def test_a_colour_that_goes_through_a_profile_is_among_those_held():
    data = document(
        b"/P cs 1 0 0 scn 0 0 9 9 re f",
        "<< /ColorSpace << /P [/CalRGB << /WhitePoint [.9505 1 1.089] >>] >> >>",
    )
    made = recolour(data, [parse_swap("cmyk 1 2 3 4 = rgb 1 2 3")])
    with open_artwork(data) as pdf:
        (said,) = absent(pdf, made.counts)
    assert said.hint == "it holds 'rgb 255 0 0 through a profile'"
