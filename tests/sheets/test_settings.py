"""The sizes on a sheet follow from the instrument that reads it, the page and the paper."""

import pytest

from inkaccord.sheets.settings import SheetSettings
from inkaccord.sizes import Size
from inkaccord.units import millimetres, mm


@pytest.mark.parametrize(
    ("aperture_mm", "page", "width_mm", "height_mm"),
    [
        (None, "a4", 20, 15),
        (None, "a6", 15, 12),
        (8, "a4", 20, 15),
        (8, "a6", 15, 12),
        (16, "a4", 20, 19),  # 1.5 mm of solid colour on every side of the aperture
        (16, "a6", 19, 19),
        (25, "a6", 28, 28),
        (4, "a6", 15, 12),
    ],
)
def test_swatches_hold_the_aperture_and_a_rim(aperture_mm, page, width_mm, height_mm):
    aperture = None if aperture_mm is None else millimetres(aperture_mm)
    size = SheetSettings.suiting(aperture, 92.0).swatch_size(Size.parse(page))
    assert mm(size.width_pt) == pytest.approx(width_mm)
    assert mm(size.height_pt) == pytest.approx(height_mm)


def test_where_room_is_short_swatches_are_as_small_as_the_aperture_allows():
    page = Size.parse("a6")
    for aperture_mm, side_mm in ((4, 7), (8, 11), (16, 19)):
        dense = SheetSettings.suiting(millimetres(aperture_mm), 92.0).densely(page)
        assert mm(dense.swatch_size(page).height_pt) == pytest.approx(side_mm, abs=0.01)


def test_a_sheet_of_an_older_shelf_is_read():
    """Until 2026-11 sheets also kept which scales their ruler had: always both."""
    assert SheetSettings.model_validate({"units": "both", "label_pt": 9.0}).label_pt == 9.0
