"""A swap whose colour the file lacks names the nearest one that it holds."""

import pytest

from artwork_kit import KELP, document
from inkaccord.artwork.recolouring.absent import absent
from inkaccord.artwork.recolouring.recolour import recolour
from inkaccord.artwork.swaps import parse_swap
from inkaccord.pdf.opening import open_artwork

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
