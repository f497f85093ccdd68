"""What is known of a colour on each page is kept in columns, and read as it was said."""

import pytest

from inkaccord.artwork.inventory.inventory import ColourEntry
from inkaccord.artwork.inventory.on_pages import ColourOnPage, OnPages
from inkaccord.artwork.roles import Role
from inkaccord.colour.paints import Paint
from inkaccord.pdf.colours.colours import plain_colour
from inkaccord.recall.packing import pack, unpack

PAGES = (
    ColourOnPage(1, 12.5, 0.1 + 0.2, (0.0, 1.25, 2.0, 3.75), ((Role.FILL, 12.5),), 2),
    ColourOnPage(3, None, None, (-4.0, 0.0, 2.0, 3.0), ((Role.TEXT, None), (Role.FILL, None)), 1),
    ColourOnPage(10_000, 1.0, 0.0, (0.0, 0.0, 9.0, 9.0), ((Role.TEXT, 0.25), (Role.FILL, 0.75)), 7),
)


def test_what_is_said_of_each_page_comes_back() -> None:
    kept = OnPages.of(iter(PAGES))
    assert tuple(kept) == PAGES
    assert (len(kept), kept[0], kept[-1]) == (3, PAGES[0], PAGES[2])
    assert kept[1:] == PAGES[1:]
    assert kept.numbers == [1, 3, 10_000]
    assert kept.areas_mm2 == [12.5, None, 1.0]
    assert kept.marks == 10
    assert unpack(pack(kept)) == kept
    assert len(OnPages()) == 0


def test_an_entry_takes_pages_one_by_one_and_is_dumped_as_those() -> None:
    entry = ColourEntry.model_validate(
        {"colour": plain_colour(Paint.parse("cmyk 0 100 0 0")), "pages": PAGES}
    )
    assert entry.pages == OnPages.of(PAGES)
    assert entry.roles == (Role.FILL, Role.TEXT)
    assert entry.area_mm2 is None
    first, second, _ = entry.model_dump(mode="json")["pages"]
    assert first == {
        "page": 1,
        "area_mm2": 12.5,
        "area_in_trim_mm2": 0.1 + 0.2,
        "box_mm": [0.0, 1.25, 2.0, 3.75],
        "roles": [["fill", 12.5]],
        "marks": 2,
    }
    assert second["area_mm2"] is None
    assert second["roles"] == [["text", None], ["fill", None]]


def test_ten_thousand_pages_take_less_than_a_megabyte() -> None:
    kept = OnPages.of(
        ColourOnPage(page, page / 7, page / 9, (0.0, 0.0, page / 3, 9.0), ((Role.TEXT, 1.0),), 1)
        for page in range(1, 10_001)
    )
    assert len(kept.rows) + len(kept.shares) < 1_000_000
    assert pytest.approx(5000 / 7) == kept[4999].area_mm2
