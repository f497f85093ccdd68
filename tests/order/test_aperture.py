"""The instrument's aperture, as an owner writes it."""

import pytest

from inkaccord.errors import OrderError
from inkaccord.order.loading import load_order
from inkaccord.units import millimetres


@pytest.mark.parametrize(
    ("written", "in_mm"),
    [("16mm", 16), ("1.6 cm", 16), ("5/8in", 15.875), ("8 millimeters", 8), ("2mm", 2)],
)
def test_it_is_a_length_with_its_unit(write_order, written, in_mm):
    order = load_order(write_order(("suites:", f"aperture: {written}\nsuites:")), {}).order
    assert order.aperture == pytest.approx(millimetres(in_mm))


@pytest.mark.parametrize(
    ("written", "said"),
    [("30mm", "an aperture of 30mm does not fit"), ("1mm", "2 to 25 mm"), ("16", "no unit")],
)
def test_what_no_instrument_has_is_refused_with_a_way_out(write_order, written, said):
    with pytest.raises(OrderError) as caught:
        load_order(write_order(("suites:", f"aperture: {written}\nsuites:")), {})
    (found,) = caught.value.findings
    assert (found.place.field, found.place.line) == ("aperture", 3)
    assert said in found.message
