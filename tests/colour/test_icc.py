"""What ICC profiles say, beside LittleCMS (Debian's liblcms2-utils)."""

import struct
import subprocess
from pathlib import Path

import numpy as np
import pytest
from PIL import ImageCms

from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.icc import BadProfileError, read_icc
from outside import GHOSTSCRIPT_CMYK, KRITA_CMYK, SCRIBUS_COATED, need_file, need_program

GHOSTSCRIPT, KRITA = GHOSTSCRIPT_CMYK.parent, KRITA_CMYK.parent
PROFILES = [
    (GHOSTSCRIPT_CMYK, 100, "libgs-common"),  # 4 inks, 8-bit table
    (SCRIBUS_COATED, 100, "scribus-data"),  # 4 inks, 16-bit table, version 2
    (KRITA_CMYK, 100, "krita-data"),
    (GHOSTSCRIPT / "srgb.icc", 255, "libgs-common"),  # matrix, version 2
    (KRITA / "ClayRGB-elle-V4-srgbtrc.icc", 255, "krita-data"),  # parametric curves, version 4
    (KRITA / "ITUR_2100_PQ_FULL.ICC", 255, "krita-data"),  # curves, matrix, curves ('mAB ')
    (KRITA / "Gray-D50-elle-V2-g22.icc", 255, "krita-data"),
    (KRITA / "Gray-D50-elle-V4-labl.icc", 255, "krita-data"),
]
SRGB = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def seen_by_littlecms(profile: Path, numbers):
    """Return CIELAB of numbers as the profile takes them, relative colorimetric."""
    transicc = need_program("transicc", "liblcms2-utils")
    text = "".join(" ".join(f"{v:.6f}" for v in row) + "\n" for row in numbers)
    said = subprocess.run(
        [transicc, "-n", "-t1", "-c0", f"-i{profile}", "-o*Lab4"],
        input=text, capture_output=True, text=True, check=True,
    )  # fmt: skip
    rows = [line.split()[:3] for line in said.stdout.splitlines() if line.strip()]
    return np.array(rows, dtype=float)


@pytest.mark.parametrize(
    ("path", "full", "package"), PROFILES, ids=lambda it: getattr(it, "stem", None)
)
def test_littlecms_sees_the_same(path: Path, full: int, package: str) -> None:
    profile = read_icc(need_file(path, package).read_bytes())
    count = profile.channels
    some = np.random.default_rng(7).random((40, count))
    numbers = np.vstack([np.zeros(count), np.ones(count), np.eye(count), some]).round(5)
    theirs = seen_by_littlecms(path, numbers * full)
    # Near black ΔE00 weighs little; HDR whites lie far above 100, where it is not defined.
    within = theirs[:, 0] <= 100.01
    apart = delta_e_2000(profile.lab(numbers)[within], theirs[within])
    assert within.sum() > 10
    assert apart.max() < 0.03  # our white and theirs differ in the fifth digit


def multi_table_profile() -> bytes:
    """Return a version 4 profile of RGB with a 'mAB ' tag that has a table: 2 x 2 x 2, to Lab."""
    curve = struct.pack(">4sIHHi", b"para", 0, 0, 0, 65536 * 2)
    table = np.random.default_rng(1).integers(0, 65536, 24).astype(">u2").tobytes()
    clut = bytes([2, 2, 2]) + bytes(13) + b"\x02\0\0\0" + table
    b, a = 32, 32 + 3 * len(curve)
    start = a + 3 * len(curve)
    tag = struct.pack(">4sIBBHIIIII", b"mAB ", 0, 3, 3, 0, b, 0, 0, start, a)
    tag += 6 * curve + clut
    head = bytearray(128)
    head[8:12], head[12:24], head[36:40] = b"\x04\x20\0\0", b"prtrRGB Lab ", b"acsp"
    head[68:80] = struct.pack(">iii", 63190, 65536, 54061)
    listing = struct.pack(">I4sII", 1, b"A2B1", 144, len(tag))
    data = bytes(head) + listing + tag
    return struct.pack(">I", len(data)) + data[4:]


def test_a_table_between_curves_is_read_as_littlecms_reads_it(tmp_path: Path) -> None:
    path = tmp_path / "table.icc"
    path.write_bytes(multi_table_profile())
    numbers = np.random.default_rng(5).random((40, 3)).round(5)
    theirs = seen_by_littlecms(path, numbers * 255)
    assert np.abs(read_icc(path.read_bytes()).lab(numbers) - theirs).max() < 0.02


@pytest.mark.parametrize("cut", [0, 40, 100, 130, 200, 400])
def test_a_profile_that_breaks_off_is_refused(cut: int) -> None:
    with pytest.raises(BadProfileError):
        read_icc(SRGB[:cut])


def test_no_damage_ends_in_another_error() -> None:
    rng = np.random.default_rng(11)
    whole = np.frombuffer(multi_table_profile(), np.uint8)
    for _ in range(400):
        data = whole.copy()
        data[rng.integers(0, len(data), 4)] = rng.integers(0, 256, 4)
        try:
            lab = read_icc(data.tobytes()).lab([[0.2, 0.5, 0.9]])
        except BadProfileError:
            continue
        assert lab.shape == (1, 3)


@pytest.mark.parametrize("word", [b"Lab ", b"XYZ ", b"6CLR"])
def test_a_profile_of_another_kind_is_refused(word: bytes) -> None:
    with pytest.raises(BadProfileError):
        read_icc(SRGB[:16] + word + SRGB[20:])
