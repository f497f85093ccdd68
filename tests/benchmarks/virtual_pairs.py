"""Printers to print on without a printer: ICC output profiles through LittleCMS, and raw readings.

A profile's A2B1 table answers what a build looks like (absolute colorimetric, D50/2°), so a
profile stands in for a device with its stock. LittleCMS is called through its C interface in
double precision: the 8-bit Lab of a picture library would add an error of its own.
"""

import ctypes
import ctypes.util
import re
import struct
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from inkaccord.colour.press.kin import substrate_correction
from inkaccord.colour.spaces import lab_to_xyz, xyz_to_lab

KRITA = Path("/usr/share/color/icc/krita/cmyk.icm")
SCRIBUS = Path("/usr/share/scribus/profiles/ISOcoated_v2_300_bas.icc")
GHOSTSCRIPT = Path("/usr/share/color/icc/ghostscript/default_cmyk.icc")
INSTALLED = (KRITA, SCRIBUS, GHOSTSCRIPT)
"""From the Debian packages krita-data, scribus-data and libgs-common."""
CONDITIONS = {KRITA.name: "a proof", SCRIBUS.name: "ISO coated, 300 %", GHOSTSCRIPT.name: "SWOP"}
"""The printing conditions that they describe themselves by."""

_CMYK, _LAB, _RGB = 6, 10, 4  # PT_CMYK, PT_Lab, PT_RGB of lcms2.h
_PERCEPTUAL, _ABSOLUTE = 0, 3
_BLACK_POINT = 0x2000
"""cmsFLAGS_BLACKPOINTCOMPENSATION."""


def _double(space: int, channels: int) -> int:
    """Return lcms2's format word for doubles: FLOAT_SH(1) | COLORSPACE | CHANNELS | BYTES(0)."""
    return (1 << 22) | (space << 16) | (channels << 3)


class _Lcms:
    """The few calls of lcms2.h that are needed."""

    def __init__(self):
        name = ctypes.util.find_library("lcms2")
        if name is None:
            raise SystemExit("LittleCMS is not here; install the Debian package liblcms2-utils")
        self.lib = ctypes.CDLL(name)
        for call in ("cmsOpenProfileFromFile", "cmsCreateLab4Profile", "cmsCreate_sRGBProfile"):
            getattr(self.lib, call).restype = ctypes.c_void_p
        self.lib.cmsCreateTransform.restype = ctypes.c_void_p
        self.lib.cmsCreateTransform.argtypes = [ctypes.c_void_p, ctypes.c_uint32] * 2 + [
            ctypes.c_uint32
        ] * 2
        self.lib.cmsCreateLab4Profile.argtypes = [ctypes.c_void_p]
        self.lib.cmsDoTransform.argtypes = [ctypes.c_void_p] * 3 + [ctypes.c_uint32]

    def transform(self, source, source_format, target, target_format, intent, flags=0):
        handle = self.lib.cmsCreateTransform(
            source, source_format, target, target_format, intent, flags | 0x0040 | 0x0100
        )
        if not handle:
            raise SystemExit("LittleCMS can't build the transform")
        return handle

    def run(self, handle, values, columns):
        values = np.ascontiguousarray(values, dtype=np.float64)
        out = np.empty((len(values), columns))
        self.lib.cmsDoTransform(handle, values.ctypes.data, out.ctypes.data, len(values))
        return out


@dataclass
class VirtualPair:
    """A device with a stock that prints whatever is asked, without noise."""

    name: str
    to_lab: object
    channels: int = 4

    def lab(self, builds):
        """Return the true CIELAB of (n, k) builds in device units."""
        return self.to_lab(np.asarray(builds, dtype=np.float64))

    def xyz(self, builds):
        return lab_to_xyz(self.lab(builds))


def profile_pair(path: Path) -> VirtualPair:
    """A CMYK profile as a CMYK-driven pair."""
    lcms = _Lcms()
    profile = lcms.lib.cmsOpenProfileFromFile(str(path).encode(), b"r")
    if not profile:
        raise SystemExit(f"{path} is not an ICC profile that LittleCMS can open")
    space = path.read_bytes()[16:20]
    if space != b"CMYK":
        raise SystemExit(f"{path} is a {space.decode('latin1')} profile; a CMYK profile is needed")
    lab = lcms.lib.cmsCreateLab4Profile(None)
    handle = lcms.transform(profile, _double(_CMYK, 4), lab, _double(_LAB, 3), _ABSOLUTE)
    return VirtualPair(path.name, lambda builds: lcms.run(handle, builds, 3))


def rgb_pair(path: Path) -> VirtualPair:
    """The same device behind a driver that takes sRGB: B2A0 mixes the inks, A2B1 prints them."""
    lcms = _Lcms()
    profile = lcms.lib.cmsOpenProfileFromFile(str(path).encode(), b"r")
    rgb = lcms.lib.cmsCreate_sRGBProfile()
    lab = lcms.lib.cmsCreateLab4Profile(None)
    mixing = lcms.transform(rgb, _double(_RGB, 3), profile, _double(_CMYK, 4), _PERCEPTUAL)
    printing = lcms.transform(profile, _double(_CMYK, 4), lab, _double(_LAB, 3), _ABSOLUTE)

    def to_lab(builds):
        return lcms.run(printing, lcms.run(mixing, builds / 255.0, 4), 3)

    return VirtualPair(f"{path.name} behind an sRGB driver", to_lab, channels=3)


def separation(path: Path, intent: int, *, black_point: bool = False):
    """A profile's table from CIELAB to inks, as a function to (n, 4) percent.

    ``intent``: 0 perceptual, 1 relative colorimetric, 2 saturation.
    """
    lcms = _Lcms()
    profile = lcms.lib.cmsOpenProfileFromFile(str(path).encode(), b"r")
    lab = lcms.lib.cmsCreateLab4Profile(None)
    flags = _BLACK_POINT if black_point else 0
    handle = lcms.transform(lab, _double(_LAB, 3), profile, _double(_CMYK, 4), intent, flags)
    return lambda wanted: lcms.run(handle, wanted, 4)


def through(builds, source: Path, target: Path, intent: int, *, by_srgb: bool = False):
    """Return CMYK builds (n, 4) as a program converts them from one profile to another.

    ``by_srgb``: by way of sRGB, clipped to 8-bit RGB's range, as drivers do that take only RGB.
    """
    lcms = _Lcms()
    ends = [lcms.lib.cmsOpenProfileFromFile(str(it).encode(), b"r") for it in (source, target)]
    cmyk, rgb_format = _double(_CMYK, 4), _double(_RGB, 3)
    if not by_srgb:
        return lcms.run(lcms.transform(ends[0], cmyk, ends[1], cmyk, intent), builds, 4)
    rgb = lcms.lib.cmsCreate_sRGBProfile()
    there = lcms.transform(ends[0], cmyk, rgb, rgb_format, intent, _BLACK_POINT)
    back = lcms.transform(rgb, rgb_format, ends[1], cmyk, intent, _BLACK_POINT)
    return lcms.run(back, np.clip(lcms.run(there, builds, 3), 0.0, 1.0), 4)


def other_stock(pair: VirtualPair, paper, *, strength: float, gain: float) -> VirtualPair:
    """The same device on another stock: paper by substrate correction, weaker inks, more dot gain.

    ``strength`` is the power of each ink's transmittance, ``gain`` what half tone gains.
    """
    old = pair.xyz([[0.0, 0.0, 0.0, 0.0]])[0]
    darkest = 0.8 * pair.xyz([[60.0, 60.0, 60.0, 100.0]])[0]
    new = lab_to_xyz(np.array(paper, dtype=np.float64))

    def to_lab(builds):
        share = builds / 100.0
        share = np.clip(share + 4 * share * (1 - share) * gain, 0, 1)
        weaker = old * (np.maximum(pair.xyz(share * 100.0), 0.05) / old) ** strength
        return xyz_to_lab(substrate_correction(weaker, old, new, darkest))

    return VirtualPair(f"{pair.name} on another stock", to_lab)


@dataclass
class RawSet:
    """Measured readings of a characterisation chart."""

    name: str
    builds: np.ndarray
    lab: np.ndarray
    spectra: np.ndarray | None = None
    wavelengths: np.ndarray | None = None


def raw_set(path: Path) -> RawSet | None:
    """The readings in a CGATS file, or in the 'targ' tag of a profile; None if there are none."""
    content = path.read_bytes()
    if content[36:40] == b"acsp":
        content = _tag(content, b"targ")
        if content is None:
            return None
    return _cgats(path.name, content.decode("latin1"))


def _tag(content: bytes, wanted: bytes) -> bytes | None:
    (count,) = struct.unpack(">I", content[128:132])
    for row in range(count):
        name, start, size = struct.unpack_from(">4sII", content, 132 + 12 * row)
        if name == wanted:
            return content[start + 8 : start + size].rstrip(b"\0")
    return None


def _cgats(name: str, text: str) -> RawSet:
    fields = re.search(r"BEGIN_DATA_FORMAT(.*?)END_DATA_FORMAT", text, re.S)[1].split()
    body = re.search(r"BEGIN_DATA\s(.*?)END_DATA\s*$", text, re.S | re.M)[1]
    cells = re.findall(r'"[^"]*"|\S+', body)
    table = np.array(cells, dtype=object).reshape(-1, len(fields))

    def columns(*names):
        where = [fields.index(n) for n in names]
        return table[:, where].astype(np.float64)

    builds = columns("CMYK_C", "CMYK_M", "CMYK_Y", "CMYK_K")
    if "LAB_L" in fields:
        lab = columns("LAB_L", "LAB_A", "LAB_B")
    else:
        lab = xyz_to_lab(columns("XYZ_X", "XYZ_Y", "XYZ_Z"))
    bands = [f for f in fields if re.fullmatch(r"(SPEC|SPECTRAL|NM|SPECTRAL_NM)_?\d{3}", f)]
    if not bands:
        return RawSet(name, builds, lab)
    spectra = columns(*bands)
    spectra = spectra / 100.0 if np.max(spectra) > 3.0 else spectra
    return RawSet(name, builds, lab, spectra, np.array([float(b[-3:]) for b in bands]))
