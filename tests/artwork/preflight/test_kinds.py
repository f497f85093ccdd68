"""Kinds of colour that a vendor does not take, and the lines of an order that mend that."""

import numpy as np
import pikepdf
import pytest
import yaml

from artwork_kit import parsed
from check_kit import CLEAN, RULES, TRIM, pictured
from inkaccord.artwork.preflight.run import preflight
from inkaccord.artwork.taking_up import OrderSays
from inkaccord.colour.paints import Paint
from inkaccord.pdf.colours.colours import ColourKind
from page_kit import finish, image, written

TO_CMYK = RULES.model_copy(update={"colour_kinds": (ColourKind.CMYK, ColourKind.GRAY)})
TO_RGB = RULES.model_copy(
    update={
        "colour_kinds": (ColourKind.RGB, ColourKind.GRAY),
        "order": OrderSays(cmyk_right_on="press@card"),
    }
)
PROFILED = "<< /P [/CalRGB << /WhitePoint [0.9642 1 0.8249] >>] >>"


def said(data, rules=TO_CMYK):
    """Return the one finding about kinds of colour."""
    found = preflight(data, rules, name="tag")
    (finding,) = [one for one in found if one.code == "colour-kind"]
    return finding


def pasted(data, rules=TO_CMYK):
    """Return what the lines of the finding say, as an order reads them."""
    hint = said(data, rules).hint or ""
    lines = [line for line in hint.splitlines() if line.split(":")[0].count(" ") == 0]
    return yaml.load("\n".join(lines), yaml.BaseLoader) or {}  # noqa: S506 - only text


def test_only_kinds_that_the_vendor_takes_pass():
    for data in (written(CLEAN, TRIM), pictured(300, 72)):
        assert not [one for one in preflight(data, TO_CMYK) if one.code == "colour-kind"]


def test_a_colour_of_rgb_is_taken_up_with_what_it_looks_like():
    data = written("0.58824 0.80392 0.92157 rg 50 50 9 9 re f", TRIM)
    assert "rgb 150 205 235" in said(data).message
    ((name, line),) = pasted(data).items()
    assert name == "colours.rgb-150-205-235"
    assert line["in_artwork"] == ["rgb 150 205 235"]
    # CIELAB of sRGB under D50, by LittleCMS from its own sRGB profile (relative colorimetric).
    np.testing.assert_allclose(np.array(line["aim"]["lab"], float), [79.4, -12.9, -20.9], atol=0.3)


def test_tints_need_no_line_beside_their_colour():
    content = "1 0.5 0 rg 50 50 9 9 re f 1 0.75 0.5 rg 70 50 9 9 re f 0 0 1 rg 90 50 9 9 re f"
    assert [line["in_artwork"] for line in pasted(written(content, TRIM)).values()] == [
        ["rgb 0 0 255"], ["rgb 255 127.5 0"],
    ]  # fmt: skip


def test_a_build_for_a_driver_in_rgb_is_aimed_at_where_it_is_right():
    (line,) = pasted(written("0.4 0.05 0 0 k 50 50 9 9 re f", TRIM), TO_RGB).values()
    assert line == {
        "aim": {"build": "cmyk 40 5 0 0", "on": "press@card"}, "in_artwork": ["cmyk 40 5 0 0"],
    }  # fmt: skip


def test_without_a_pair_for_it_a_build_is_only_named():
    alone = TO_RGB.model_copy(update={"order": OrderSays()})
    data = written("0.4 0.05 0 0 k 50 50 9 9 re f", TRIM)
    assert pasted(data, alone) == {}
    assert "under 'colours'" in (said(data, alone).hint or "")


def test_greys_are_left_to_the_orders_neutrals():
    assert pasted(written("0.5 g 9 9 9 9 re f 0.2 0.2 0.2 rg 50 50 9 9 re f", TRIM)) == {
        "pieces.tag.neutrals": "black"
    }


def test_a_colour_with_a_profile_is_taken_up_by_its_look():
    data = written("/P cs 1 0.5 0 sc 50 50 9 9 re f", TRIM, ColorSpace=parsed(PROFILED))
    (line,) = pasted(data).values()
    look = Paint.parse(line["in_artwork"][0])
    assert [float(value) for value in line["aim"]["lab"]] == list(look.values)
    assert "'profiled: plain'" in (said(data).hint or "")
    plain = TO_CMYK.model_copy(update={"order": OrderSays(plain=True)})
    assert "profiled" not in (said(data, plain).hint or "")


def test_a_brand_colour_that_a_program_rewrote_is_added_to_it_and_not_taken_up_anew():
    kelp = ("kelp", (Paint.parse("cmyk 85 20 60 30"),))
    rules = TO_CMYK.model_copy(update={"order": OrderSays(brands=(kelp,))})
    assert pasted(written("0 0.5 0.1 rg 50 50 9 9 re f", TRIM), rules) == {
        "colours.kelp.in_artwork": ["rgb 0 127.5 25.5"]
    }


def test_the_orders_own_colours_and_their_tints_need_no_line():
    """What else holds them is told by another finding: a gradient that cannot be recoloured."""
    kelp = ("kelp", (Paint.parse("rgb 20 92 78"),))
    rules = TO_CMYK.model_copy(update={"order": OrderSays(brands=(kelp,))})
    own = "0.0784 0.3608 0.3059 rg 9 9 9 9 re f 0.5392 0.6804 0.6529 rg 20 9 9 9 re f "
    data = written(own + "0 0 1 rg 50 50 9 9 re f", TRIM)
    assert pasted(data, rules).keys() == {"colours.rgb-0-0-255"}


def picture(space):
    with pikepdf.new() as pdf:
        data = image(pdf, bytes(4 * len(CHANNELS[space])), (2, 2), f"/Device{space}")
        return finish(pdf, "q 50 0 0 50 50 50 cm /I Do Q", XObject=pikepdf.Dictionary(I=data))


CHANNELS = {"CMYK": "cmyk", "RGB": "rgb", "Gray": "g"}


@pytest.mark.parametrize(
    ("space", "rules", "order", "lines"),
    [
        ("RGB", TO_CMYK, {}, {"photographs": "matched"}),
        ("RGB", TO_CMYK, {"translates": True}, {}),
        ("CMYK", TO_RGB, {}, {"photographs": "matched", "photographs_from": "press@card"}),
        ("CMYK", TO_RGB, {"translates": True}, {"photographs_from": "press@card"}),
    ],
)
def test_pictures_are_translated(space, rules, order, lines):
    says = rules.order.model_copy(update=order)
    assert pasted(picture(space), rules.model_copy(update={"order": says})) == lines


def test_a_grey_picture_that_is_not_taken_has_no_line():
    only_cmyk = RULES.model_copy(update={"colour_kinds": (ColourKind.CMYK,)})
    assert "gray colour" in said(picture("Gray"), only_cmyk).message
    assert said(picture("Gray"), only_cmyk).hint is None
