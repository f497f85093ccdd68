"""Brand colours that a program wrote in another kind of colour, by a formula."""

import pikepdf
import pytest

from artwork_kit import codes, document, parsed, stream, swaps
from inkaccord.artwork.inventory.inventory import inventory
from inkaccord.artwork.inventory.nearest import ColourStanding, nearest
from inkaccord.artwork.mixing import tint_share
from inkaccord.artwork.recolouring.recolour import recolour
from inkaccord.artwork.rewritten import is_rewritten
from inkaccord.colour.paints import Paint

KELP = Paint.parse("cmyk 85 20 60 30")
SWAP = "cmyk 85 20 60 30 = cmyk 78 12 55 41"
GREEN = "0 0.5 0.1"
"""What ISO 32000-2, 10.4.2.5 makes of it: one less cyan plus black, and so on, not below 0."""


@pytest.mark.parametrize(
    ("paint", "other"),
    [
        ("rgb 0 127.5 25.5", "cmyk 85 20 60 30"),
        ("rgb 0 128 26", "cmyk 85 20 60 30"),
        ("rgb 26.775 142.8 71.4", "cmyk 85 20 60 30"),  # (1 - ink) (1 - black), of 255
        ("cmyk 28.4 0 5.7 63.7", "rgb 20 92.5 78"),  # 10.4.2.4: the least of the three is black
        ("cmyk 92.16 63.73 69.41 0", "rgb 20 92.5 78"),
        ("rgb 178.5 216.75 186.15", "cmyk 30 15 27 0"),
        ("rgb 216.75 235.875 220.575", "cmyk 30 15 27 0"),  # half of it
    ],
)
def test_a_formula_gives_it(paint, other):
    assert is_rewritten(Paint.parse(paint), Paint.parse(other))


@pytest.mark.parametrize(
    ("paint", "other"),
    [
        ("rgb 0 140 25", "cmyk 85 20 60 30"),
        ("rgb 0 0 0", "cmyk 0 0 0 100"),  # blacks and greys are for 'neutrals'
        ("gray 50", "cmyk 85 20 60 30"),
        ("cmyk 85 20 60 30", "cmyk 85 20 60 30"),
    ],
)
def test_nothing_else_is_taken_for_it(paint, other):
    assert not is_rewritten(Paint.parse(paint), Paint.parse(other))


def pattern(pdf, page):
    """Give a page an uncoloured pattern, painted in RGB."""
    tile = "<< /PatternType 1 /PaintType 2 /TilingType 1 /BBox [0 0 9 9] /XStep 9 /YStep 9"
    dots = stream(pdf, b"0 0 4 4 re f", tile + " /Resources << >> >>")
    page.obj.Resources = parsed("<< /ColorSpace << /P [/Pattern /DeviceRGB] >> >>")
    page.obj.Resources.Pattern = pikepdf.Dictionary(Dots=dots)


GRADIENT = (
    "<< /Shading << /S << /ShadingType 2 /ColorSpace /DeviceRGB /Coords [0 0 9 0] /Function "
    f"<< /FunctionType 2 /Domain [0 1] /N 1 /C0 [{GREEN}] /C1 [1 0 0] >> >> >> >>"
)


@pytest.mark.parametrize(
    "source",
    [
        document(f"/P cs {GREEN} /Dots scn 0 0 90 90 re f".encode(), setup=pattern),
        document(f"{GREEN} rg 0 0 90 90 re f".encode()),
        document(b"/S sh", GRADIENT),
    ],
    ids=["pattern", "fill", "gradient"],
)
def test_it_holds_the_piece_while_the_brand_colour_changes(source):
    assert "rewritten-colour" in {one.code for one in recolour(source, swaps(SWAP)).errors}
    named = swaps(SWAP, "rgb 0 127.5 25.5 = cmyk 78 12 55 41")
    assert "rewritten-colour" not in codes(recolour(source, named))


def test_named_as_itself_it_stays():
    source = document(f"{GREEN} rg 0 0 90 90 re f".encode())
    kept = recolour(source, swaps(SWAP, "rgb 0 127.5 25.5 = rgb 0 127.5 25.5"))
    assert not kept.errors


def test_with_the_orders_name_the_line_to_paste_is_said():
    (swap,) = swaps(SWAP)
    source = document(f"{GREEN} rg 0 0 90 90 re f".encode())
    (said,) = recolour(source, [swap.model_copy(update={"name": "kelp"})]).errors
    assert "colours.kelp.in_artwork: [rgb 0 127.5 25.5]" in said.mends
    assert "\n" not in said.message


def test_an_order_takes_it_for_nearly_the_brand_colour():
    found = inventory(document(f"{GREEN} rg 0 0 90 90 re f".encode()))
    (said,) = nearest(found, {"kelp": (KELP,)})
    assert (said.standing, said.brand) == (ColourStanding.NEAR_MISS, "kelp")


def test_a_grey_of_rgb_is_no_tint_of_a_nearly_black_colour():
    rich = Paint.parse("rgb 10 8 8")
    assert tint_share(Paint.parse("rgb 204 204 204"), rich) is None
    assert tint_share(Paint.parse("rgb 132.5 131.5 131.5"), rich) == pytest.approx(0.5, abs=0.01)
    assert tint_share(Paint.parse("rgb 204 204 204"), Paint.parse("rgb 8 8 8")) is not None
