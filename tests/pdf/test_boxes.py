"""Page boxes against ISO 32000-2:2020, table 31 and 14.11.2."""

import pikepdf
import pytest

from inkaccord.errors import FileError
from inkaccord.pdf.boxes import PageBoxes, page_boxes
from inkaccord.sizes import Size


def boxes_of(parent: dict[str, object] | None = None, **entries: object) -> PageBoxes:
    with pikepdf.new() as pdf:
        pdf.add_blank_page(page_size=(100, 200))
        page = pdf.pages[0]
        for key, value in (parent or {}).items():
            pdf.Root.Pages[f"/{key}"] = value
        for key, value in entries.items():
            if value is None:
                del page.obj[f"/{key}"]
            else:
                page.obj[f"/{key}"] = value
        return page_boxes(page)


def test_everything_defaults_to_the_media_box() -> None:
    found = boxes_of()
    assert found.media == (0, 0, 100, 200)
    assert found.crop == found.bleed == found.trim == found.art == found.media
    assert found.stated == ("media",)


def test_trim_and_bleed_default_to_the_crop_box_not_the_media_box() -> None:
    found = boxes_of(CropBox=[10, 10, 90, 190])
    assert found.bleed == found.trim == found.crop
    assert found.trim == (10, 10, 90, 190)


def test_media_crop_and_rotation_are_inherited_but_trim_is_not() -> None:
    found = boxes_of(
        {"MediaBox": [0, 0, 50, 60], "CropBox": [5, 5, 45, 55], "TrimBox": [9, 9, 41, 51],
         "Rotate": 90},
        MediaBox=None,
    )  # fmt: skip
    assert found.media == (0, 0, 50, 60)
    assert found.crop == (5, 5, 45, 55)
    assert found.trim == found.crop
    assert found.rotation == 90
    assert found.trim_size.same_as(Size(width_pt=50, height_pt=40))


def test_corners_in_any_order_and_boxes_beyond_the_media_are_cut() -> None:
    found = boxes_of(TrimBox=[90, 190, 10, 20], BleedBox=[-9, -9, 300, 300])
    assert found.trim == (10, 20, 90, 190)
    assert found.bleed == found.media
    assert dict(found.raw)["bleed"] == (-9, -9, 300, 300)


def test_bleed_and_room_by_side() -> None:
    found = boxes_of(TrimBox=[10, 20, 80, 180], BleedBox=[1, 18, 84, 186])
    assert dict(found.bleed_pt.named()) == {"left": 9, "bottom": 2, "right": 4, "top": 6}
    assert dict(found.room_pt.named()) == {"left": 10, "bottom": 20, "right": 20, "top": 20}
    assert found.bleed_pt.least_pt == 2


def test_user_unit_scales_every_box() -> None:
    found = boxes_of(UserUnit=2, TrimBox=[10, 10, 90, 190])
    assert found.trim == (20, 20, 180, 380)
    assert found.trim_size.same_as(Size(width_pt=160, height_pt=360))


@pytest.mark.parametrize(
    ("given", "expected"), [(-90, 270), (450, 90), (45, 0), (180, 180), (pikepdf.Name.X, 0)]
)
def test_rotation_is_brought_to_quarter_turns(given: object, expected: int) -> None:
    assert boxes_of(Rotate=given).rotation == expected


@pytest.mark.parametrize("nonsense", [[1, 2, 3], pikepdf.Name.No, [0, 0, 0, 0], [0, 0, 1, "x"]])
def test_a_senseless_box_counts_as_left_out(nonsense: object) -> None:
    assert boxes_of(TrimBox=nonsense).trim == (0, 0, 100, 200)


def test_no_media_box_is_an_error_that_names_the_page() -> None:
    with pytest.raises(FileError, match="MediaBox") as caught:
        boxes_of(MediaBox=[0, 0])
    assert caught.value.findings[0].place.page == 1


def test_a_page_tree_with_a_loop_ends() -> None:
    with pikepdf.new() as pdf:
        pdf.add_blank_page(page_size=(100, 200))
        page = pdf.pages[0]
        del page.obj["/MediaBox"]
        pdf.Root.Pages["/Parent"] = pdf.Root.Pages
        with pytest.raises(FileError):
            page_boxes(page)


def test_the_trim_size_against_the_piece() -> None:
    found = boxes_of(TrimBox=[0, 0, 90, 180])
    assert found.fits(Size(width_pt=90.7, height_pt=180))
    assert not found.fits(Size(width_pt=91, height_pt=180))
    sideways = Size(width_pt=180, height_pt=90)
    assert not found.fits(sideways)
    assert found.lies_turned(sideways)


@pytest.mark.parametrize("rotate", [0, 90, 180, 270])
def test_the_way_to_the_upright_piece_in_points(rotate: int) -> None:
    """As ISO 32000-2:2020, table 31: Rotate turns clockwise, UserUnit is in 1/72 in."""
    found = boxes_of(TrimBox=[10, 20, 80, 180], Rotate=rotate, UserUnit=2)
    across, up = (140, 320) if rotate % 180 == 0 else (320, 140)
    piece = Size(width_pt=across - 0.4, height_pt=up)
    middle = found.trim_as(piece)
    a, b, c, d, e, f = found.upright(middle)

    def shown(x: float, y: float) -> tuple[float, float]:
        return a * x + c * y + e, b * x + d * y + f

    # Where the lower left corner of the content's trim is seen: it goes round clockwise.
    corner = {0: (0, 0), 90: (0, up), 180: (across, up), 270: (across, 0)}[rotate]
    assert shown(10, 20) == pytest.approx((corner[0] - 0.2, corner[1]))
    # Whatever lies twice as far in the content's units lies twice as many points further.
    moved = shown(11, 20)
    assert abs(moved[0] - shown(10, 20)[0]) + abs(moved[1] - shown(10, 20)[1]) == pytest.approx(2)
