"""What is kept of the exports: the files of the index, small, each a page of its design."""

import json
from pathlib import Path

import pikepdf
import pytest

from exports.designs import BLEED_MM, DESIGNS

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
