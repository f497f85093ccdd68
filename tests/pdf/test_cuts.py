"""Where a page is cut: judged by the boxes that stand in the written file, read with pikepdf."""

import io
from collections.abc import Mapping

import pikepdf
import pytest

from inkaccord.pdf.cut_place import CutPlace
from inkaccord.pdf.cuts import with_cuts
from inkaccord.sizes import Size
from page_kit import saved

POSTCARD = Size.parse("148mm x 105mm")
MM = 72 / 25.4
BLEED = 3 * MM


def mm(*lengths: float) -> list[float]:
    return [length * MM for length in lengths]


def page(**entries: object) -> bytes:
    with pikepdf.new() as pdf:
        pdf.add_blank_page()
        node = pdf.pages[0].obj
        del node["/MediaBox"]
        for key, value in entries.items():
            node[f"/{key}"] = pikepdf.Array(value) if isinstance(value, list) else value
        return saved(pdf)


def boxes(data: bytes | None) -> Mapping[str, list[float]]:
    """Return the boxes of the only page in millimetres, as they are written."""
    assert data is not None
    with pikepdf.open(io.BytesIO(data)) as pdf:
        (only,) = pdf.pages
        return {
            key[1:-3].lower(): [float(edge) / MM for edge in only.obj[key]]
            for key in ("/MediaBox", "/CropBox", "/BleedBox", "/TrimBox", "/ArtBox")
            if key in only.obj
        }


def about(*edges: float) -> object:
    return pytest.approx(edges, abs=0.14)


def exactly(*edges: float) -> object:
    return pytest.approx(edges, abs=0.002)


@pytest.mark.parametrize("rim", [2.0, 3.0, 25.4 / 8, 5.0])
def test_a_page_with_the_same_rim_on_every_side_is_trim_and_bleed(rim: float) -> None:
    found = boxes(with_cuts(page(MediaBox=mm(0, 0, 148 + 2 * rim, 105 + 2 * rim)), POSTCARD, BLEED))
    assert found["trim"] == exactly(rim, rim, 148 + rim, 105 + rim)
    assert found["bleed"] == exactly(0, 0, 148 + 2 * rim, 105 + 2 * rim)


def test_a_rim_that_was_asked_for_is_bleed_however_large() -> None:
    data = page(MediaBox=mm(0, 0, 168, 125))
    assert with_cuts(data, POSTCARD, BLEED) is None
    assert boxes(with_cuts(data, POSTCARD, 10 * MM))["trim"] == exactly(10, 10, 158, 115)


@pytest.mark.parametrize(
    "media",
    [
        pytest.param([0, 0, 419.53, 297.64], id="to a hundredth"),
        pytest.param([0, 0, 420, 298], id="to whole points"),
        pytest.param([0, 0, 419, 297], id="cut off"),
    ],
)
def test_a_page_as_large_as_the_piece_is_cut_at_its_edge(media: list[float]) -> None:
    found = boxes(with_cuts(page(MediaBox=media), POSTCARD, BLEED))
    assert found["trim"] == found["bleed"] == exactly(*(edge / MM for edge in media))


def test_a_page_with_bleed_may_be_rounded_and_need_not_lie_at_the_origin() -> None:
    left, bottom = -100.0, 50.0
    data = page(MediaBox=[left, bottom, left + 437, bottom + 315])  # 436.54 × 314.65 pt
    x, y = left / MM, bottom / MM
    assert boxes(with_cuts(data, POSTCARD, BLEED))["trim"] == about(x + 3, y + 3, x + 151, y + 108)


def test_turned_and_in_units_of_its_own() -> None:
    turned = page(MediaBox=mm(0, 0, 111, 154), Rotate=90)
    assert boxes(with_cuts(turned, POSTCARD, BLEED))["trim"] == exactly(3, 3, 108, 151)
    doubled = page(MediaBox=mm(0, 0, 77, 55.5), UserUnit=2)
    assert boxes(with_cuts(doubled, POSTCARD, BLEED))["trim"] == exactly(1.5, 1.5, 75.5, 54)


def test_other_boxes_tell_where_there_is_no_trim_box() -> None:
    media, bleed, trim = mm(0, 0, 190, 160), mm(7, 17, 161, 128), mm(10, 20, 158, 125)
    for key in ("CropBox", "ArtBox"):
        found = boxes(with_cuts(page(MediaBox=media, **{key: trim}), POSTCARD, BLEED))
        assert found["trim"] == exactly(10, 20, 158, 125)
        assert found["bleed"] == exactly(7, 17, 161, 128)
        assert "art" not in found
    for key in ("CropBox", "BleedBox"):
        found = boxes(with_cuts(page(MediaBox=media, **{key: bleed}), POSTCARD, BLEED))
        assert found["trim"] == exactly(10, 20, 158, 125)
        assert found["bleed"] == exactly(7, 17, 161, 128)


def test_a_trim_box_that_only_repeats_the_page_tells_nothing() -> None:
    media = mm(0, 0, 154, 111)
    found = boxes(with_cuts(page(MediaBox=media, TrimBox=media, BleedBox=media), POSTCARD, BLEED))
    assert found["trim"] == exactly(3, 3, 151, 108)


def test_what_is_stated_is_left_as_it_is_and_what_nothing_tells_as_well() -> None:
    stated = page(MediaBox=mm(0, 0, 154, 111), TrimBox=mm(0, 0, 148, 105))
    assert with_cuts(stated, POSTCARD, BLEED) is None
    for media in (
        mm(0, 0, 190, 160),  # with marks round it
        mm(0, 0, 148, 111),  # bleed above and below alone
        mm(0, 0, 149, 106),  # half a millimetre is nobody's bleed
        mm(0, 0, 180, 137),  # 16 mm all round, more than bleeds have
    ):
        assert with_cuts(page(MediaBox=media), POSTCARD, BLEED) is None


@pytest.mark.parametrize(
    ("rotation", "place", "trim"),
    [
        (0, CutPlace(), (31, 96, 179, 201)),
        (0, CutPlace(10 * MM, 12 * MM), (10, 180, 158, 285)),
        (0, CutPlace(None, 0.0), (31, 192, 179, 297)),
        (90, CutPlace(10 * MM, 12 * MM), (12, 10, 117, 158)),
        (180, CutPlace(10 * MM, 12 * MM), (52, 12, 200, 117)),
        (270, CutPlace(10 * MM, 12 * MM), (93, 139, 198, 287)),
    ],
)
def test_a_told_place_is_where_a_person_sees_it(
    rotation: int, place: CutPlace, trim: tuple[float, ...]
) -> None:
    data = page(MediaBox=mm(0, 0, 210, 297), TrimBox=mm(0, 0, 50, 50), Rotate=rotation)
    found = boxes(with_cuts(data, POSTCARD, BLEED, place))
    assert found["trim"] == exactly(*trim)
    left, bottom, right, top = trim
    assert found["bleed"] == exactly(left - 3, bottom - 3, right + 3, min(top + 3, 297))


def test_the_same_file_gives_the_same_bytes() -> None:
    data = page(MediaBox=mm(0, 0, 154, 111))
    assert with_cuts(data, POSTCARD, BLEED) == with_cuts(data, POSTCARD, BLEED)
