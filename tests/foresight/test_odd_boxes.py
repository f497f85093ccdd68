"""What a check says of a page's boxes is what preflight and imposition do with it."""

import datetime
import io
from collections.abc import Mapping

import pikepdf
import pytest
from pikepdf import Array, Pdf

from inkaccord.artwork.preflight.pages import check_trim_size
from inkaccord.artwork.preflight.rules import ArtworkRules
from inkaccord.artwork.preflight.run import preflight
from inkaccord.errors import OrderError
from inkaccord.foresight.checking import check_artwork
from inkaccord.layout.single import single_pieces
from inkaccord.order.loading import LoadedOrder, load_order
from inkaccord.prepress.cutting import with_cuts_for
from inkaccord.starter.order import write_starter
from inkaccord.workbench import Workbench
from page_kit import saved

CARD = [9, 9, 369, 513]
"""The starter's card, 5 × 7 in, in media with 1/8 in of bleed."""
MEDIA = [0, 0, 378, 522]
WIDE = [-40, -20, 400, 560]
"""As with marks round it: larger by another rim on each side."""
LYING = {"MediaBox": [0, 0, 522, 378], "TrimBox": [9, 9, 513, 369]}


@pytest.fixture(scope="module")
def loaded(tmp_path_factory: pytest.TempPathFactory) -> LoadedOrder:
    folder = tmp_path_factory.mktemp("order")
    write_starter(folder, datetime.date(2026, 11, 25))
    return load_order(folder / "order.yaml", {})


def page_with(entries: Mapping[str, object], parent: Mapping[str, object]) -> bytes:
    """Return a page with the entries, and others on the page tree above it."""
    with Pdf.new() as pdf:
        pdf.add_blank_page()
        page = pdf.pages[0].obj
        del page["/MediaBox"]
        for node, given in ((page, entries), (pdf.Root.Pages, parent)):
            for key, value in given.items():
                node[f"/{key}"] = Array(value) if isinstance(value, list) else value
        return saved(pdf)


@pytest.mark.parametrize(
    ("entries", "parent", "fits"),
    [
        pytest.param({"MediaBox": MEDIA, "TrimBox": CARD}, {}, True, id="plain"),
        pytest.param({"TrimBox": CARD}, {"MediaBox": MEDIA}, True, id="media inherited"),
        pytest.param({"MediaBox": WIDE}, {"TrimBox": CARD}, False, id="trim is not inherited"),
        pytest.param(
            {"MediaBox": MEDIA}, {"CropBox": CARD}, True, id="crop inherited in place of a trim"
        ),
        pytest.param({"MediaBox": CARD}, {}, True, id="media alone"),
        pytest.param({"MediaBox": MEDIA}, {}, True, id="media is trim and bleed"),
        pytest.param({"MediaBox": WIDE}, {}, False, id="no trim, and no one says where"),
        pytest.param({"MediaBox": MEDIA, "TrimBox": MEDIA}, {}, True, id="trim repeats the media"),
        pytest.param({"MediaBox": WIDE, "BleedBox": MEDIA}, {}, True, id="bleed box alone"),
        pytest.param(
            {"MediaBox": [378, 522, 0, 0], "TrimBox": [369, 9, 9, 513]}, {}, True, id="inverted"
        ),
        pytest.param(
            {"MediaBox": MEDIA, "TrimBox": CARD, "CropBox": [90, 90, 200, 200]}, {}, True,
            id="crop smaller than trim",
        ),
        pytest.param({**LYING, "Rotate": 90}, {}, True, id="turned"),
        pytest.param({**LYING, "Rotate": -90}, {}, True, id="turned back"),
        pytest.param({**LYING, "Rotate": 450}, {}, True, id="turned more than once"),
        pytest.param(LYING, {"Rotate": 270}, True, id="turn inherited"),
        pytest.param(LYING, {}, False, id="lying"),
        pytest.param(
            {"MediaBox": [n / 2 for n in MEDIA], "TrimBox": [n / 2 for n in CARD], "UserUnit": 2},
            {}, True, id="units",
        ),
        pytest.param(
            {"MediaBox": MEDIA, "TrimBox": CARD}, {"UserUnit": 2}, True, id="units not inherited"
        ),
        pytest.param({"MediaBox": MEDIA, "TrimBox": CARD, "UserUnit": -3}, {}, True, id="no unit"),
        pytest.param(
            {"MediaBox": MEDIA, "TrimBox": CARD, "Rotate": pikepdf.Name.Up}, {}, True, id="no turn"
        ),
        pytest.param({"MediaBox": MEDIA, "TrimBox": [9, 9, 369.7, 513]}, {}, True, id="rounded"),
        pytest.param({"MediaBox": MEDIA, "TrimBox": [9, 9, 370, 513]}, {}, False, id="larger"),
        pytest.param(
            {"MediaBox": MEDIA, "TrimBox": [9, 9, 369, 530]}, {}, False, id="trim beyond media"
        ),
    ],
)  # fmt: skip
def test_check_preflight_and_imposition_agree(
    loaded: LoadedOrder, entries: Mapping[str, object], parent: Mapping[str, object], fits: bool
) -> None:
    piece = loaded.order.pieces["card"]
    data = page_with(entries, parent)
    (loaded.folder / piece.artwork).write_bytes(data)

    assert (check_artwork(loaded, "card", Workbench(loaded))[1] is not None) == fits

    data = with_cuts_for(loaded.order.jobs["card"], data)
    rules = ArtworkRules(trim=piece.trim)
    assert (preflight(data, rules, checks=(check_trim_size,)) == ()) == fits

    if fits:
        written = single_pieces(data, piece.trim, 9.0).data
        with Pdf.open(io.BytesIO(written)) as pdf:
            assert [float(n) for n in pdf.pages[0].obj.TrimBox] == pytest.approx(CARD, abs=0.01)
    else:
        with pytest.raises(OrderError):
            single_pieces(data, piece.trim, 9.0)
