"""The files of sheets and swatch sets: what is written reads back as the same builds."""

import datetime
import io
from pathlib import Path

import numpy as np
import pikepdf
import pytest

from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.pairs import Pair
from inkaccord.layout.punching import Holes
from inkaccord.sheets.drawing.drawn import DrawnSheet
from inkaccord.sheets.drawing.sheet import draw_sheet
from inkaccord.sheets.keeping import Keeping, RingCards, kept_page
from inkaccord.sheets.model import Purpose, SampleSheet
from inkaccord.sheets.planning.placing import SwatchGroup
from inkaccord.sheets.planning.plan import plan_sheet
from inkaccord.sheets.planning.swatch_set import lay_swatch_set
from inkaccord.sheets.reading.cgats import parse_cgats
from inkaccord.sheets.saving import save_files, set_files, sheet_files
from inkaccord.sheets.settings import SheetFormat
from inkaccord.sizes import Size

PAIR = Pair.parse("laser@kraft")
DATE = datetime.date(2026, 5, 14)
LETTER = SheetFormat(size=Size.parse("letter"))


def closing(builds: tuple[Build, ...]) -> SampleSheet:
    sheet = plan_sheet(
        PAIR,
        Purpose.CLOSING_IN,
        [SwatchGroup(colour="kelp", builds=builds)],
        LETTER,
        drive=builds[0].drive,
        date=DATE,
    )
    assert sheet is not None
    return sheet


def swatch_set(page: SheetFormat, seed: int, base: tuple[SampleSheet, ...] = ()) -> SampleSheet:
    rng = np.random.default_rng(seed)
    sheet = lay_swatch_set(
        PAIR,
        rng.integers(1, 60, (110, 4)).astype(float),
        rng.uniform((20, -50, -50), (90, 50, 50), (110, 3)),
        page,
        drive=Drive.CMYK,
        name="autumn set",
        date=DATE,
        base=base,
    )
    assert sheet is not None
    return sheet


@pytest.mark.parametrize(
    "builds",
    [
        tuple(Build.cmyk(85 - k / 4, 20, 60 + k, 30) for k in range(9)),
        tuple(Build.rgb(10 * k, 128, 255 - k) for k in range(9)),
    ],
)
def test_the_text_file_holds_every_id_with_its_build(builds: tuple[Build, ...]) -> None:
    sheet = closing(builds)
    files = sheet_files(sheet, draw_sheet(sheet))
    assert set(files) == {f"{sheet.id}.pdf", f"{sheet.id}.txt"}
    (table,) = parse_cgats(files[f"{sheet.id}.txt"])
    names = {
        Drive.CMYK: ("CMYK_C", "CMYK_M", "CMYK_Y", "CMYK_K"),
        Drive.RGB: ("RGB_R", "RGB_G", "RGB_B"),
    }[sheet.drive]
    columns = table.indices(names)
    ids = table.index("SAMPLE_ID")
    assert columns is not None
    assert ids is not None
    found = {
        row[ids].text: tuple(float(row[column].text) for column in columns) for row in table.rows
    }
    assert found == {swatch.id: swatch.build.values for swatch in sheet.swatches}


@pytest.mark.parametrize("keeping", [None, Holes.TWO, RingCards.four_on(Size.parse("letter"))])
def test_a_swatch_set_and_its_addition_make_one_pdf(keeping: Keeping) -> None:
    page = kept_page(LETTER, keeping)
    base = swatch_set(page, 1)
    added = swatch_set(page, 2, base=(base,))
    drawn = [DrawnSheet(sheet, draw_sheet(sheet)) for sheet in (base, added)]
    files = set_files(drawn, LETTER, keeping, notes=["a note"])
    assert set(files) == {
        f"{base.id}-to-{added.id}.pdf",
        f"{base.id}.txt",
        f"{added.id}.txt",
    }
    pages = base.pages + added.pages
    with pikepdf.open(io.BytesIO(files[f"{base.id}-to-{added.id}.pdf"])) as document:
        expected = 1 + -(-pages // 4) if isinstance(keeping, RingCards) else pages
        assert len(document.pages) == expected


def test_files_are_written_once(tmp_path: Path) -> None:
    sheet = closing((Build.cmyk(85, 20, 60, 30),))
    files = sheet_files(sheet, draw_sheet(sheet))
    paths = save_files(files, tmp_path / "samples")
    assert {path.name: path.read_bytes() for path in paths} == files
    before = [path.stat().st_mtime_ns for path in paths]
    assert [path.stat().st_mtime_ns for path in save_files(files, tmp_path / "samples")] == before
