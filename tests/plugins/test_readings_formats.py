"""The bundled readings formats, used as the host uses them."""

from functools import cache
from pathlib import Path

import pytest
from PIL import Image

import inkaccord_readings_scan
import inkaccord_readings_tables
from inkaccord.errors import InkaccordError
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.reading.cgats_written import write_cgats
from inkaccord.sheets.reading.formats import ReadingsFormat
from outside import KRITA_CMYK, need_file
from recording_kit import as_csv, as_json, readings_of, sheet_of, text_tag
from scan_kit import Scanner, drawn_sheet, instrument, scan

FORMATS = (
    *inkaccord_readings_tables.inkaccord_readings_formats(),
    *inkaccord_readings_scan.inkaccord_readings_formats(),
)
SHEET = sheet_of()


def recognised(path: Path) -> list[ReadingsFormat]:
    head = path.read_bytes()[:4096]
    return [form for form in FORMATS if form.recognises(path, head)]


def test_they_keep_the_seam() -> None:
    assert all(isinstance(form, ReadingsFormat) for form in FORMATS)
    assert [form.name for form in FORMATS] == ["cgats", "json", "csv", "scan"]


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("cgats", write_cgats(SHEET, readings_of(SHEET)).encode()),
        ("cgats", b"\xef\xbb\xbf" + write_cgats(SHEET, readings_of(SHEET)).encode()),
        ("cgats", write_cgats(SHEET, readings_of(SHEET)).encode("utf-16")),
        ("cgats", write_cgats(SHEET, readings_of(SHEET)).replace("\n", "\r").encode()),
        ("json", as_json(SHEET, readings_of(SHEET)).encode()),
        ("csv", as_csv(SHEET, readings_of(SHEET)).encode()),
    ],
)
def test_a_table_is_recognised_and_read(tmp_path: Path, name: str, content: bytes) -> None:
    path = tmp_path / f"k7q.{'csv' if name == 'csv' else 'dat'}"
    path.write_bytes(content)
    (form,) = recognised(path)
    assert form.name == name
    taken = form.read(path, SHEET, ())
    assert taken.readings.readings == readings_of(SHEET).readings
    assert taken.findings == ()


def test_a_real_target_is_recognised(tmp_path: Path) -> None:
    path = tmp_path / "target.txt"
    path.write_bytes(text_tag(need_file(KRITA_CMYK, "krita-data"), b"targ"))
    assert [form.name for form in recognised(path)] == ["cgats"]


@cache
def scanned() -> tuple[SampleSheet, Image.Image]:
    sheet = drawn_sheet("a7-envelope", colours=1, each=4)
    return sheet, scan(sheet, Scanner(dpi=150, jpeg=None))


@pytest.mark.parametrize("suffix", ["png", "tif", "jpg"])
def test_a_scan_is_recognised_and_read(tmp_path: Path, suffix: str) -> None:
    sheet, image = scanned()
    path = tmp_path / f"scan.{suffix}"
    image.save(path)
    (form,) = recognised(path)
    assert form.name == "scan"
    controls = instrument(sheet, [s.id for s in sheet.swatches if s.control])
    taken = form.read(path, sheet, (controls,))
    assert [reading.swatch for reading in taken.readings.readings] == [
        s.id for s in sheet.swatches if not s.control and s.page == 1
    ]
    assert taken.readings.noise >= 1.0


@pytest.mark.parametrize("content", [b"", b"%PDF-1.7", b"\0\1\2\3" * 50, b"some words\n"])
def test_what_is_neither_is_left_alone(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "file.bin"
    path.write_bytes(content)
    assert recognised(path) == []


def test_a_torn_picture_is_said(tmp_path: Path) -> None:
    path = tmp_path / "scan.png"
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + b"nothing more")
    (form,) = recognised(path)
    with pytest.raises(InkaccordError) as caught:
        form.read(path, SHEET, ())
    assert caught.value.findings[0].code == "bad-picture"
