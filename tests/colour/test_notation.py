"""Colours in numbers as people write them, and what is left to be asked about."""

import pytest

from inkaccord.colour.builds import Build
from inkaccord.colour.notation import colour_numbers


@pytest.mark.parametrize(
    ("text", "space", "numbers"),
    [
        ("cmyk 85 20 60 30", "cmyk", (85, 20, 60, 30)),
        ("cmyk 2,8,45,0", "cmyk", (2, 8, 45, 0)),
        ("cmyk 2,5 8 45 0", "cmyk", (2.5, 8, 45, 0)),
        ("CMYK(2%, 8%, 45%, 0%)", "cmyk", (2, 8, 45, 0)),
        ("2/8/45/0", "cmyk", (2, 8, 45, 0)),
        ("C2 M8 Y45 K0", "cmyk", (2, 8, 45, 0)),
        ("c=2, m=8,5, y=45, k=0", "cmyk", (2, 8.5, 45, 0)),
        ("2C 8M 45Y 0K", "cmyk", (2, 8, 45, 0)),
        ("K100", "cmyk", (0, 0, 0, 100)),
        ("M 100 Y 50", "cmyk", (0, 100, 50, 0)),
        ("rgb 255 232 115", "rgb", (255, 232, 115)),
        ("R255 G232 B115", "rgb", (255, 232, 115)),
        ("#FFE873", "rgb", (255, 232, 115)),  # 0xFF, 0xE8, 0x73
        ("#fc0", "rgb", (255, 204, 0)),
        ("grey 50 %", "gray", (50,)),
        ("lab 42 58 \u221230", "lab", (42, 58, -30)),
        ("L*42 a*58 b*-30", "lab", (42, 58, -30)),
        ("CIELAB 42,5/58/30", "lab", (42.5, 58, 30)),
    ],
)
def test_what_is_read(text, space, numbers):
    assert colour_numbers(text) == (space, numbers)


@pytest.mark.parametrize(
    "text",
    ["42 58 30", "R255 G232", "C2 C3 M8", "#FFE87", "FFE873", "cmyk", "deep green", "", "C2 R8",
     "rgb C2 M8 Y45 K0"],
)  # fmt: skip
def test_what_is_not_clear_is_left(text):
    assert colour_numbers(text) is None


def test_numbers_too_many_or_too_few_are_told_by_who_takes_them():
    assert colour_numbers("cmyk 85 20 60") == ("cmyk", (85, 20, 60))
    with pytest.raises(ValueError, match=r"has 4 numbers \(C M Y K\), not 3"):
        Build.parse("cmyk 85 20 60")
    with pytest.raises(ValueError, match="expected 'cmyk 85 20 60 30'"):
        Build.parse("lab 42 58 30")
