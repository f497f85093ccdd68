"""JPEG pictures, unpacked apart; those whose own data ask for more than the file says."""

import io
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from inkaccord.errors import FileError
from inkaccord.pdf import jpeg as reading
from inkaccord.pdf.jpeg import read_jpeg, read_jpeg_of_inks
from structure_kit import jpeg, jpeg_of_inks

ENTROPY = b"\xff\xda"


def written(mode: str = "RGB", *, size: int = 64, progressive: bool = False) -> bytes:
    out = io.BytesIO()
    colour = (10, 20, 30, 40)[: len(mode)]
    Image.new(mode, (size, size // 2), colour).save(out, "JPEG", progressive=progressive)
    return out.getvalue()


@pytest.mark.parametrize("read", [read_jpeg, read_jpeg_of_inks])
@pytest.mark.parametrize(
    ("data", "code"),
    [
        (jpeg(10_000, 9_000), "too-big-unpacked"),
        (jpeg(65_000, 65_000), "too-big-unpacked"),
        (jpeg(800, 800, scans=2000), "too-many-scans"),
        (b"GIF89a", "bad-jpeg"),
        (b"\xff\xd8\xff\xe0\x00", "bad-jpeg"),
        (b"\xff\xd8" + b"\xff\xfe\x00\x00" * 9, "bad-jpeg"),
    ],
    ids=["270 MB", "12 GB", "2,000 scans", "none", "no header", "empty comments"],
)
def test_what_asks_for_too_much_is_refused_before_it_is_unpacked(
    read: object, data: bytes, code: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(reading, "answer", None)
    assert callable(read)
    with pytest.raises(FileError) as problem:
        read(data)
    (finding,) = problem.value.findings
    assert finding.code == code
    assert finding.in_program


def test_more_inks_than_devices_read_are_refused_before_they_are_unpacked(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(reading, "answer", None)
    with pytest.raises(FileError, match="a JPEG of 5 inks, and most devices read no more than 4"):
        read_jpeg_of_inks(jpeg_of_inks(np.zeros((8, 8, 5), np.uint8)))


@pytest.mark.parametrize("read", [read_jpeg, read_jpeg_of_inks])
def test_what_is_damaged_is_refused(read: object) -> None:
    whole = written("RGB", size=512)
    at = whole.find(ENTROPY)
    assert callable(read)
    for data in (whole[: at + 40], whole[:at] + b"\xff\xd9", whole[: at + 2] + bytes(9)):
        with pytest.raises(FileError):
            read(data)


@pytest.mark.parametrize("read", [read_jpeg, read_jpeg_of_inks])
def test_what_needs_too_much_memory_is_ended(read: object, monkeypatch: pytest.MonkeyPatch) -> None:
    """A header of 256 MB that is let pass: of one channel, with all of it to be held at once."""
    monkeypatch.setattr(reading, "_ALLOWANCE", replace(reading._ALLOWANCE, mib=160))
    assert callable(read)
    with pytest.raises(FileError) as problem:
        read(jpeg(9000, 9000, scans=3))
    (finding,) = problem.value.findings
    assert finding.code in {"took-too-much-memory", "program-fell", "cannot-read-further"}
    assert finding.in_program


@pytest.mark.parametrize("progressive", [False, True])
@pytest.mark.parametrize("mode", ["L", "RGB", "CMYK"])
def test_what_programs_write_is_unpacked(mode: str, progressive: bool) -> None:
    channels = {"L": 1}.get(mode, len(mode))
    data = written(mode, progressive=progressive)
    found = read_jpeg(data)
    assert found.mode == mode
    assert found.samples.shape == (32, 64, channels)
    with Image.open(io.BytesIO(data)) as here:
        assert (found.samples == np.asarray(here).reshape(32, 64, channels)).all()
    of_inks = read_jpeg_of_inks(data)
    assert (of_inks == (255 - found.samples if mode == "CMYK" else found.samples)).all()


def flat_blocks(inks: int) -> np.ndarray:
    """Return shares of inks that JPEG keeps nearly as they are."""
    shares = np.random.default_rng(3).integers(0, 256, (8, 16, inks)).astype(np.uint8)
    return shares.repeat(8, axis=0).repeat(8, axis=1)


def test_two_inks_are_unpacked_as_they_are() -> None:
    shares = flat_blocks(2)
    assert np.abs(read_jpeg_of_inks(jpeg_of_inks(shares)).astype(int) - shares).max() <= 2


def test_more_inks_than_the_library_knows_are_refused() -> None:
    with pytest.raises(FileError):
        read_jpeg_of_inks(jpeg_of_inks(flat_blocks(5)))
