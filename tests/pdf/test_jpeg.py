"""JPEG pictures whose own header asks for more than the file says."""

import io

import pytest
from PIL import Image

from inkaccord.errors import FileError
from inkaccord.pdf.jpeg import open_jpeg
from structure_kit import jpeg


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (jpeg(10_000, 9_000), "too-big-unpacked"),
        (jpeg(65_000, 65_000), "too-big-unpacked"),
        (jpeg(800, 800, scans=2000), "too-many-scans"),
    ],
    ids=["270 MB", "12 GB", "2,000 scans"],
)
def test_what_asks_for_too_much_is_refused_before_it_is_unpacked(data: bytes, code: str) -> None:
    with pytest.raises(FileError) as problem, open_jpeg(data):
        pass
    (finding,) = problem.value.findings
    assert finding.code == code
    assert finding.in_program


@pytest.mark.parametrize("progressive", [False, True])
def test_what_programs_write_is_unpacked(progressive: bool) -> None:
    out = io.BytesIO()
    Image.new("CMYK", (300, 200), (10, 20, 30, 40)).save(out, "JPEG", progressive=progressive)
    with open_jpeg(out.getvalue()) as picture:
        assert picture.getpixel((150, 100)) == pytest.approx((10, 20, 30, 40), abs=2)
