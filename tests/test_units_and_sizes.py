import pytest
from hypothesis import given
from hypothesis import strategies as st

from inkaccord.models import Frozen
from inkaccord.sizes import Box, Margins, Sides, Size, named_sizes
from inkaccord.units import PT_PER_IN, PT_PER_MM, parse_length, write_length


@pytest.mark.parametrize(
    ("text", "points"),
    [
        ("5in", 360),
        ("1/8in", 9),
        ("1 1/4 in", 90),
        ('8.5"', 612),
        ("127mm", 360),
        ("12,7 mm", 36),
        ("2.54cm", 72),
        ("360pt", 360),
        ("5 inches", 360),
        ("1-1/4 in", 90),
        ("½\u00a0in", 36),
        ("5”", 360),
        ("12.7 Centimetres", 360),
        (0, 0),
    ],
)
def test_lengths(text, points):
    assert parse_length(text) == pytest.approx(points, abs=1e-9)


@pytest.mark.parametrize("text", [5, "5", "five in", "in", "1/0in", "", None, True, "-1/8in"])
def test_what_is_no_length(text):
    with pytest.raises(ValueError, match="expected a length"):
        parse_length(text)


@given(st.integers(0, 4000))
def test_sixteenths_and_tenths_are_written_as_they_are_read(number):
    for length in (number / 16 * PT_PER_IN, number / 10 * PT_PER_MM):
        assert parse_length(write_length(length)) == pytest.approx(length, abs=1e-4)


# PWG 5101.1 media names, as in the Internet Printing Protocol's media list.
@pytest.mark.parametrize(
    ("name", "mm"),
    [
        ("a0", (841, 1189)),
        ("a4", (210, 297)),
        ("a6", (105, 148)),
        ("a10", (26, 37)),
        ("b5", (176, 250)),
        ("sra3", (320, 450)),
        ("ra4", (215, 305)),
        ("c6-envelope", (162, 114)),
        ("c5-envelope", (229, 162)),
        ("dl-envelope", (220, 110)),
    ],
)
def test_iso_sizes(name, mm):
    assert Size.parse(name).in_mm == pytest.approx(mm, abs=1e-6)


# Envelope sizes of the US trade; a9 from memory.
@pytest.mark.parametrize(
    ("name", "inches"),
    [
        ("a1-envelope", (5.125, 3.625)),
        ("a2 envelope", (5.75, 4.375)),
        ("a6-envelope", (6.5, 4.75)),
        ("A7 Envelope", (7.25, 5.25)),
        ("a8-envelope", (8.125, 5.5)),
        ("a9-envelope", (8.75, 5.75)),
        ("a10-envelope", (9.5, 6)),
        ("#10 envelope", (9.5, 4.125)),
    ],
)
def test_us_envelopes(name, inches):
    size = Size.parse(name)
    assert (size.width_pt / PT_PER_IN, size.height_pt / PT_PER_IN) == pytest.approx(inches)


def test_the_us_envelope_a2_is_not_the_iso_sheet_a2():
    assert not Size.parse("a2").same_as(Size.parse("a2-envelope"), 1)


def test_every_named_size_reads_back():
    for name, size in named_sizes().items():
        assert Size.parse(name).same_as(size), name


@pytest.mark.parametrize(
    ("text", "shown"),
    [("5in x 7in", "5 × 7 in"), ("90 x 55 mm", "90 × 55 mm"), ("a4", "210 × 297 mm")],
)
def test_sizes_are_shown_in_the_unit_in_which_they_are_round(text, shown):
    assert str(Size.parse(text)) == shown


@pytest.mark.parametrize("text", ["5 x 7", "a4 paper", "0in x 5in", "5in", 4, "-1in x 2in"])
def test_what_is_no_size(text):
    with pytest.raises(ValueError, match=r"size|length|larger"):
        Size.parse(text)


def test_boxes_shrink_to_their_middle_and_meet_by_area() -> None:
    box = Box(0, 0, 10, 20)
    assert box.grown(-2) == (2, 2, 8, 18)
    assert box.grown(-8) == (5, 8, 5, 12)
    assert box.holds(box.grown(-1))
    assert not box.holds(box.grown(1))
    apart = Box(30, 30, 40, 40)
    assert box.common(apart).is_empty
    assert not box.meets(apart)
    assert box.around(apart) == (0, 0, 40, 40)
    assert Box.of((10, 0, 0, 20)) == box
    assert Box(0, 0, 72, 144).in_mm == (0, 0, 25.4, 50.8)


def test_margins_leave_room_and_are_never_negative() -> None:
    class Device(Frozen):
        margins: Margins

    held = Device(margins=Sides(left=1, bottom=2, right=3, top=4)).margins
    assert held.within(Size(width_pt=100, height_pt=200)) == (1, 2, 97, 196)
    assert held.least_pt == 1
    with pytest.raises(ValueError, match="less than nothing"):
        Device(margins=Sides(left=-1))


@pytest.mark.parametrize(
    ("short", "mm"), [("c6", (114, 162)), ("DL", (110, 220)), ("c5", (162, 229))]
)
def test_what_only_an_envelope_is_called_needs_no_more_words(short, mm):
    """ISO 269:1985, correspondence envelopes: C6 114 × 162, DL 110 × 220, C5 162 × 229 mm."""
    size = Size.parse(short)
    assert sorted(round(side) for side in size.in_mm) == sorted(mm)
    assert Size.parse("a6") != Size.parse("a6-envelope")


@pytest.mark.parametrize(
    ("slip", "meant"),
    [("cc6", "c6-envelope"), ("dll", "dl-envelope"), ("c6-env", "c6-envelope")],
)
def test_a_slip_names_the_envelope_that_is_meant(slip, meant):
    with pytest.raises(ValueError, match=f"did you mean .*{meant}"):
        Size.parse(slip)
    assert Size.parse("c6") == Size.parse("c6-envelope")
