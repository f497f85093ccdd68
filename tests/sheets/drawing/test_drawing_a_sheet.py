"""A drawn sheet holds exactly the builds planned, in black type that stays in its place."""

import datetime
import io
import subprocess
from pathlib import Path
from unittest.mock import Mock

import numpy as np
import pikepdf
import pytest
from hypothesis import given
from hypothesis import settings as hypothesis_settings
from hypothesis import strategies as st
from PIL import Image, ImageFilter

from inkaccord.colour.builds import Build, Drive
from inkaccord.colour.pairs import Pair
from inkaccord.errors import OrderError
from inkaccord.sheets.controls import control_builds
from inkaccord.sheets.drawing.pens import Pen
from inkaccord.sheets.drawing.sheet import draw_sheet
from inkaccord.sheets.frame import sheet_geometry
from inkaccord.sheets.model import Purpose, SampleSheet, Swatch
from inkaccord.sheets.planning.placing import SwatchGroup
from inkaccord.sheets.planning.plan import plan_sheet
from inkaccord.sheets.settings import SheetFormat, SheetSettings
from inkaccord.sizes import Sides, Size
from inkaccord.units import millimetres
from outside import need_program

DATE = datetime.date(2026, 5, 14)
KELP = tuple(Build.cmyk(85 - k, 20, 60 + k, 30.5) for k in range(9))
SEA = tuple(Build.rgb(10 * k, 128, 255 - 7 * k) for k in range(9))


def planned(
    size: str = "letter",
    builds: tuple[Build, ...] = KELP,
    *,
    bleed_pt: float = 0.0,
    unprintable: float = 12.0,
    settings: SheetSettings | None = None,
) -> SampleSheet:
    sheet = plan_sheet(
        Pair.parse("laser@smooth-ivory-card/heavy paper"),
        Purpose.CLOSING_IN,
        [SwatchGroup(colour="kelp", builds=builds)],
        SheetFormat(size=Size.parse(size), bleed_pt=bleed_pt, unprintable=Sides.even(unprintable)),
        drive=builds[0].drive,
        date=DATE,
        order="members-evening",
        settings=settings,
    )
    assert sheet is not None
    return sheet


def filled_boxes(pdf: bytes) -> dict[tuple[float, ...], tuple[str, tuple[float, ...]]]:
    """Return every filled rectangle of a PDF: (page, left, bottom, right, top) to its colour."""
    found: dict[tuple[float, ...], tuple[str, tuple[float, ...]]] = {}
    with pikepdf.open(io.BytesIO(pdf)) as document:
        for number, page in enumerate(document.pages, start=1):
            colour: tuple[str, tuple[float, ...]] = ("g", (0.0,))
            rectangles: list[tuple[float, ...]] = []
            for operands, operator in pikepdf.parse_content_stream(page):
                name = str(operator)
                if name in {"k", "rg", "g"}:
                    colour = (name, tuple(float(value) for value in operands))
                elif name == "re":
                    x, y, width, height = (float(value) for value in operands)
                    rectangles.append((number, x, y, x + width, y + height))
                elif name in {"f", "f*"}:
                    found.update(dict.fromkeys(rectangles, colour))
                    rectangles = []
                elif name in {"S", "s", "n", "B"}:
                    rectangles = []
    return found


def middle_of(pixels: np.ndarray, swatch: Swatch, dpi: float) -> np.ndarray:
    """Return the pixels of a swatch that lie surely inside it."""
    assert swatch.box_pt is not None
    left, bottom, right, top = (edge * dpi / 72 for edge in swatch.box_pt)
    height = pixels.shape[0]
    return pixels[int(height - top) + 2 : int(height - bottom) - 1, int(left) + 2 : int(right) - 1]


@pytest.mark.parametrize(("builds", "operator", "scale"), [(KELP, "k", 100.0), (SEA, "rg", 255.0)])
def test_the_file_read_back_gives_every_build_in_its_box(
    builds: tuple[Build, ...], operator: str, scale: float
) -> None:
    sheet = planned(builds=builds)
    boxes = filled_boxes(draw_sheet(sheet))
    for swatch in sheet.swatches:
        assert swatch.box_pt is not None
        (colour,) = [
            colour
            for box, colour in boxes.items()
            if np.allclose(box, (swatch.page, *swatch.box_pt), atol=0.005)
        ]
        assert colour[0] == operator
        assert np.allclose(np.array(colour[1]) * scale, swatch.build.values, atol=2e-4)


@given(
    values=st.tuples(*[st.floats(0, 100).map(lambda v: round(v, 2))] * 4),
)
@hypothesis_settings(max_examples=25, deadline=None)
def test_any_build_survives_the_file_to_the_hundredth_of_a_percent(
    values: tuple[float, float, float, float],
) -> None:
    sheet = planned(builds=(Build.cmyk(*values), Build.cmyk(12, 34, 56, 78)))
    colours = {
        tuple(round(100 * v, 2) for v in colour)
        for operator, colour in filled_boxes(draw_sheet(sheet)).values()
        if operator == "k"
    }
    assert {swatch.build.values for swatch in sheet.swatches} <= colours


@pytest.mark.parametrize("size", ["letter", "a7-envelope", "4.25in x 5.5in"])
def test_ghostscript_prints_the_builds_ink_for_ink(size: str, tmp_path: Path) -> None:
    """Ghostscript's tiff32nc device (Artifex) gives the four inks of every pixel in 8 bits."""
    gs = need_program("gs", "ghostscript")
    sheet = planned(size)
    (tmp_path / "sheet.pdf").write_bytes(draw_sheet(sheet))
    dpi = 100
    subprocess.run(
        [gs, "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", "-sDEVICE=tiff32nc", f"-r{dpi}",
         "-o", "page%d.tif", "sheet.pdf"],
        cwd=tmp_path, check=True,
    )  # fmt: skip
    for page in range(1, sheet.pages + 1):
        with Image.open(tmp_path / f"page{page}.tif") as picture:
            inks = np.asarray(picture, dtype=float)
        for swatch in sheet.swatches:
            if swatch.page != page:
                continue
            wanted = np.array(swatch.build.values) * 2.55
            assert np.abs(middle_of(inks, swatch, dpi) - wanted).max() <= 1.0, swatch.id


def test_ghostscript_shows_rgb_builds_number_for_number(tmp_path: Path) -> None:
    """Ghostscript's png16m device passes DeviceRGB through as it is."""
    gs = need_program("gs", "ghostscript")
    sheet = planned("a7-envelope", SEA)
    (tmp_path / "sheet.pdf").write_bytes(draw_sheet(sheet))
    dpi = 100
    subprocess.run(
        [gs, "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", "-sDEVICE=png16m", f"-r{dpi}",
         "-o", "page.png", "sheet.pdf"],
        cwd=tmp_path, check=True,
    )  # fmt: skip
    with Image.open(tmp_path / "page.png") as picture:
        pixels = np.asarray(picture.convert("RGB"), dtype=float)
    for swatch in sheet.swatches:
        assert np.abs(middle_of(pixels, swatch, dpi) - swatch.build.values).max() <= 1.0, swatch.id


@pytest.mark.parametrize("size", ["letter", "a7-envelope", "4.25in x 5.5in", "a3"])
def test_no_ink_leaves_the_live_area(size: str, tmp_path: Path) -> None:
    """Ghostscript's bbox device tells what the marks on the page cover."""
    gs = need_program("gs", "ghostscript")
    sheet = planned(size, bleed_pt=9.0, unprintable=20.0)
    (tmp_path / "sheet.pdf").write_bytes(draw_sheet(sheet))
    told = subprocess.run(
        [gs, "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", "-sDEVICE=bbox", "sheet.pdf"],
        cwd=tmp_path, check=True, capture_output=True, text=True,
    ).stderr  # fmt: skip
    boxes = [
        [float(edge) for edge in line.split()[1:]]
        for line in told.splitlines()
        if line.startswith("%%HiResBoundingBox")
    ]
    assert len(boxes) == sheet.pages
    assert sheet.live_pt is not None
    for left, bottom, right, top in boxes:
        assert left >= sheet.live_pt[0] - 0.05
        assert bottom >= sheet.live_pt[1] - 0.05
        assert right <= sheet.live_pt[2] + 0.05
        assert top <= sheet.live_pt[3] + 0.05


@pytest.mark.parametrize("builds", [KELP, SEA])
def test_all_that_is_no_swatch_is_black_only(builds: tuple[Build, ...]) -> None:
    sheet = planned(builds=builds)
    black = {Drive.CMYK: ("k", (0, 0, 0, 1)), Drive.RGB: ("rg", (0, 0, 0))}[sheet.drive]
    swatch_boxes = [(s.page, *s.box_pt) for s in sheet.swatches if s.box_pt]
    pdf = draw_sheet(sheet)
    others = [
        colour
        for box, colour in filled_boxes(pdf).items()
        if not any(np.allclose(box, swatch, atol=0.005) for swatch in swatch_boxes)
    ]
    assert others
    assert set(others) == {black}
    with pikepdf.open(io.BytesIO(pdf)) as document:
        painted = black[1]
        for operands, operator in pikepdf.parse_content_stream(document.pages[0]):
            if str(operator) == black[0]:
                painted = tuple(float(v) for v in operands)
            if str(operator) in {"Tj", "TJ", "'"}:
                assert painted == black[1]


@pytest.mark.parametrize("bleed_pt", [0.0, 9.0])
def test_page_boxes_follow_the_vendors_rule_on_bleed(bleed_pt: float) -> None:
    sheet = planned("a2-envelope", bleed_pt=bleed_pt)
    with pikepdf.open(io.BytesIO(draw_sheet(sheet))) as document:
        for page in document.pages:
            media = [0, 0, 414 + 2 * bleed_pt, 315 + 2 * bleed_pt]
            assert [float(edge) for edge in page.MediaBox] == pytest.approx(media, abs=0.01)
            trim = [bleed_pt, bleed_pt, 414 + bleed_pt, 315 + bleed_pt]
            assert [float(edge) for edge in page.TrimBox] == pytest.approx(trim, abs=0.01)
            assert [float(edge) for edge in page.BleedBox] == pytest.approx(media, abs=0.01)


@pytest.mark.slow
@pytest.mark.parametrize("size", ["letter", "4.25in x 5.5in"])
def test_the_code_of_every_page_is_read_from_a_300_dpi_picture(size: str, tmp_path: Path) -> None:
    import zxingcpp

    pdftoppm = need_program("pdftoppm", "poppler-utils")
    sheet = planned(size, KELP * 1 + tuple(Build.cmyk(k, 0, 7, 3) for k in range(40)))
    (tmp_path / "sheet.pdf").write_bytes(draw_sheet(sheet))
    subprocess.run(
        [pdftoppm, "-r", "300", "-gray", "-png", "sheet.pdf", "page"], cwd=tmp_path, check=True
    )
    pictures = sorted(tmp_path.glob("page*.png"))
    assert len(pictures) == sheet.pages
    geometry = sheet_geometry(sheet)
    for number, path in enumerate(pictures, start=1):
        with Image.open(path) as picture:
            (code,) = zxingcpp.read_barcodes(np.asarray(picture))
            height = picture.height
        assert code.text == f"{sheet.id}/{number}"
        corner = code.position.top_left
        assert corner.x / 300 * 72 == pytest.approx(geometry.codes[number - 1][0], abs=1)
        assert (height - corner.y) / 300 * 72 == pytest.approx(geometry.codes[number - 1][3], abs=1)


@pytest.mark.parametrize("dpi", [150, 300])
def test_the_code_is_read_from_a_crooked_soft_and_noisy_picture(dpi: int, tmp_path: Path) -> None:
    import zxingcpp

    pdftoppm = need_program("pdftoppm", "poppler-utils")
    sheet = planned("5in x 7in")
    (tmp_path / "sheet.pdf").write_bytes(draw_sheet(sheet))
    subprocess.run(
        [pdftoppm, "-r", str(dpi), "-gray", "-png", "sheet.pdf", "page"], cwd=tmp_path, check=True
    )
    rng = np.random.default_rng(dpi)
    with Image.open(next(tmp_path.glob("page*.png"))) as picture:
        turned = picture.convert("L").rotate(176, expand=True, fillcolor=255)
        soft = turned.filter(ImageFilter.GaussianBlur(0.05 / 25.4 * dpi))
    noisy = 0.8 * np.asarray(soft, dtype=float) + 25 + rng.normal(0, 6, (soft.height, soft.width))
    (code,) = zxingcpp.read_barcodes(np.clip(noisy, 0, 255).astype(np.uint8))
    assert code.text == f"{sheet.id}/1"


def test_every_swatch_is_labelled_with_id_and_build_and_the_head_says_what_to_do(
    tmp_path: Path,
) -> None:
    pdftotext = need_program("pdftotext", "poppler-utils")
    sheet = planned()
    (tmp_path / "sheet.pdf").write_bytes(draw_sheet(sheet))
    told = subprocess.run(
        [pdftotext, "-layout", "sheet.pdf", "-"],
        cwd=tmp_path, check=True, capture_output=True, text=True,
    ).stdout  # fmt: skip
    words = " ".join(told.split())
    for swatch in sheet.swatches:
        assert swatch.id in told.split()
        assert " ".join(f"{value:g}" for value in swatch.build.values) in words
    for expected in (
        sheet.id,
        "laser",
        "smooth-ivory-card",
        "heavy paper",
        "members-evening",
        "Printed on",
        "Picked by",
        "Under which light",
        f"inkaccord record {sheet.id} FILE",
        f"inkaccord look {sheet.id}",
    ):
        assert expected in words


@pytest.mark.parametrize("size", ["letter", "5in x 7in", "4.25in x 5.5in"])
def test_notes_stand_at_the_foot_and_the_print_hint_is_never_lost(
    size: str, tmp_path: Path
) -> None:
    pdftotext = need_program("pdftotext", "poppler-utils")
    (tmp_path / "sheet.pdf").write_bytes(
        draw_sheet(planned(size), notes=["for slate", "w" * 300, "more"])
    )
    told = subprocess.run(
        [pdftotext, "-l", "1", "sheet.pdf", "-"],
        cwd=tmp_path, check=True, capture_output=True, text=True,
    ).stdout  # fmt: skip
    assert "For slate" in told
    assert "Print at 100 %" in told


def test_the_same_sheet_gives_the_same_bytes() -> None:
    assert draw_sheet(planned()) == draw_sheet(planned())


def test_dark_paper_gets_larger_type_and_an_imported_sheet_is_refused() -> None:
    assert SheetSettings.suiting(None, 30).label_pt > SheetSettings.suiting(None, 92).label_pt
    imported = planned().model_copy(update={"live_pt": None})
    with pytest.raises(OrderError, match="not drawn here"):
        draw_sheet(imported)


def test_a_sheet_taken_from_a_file_is_drawn_the_same() -> None:
    sheet = planned(settings=SheetSettings.suiting(millimetres(16), 30))
    again = SampleSheet.model_validate_json(sheet.model_dump_json(exclude_defaults=True))
    assert again == sheet
    assert draw_sheet(again) == draw_sheet(sheet)
    assert sheet_geometry(again) == sheet_geometry(sheet)


def test_controls_are_always_the_same_twelve() -> None:
    for drive in Drive:
        builds = control_builds(drive)
        assert len(set(builds)) == len(builds) == 12
        assert all(build.drive is drive for build in builds)
    assert control_builds(Drive.CMYK)[0] == Build.cmyk(0, 0, 0, 0)
    assert control_builds(Drive.RGB)[0] == Build.rgb(255, 255, 255)


@hypothesis_settings(max_examples=60, deadline=None)
@given(st.floats(40, 400))
def test_type_that_is_set_smaller_to_fit_is_not_cut_short(width: float) -> None:
    text = "Controls: has this pair drifted?"
    canvas = Mock()
    Pen(canvas, Drive.CMYK).text_within(0, 0, text, width, 8.4, 2.0)
    (_, _, drawn), _ = canvas.drawString.call_args
    assert drawn == text
