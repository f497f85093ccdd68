"""What is kept of the exports: the files of the index, small, each a page of its design."""

import io
import json
from pathlib import Path

import pikepdf
import pytest

from exports.designs import BLEED_MM, DESIGNS
from inkaccord.pdf.cuts import with_cuts
from inkaccord.sizes import Size

HERE = Path(__file__).parent
INDEX = json.loads((HERE / "index.json").read_text("utf-8"))


def test_the_index_names_the_files_that_are_kept():
    assert {path.stem for path in (HERE / "files").iterdir()} == set(INDEX)


def test_the_files_stay_small():
    assert sum(path.stat().st_size for path in (HERE / "files").iterdir()) < 3_000_000


@pytest.mark.parametrize("name", INDEX)
def test_each_is_one_page_of_trim_and_bleed(name):
    design = DESIGNS[INDEX[name]["design"]]
    with pikepdf.open(HERE / "files" / f"{name}.pdf") as pdf:
        assert len(pdf.pages) == 1
        left, bottom, right, top = (float(side) for side in pdf.pages[0].mediabox)
    wanted = (design.width + 2 * BLEED_MM, design.height + 2 * BLEED_MM)
    assert (right - left, top - bottom) == pytest.approx([mm * 72 / 25.4 for mm in wanted], abs=1)


@pytest.mark.parametrize("name", INDEX)
def test_each_is_cut_where_its_design_is(name):
    design, path = DESIGNS[INDEX[name]["design"]], HERE / "files" / f"{name}.pdf"
    width, height = (side * 72 / 25.4 for side in (design.width, design.height))
    bleed = BLEED_MM * 72 / 25.4
    # An eighth of an inch is asked, as most orders do, where the designs have 3 mm.
    data = with_cuts(path, Size(width_pt=width, height_pt=height), 9.0) or path.read_bytes()
    with pikepdf.open(io.BytesIO(data)) as pdf:
        page = pdf.pages[0]
        media = [float(side) for side in page.mediabox]
        trim, outer = ([float(side) for side in page.obj[key]] for key in ("/TrimBox", "/BleedBox"))
    left, bottom = media[0] + bleed, media[1] + bleed
    assert trim == pytest.approx([left, bottom, left + width, bottom + height], abs=0.5)
    assert outer == pytest.approx(media, abs=0.5)
