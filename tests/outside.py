"""Outside references for tests: programs and data that Debian packages carry.

On a machine without them the test is skipped with the reason. In CI (``CI=true``) a missing
reference is a failure, so a check can't go quiet there.
"""

import hashlib
import importlib
import os
import shutil
import subprocess
from pathlib import Path
from types import ModuleType
from urllib.parse import unquote

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

SHARED_PDFS = Path(__file__).parents[1].parent / "shared" / "pdfs"
"""PDF files that no one here wrote, where the folder is present beside the checkout."""

KRITA_CMYK = Path("/usr/share/color/icc/krita/cmyk.icm")
SCRIBUS_COATED = Path("/usr/share/scribus/profiles/ISOcoated_v2_300_bas.icc")
GHOSTSCRIPT_CMYK = Path("/usr/share/color/icc/ghostscript/default_cmyk.icc")


def _missing(what: str, package: str) -> None:
    reason = f"{what} is not here; install the Debian package {package}"
    if os.environ.get("CI") == "true":
        pytest.fail(reason)
    pytest.skip(reason)


def need_program(name: str, package: str = "") -> str:
    """Return the path of a program, or skip (fail in CI) with the reason."""
    found = shutil.which(name)
    if found is None:
        _missing(f"the program {name}", package or name)
    assert found is not None
    return found


def need_file(path: Path, package: str = "") -> Path:
    """Return the path of a reference file, or skip (fail in CI) with the reason."""
    if not path.exists():
        _missing(str(path), package or "that carries it")
    return path


def need_module(name: str, package: str = "") -> ModuleType:
    """Return a Python library that only tests use, or skip (fail in CI) with the reason."""
    try:
        return importlib.import_module(name)
    except ImportError:
        reason = f"the library {package or name} is not here; install the extra 'test'"
        if os.environ.get("CI") == "true":
            pytest.fail(reason)
        pytest.skip(reason)


def shared_pdfs() -> list[Path]:
    """Return the PDF files of others, or skip: that folder never ships with the project."""
    found = sorted(SHARED_PDFS.glob("*.pdf"))
    if not found:
        pytest.skip(f"no PDF files in {SHARED_PDFS}")
    return found


def plates(data: bytes, folder: Path, dpi: int = 72) -> dict[str, NDArray[np.float64]]:
    """Return the plates of a file's first page by name, in percent; row 0 is the top.

    By Ghostscript's tiffsep, run from here: none of our code takes part.
    """
    pages = _ghostscript("tiffsep", data, folder, dpi)
    found = {}
    for file in pages.glob("p1(*).tif"):
        with Image.open(file) as plate:
            found[unquote(file.stem[3:-1])] = (255 - np.asarray(plate).astype(float)) / 2.55
    return found


def screen_colours(data: bytes, folder: Path, dpi: int = 72) -> NDArray[np.uint8]:
    """Return a file's first page in device RGB by Ghostscript, shape (height, width, 3)."""
    with Image.open(_ghostscript("tiff24nc", data, folder, dpi) / "p1.tif") as page:
        return np.asarray(page)


def _ghostscript(device: str, data: bytes, folder: Path, dpi: int) -> Path:
    out = folder / hashlib.sha256(data).hexdigest()[:12]
    out.mkdir(exist_ok=True)
    (out / "in.pdf").write_bytes(data)
    subprocess.run(
        [need_program("gs", "ghostscript"), "-q", "-dBATCH", "-dNOPAUSE", "-dSAFER",
         f"-sDEVICE={device}", f"-r{dpi}", "-dTextAlphaBits=1", "-dGraphicsAlphaBits=1",
         "-sOutputFile=p%d.tif", "in.pdf"],
        cwd=out, check=True, capture_output=True,
    )  # fmt: skip
    return out
