"""Which sizes sample sheets come in, by what the device takes."""

import pytest

from inkaccord.errors import OrderError
from inkaccord.sheets.planning.blocks import block_pages, is_cut_out
from inkaccord.sheets.settings import SheetFormat
from inkaccord.sizes import Sides, Size


def takes(*names: str, margin: float = 12.0) -> list[SheetFormat]:
    return [SheetFormat(size=Size.parse(name), unprintable=Sides.even(margin)) for name in names]


def sizes(*names: str) -> list[str]:
    return [str(page.size) for page in block_pages(takes(*names))]


@pytest.mark.parametrize("name", ["13x19", "12x18", "tabloid", "letter"])
def test_sheets_in_inches_give_parts_of_letter(name: str) -> None:
    assert sizes(name) == ["4.25 × 5.5 in", "5.5 × 8.5 in", "8.5 × 11 in"]


@pytest.mark.parametrize("name", ["sra3", "a3", "a4"])
def test_metric_sheets_give_a6_a5_and_a4(name: str) -> None:
    assert sizes(name) == ["105 × 148 mm", "148 × 210 mm", "210 × 297 mm"]


def test_a_whole_large_sheet_is_never_a_sample_sheet() -> None:
    for name in ("13x19", "sra3", "b2"):
        (large,) = takes(name)
        assert all(
            page.size.width_pt * page.size.height_pt
            < 0.6 * large.size.width_pt * large.size.height_pt
            for page in block_pages([large])
        )


def test_the_devices_own_sheet_keeps_its_margins_and_a_block_has_none() -> None:
    pages = block_pages(takes("a4", "a5"))
    assert [page.unprintable.left for page in pages] == [0.0, 12.0, 12.0]
    assert [is_cut_out(page.size, takes("a4", "a5")) for page in pages] == [True, False, False]


def test_a_small_device_gives_what_it_takes() -> None:
    assert sizes("4in x 5in") == ["4 × 5 in"]
    assert sizes("5in x 7in") == ["4.25 × 5.5 in", "5 × 7 in"]


def test_the_asked_size_is_the_only_one_and_must_fit() -> None:
    asked = Size.parse("a6")
    assert [page.size for page in block_pages(takes("sra3"), asked)] == [asked]
    with pytest.raises(OrderError) as caught:
        block_pages(takes("a4"), Size.parse("a3"))
    assert caught.value.findings[0].code == "sample-size"
    assert "210 × 297 mm" in caught.value.findings[0].message
