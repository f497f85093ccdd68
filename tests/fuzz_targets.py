"""What is fuzzed: each takes bytes as a stranger's file, and may raise a known error alone."""

import contextlib
import io
import shutil
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from PIL import Image

from corpus import STEPS
from hostile_kit import HARMLESS
from inkaccord.errors import ExitCode, InkaccordError
from inkaccord.sheets.scan.picture import load_pictures
from inkaccord.sheets.scan.squaring import find_codes
from run_kit import inkaccord

ROOT = Path(__file__).parents[1]
EXAMPLE = ROOT / "jobs_example" / "members_evening"
_READ = sorted(EXAMPLE.glob("evidence/*/readings-*.json"))[0]
SHEET = _READ.parent.name
_KNOWN = {int(code) for code in ExitCode}
_LARGEST_SEED = 40_000


class WrongError(AssertionError):
    """A command ended as none may."""


@dataclass(frozen=True)
class Target:
    """What takes bytes, what it is tried with, and the file that they stand in.

    ``check`` gets a file that holds the bytes, in a folder of its own.
    """

    file: str
    check: Callable[[Path], None]
    seeds: Callable[[], Iterator[bytes]]

    def one(self, data: bytes) -> None:
        """Try bytes."""
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / self.file
            path.write_bytes(data)
            self.check(path)


# -- artwork ----------------------------------------------------------------------------------


def read_artwork(path: Path) -> None:
    """List colours, swap one with its proof, run all checks, draw a picture."""
    for step in STEPS.values():
        with contextlib.suppress(InkaccordError):
            step(path)


def artworks() -> Iterator[bytes]:
    """Yield small exports of general programs, and files that look hostile."""
    for path in sorted((ROOT / "tests" / "exports" / "files").glob("*.pdf")):
        if path.stat().st_size < _LARGEST_SEED:
            yield path.read_bytes()
    for make in HARMLESS.values():
        yield make()


# -- commands ---------------------------------------------------------------------------------


def call(*words: object) -> None:
    """Run a command; its exit code has to be one that is documented."""
    code, _, said = inkaccord(*words)
    if code not in _KNOWN:
        raise WrongError(f"{code}: {said}")


def check_order(path: Path) -> None:
    """Check an order."""
    call("check", path)


def orders() -> Iterator[bytes]:
    """Yield the orders that are kept."""
    for path in sorted((ROOT / "jobs_example").glob("*/order.yaml")):
        yield path.read_bytes()
    yield (ROOT / "runner" / "inkaccord" / "starter" / "order.yaml").read_bytes()


def import_evidence(path: Path) -> None:
    """Take in evidence of a stranger: one of its files is what was made up."""
    folder = path.parent / "evidence"
    shutil.copytree(EXAMPLE / "evidence" / SHEET, folder / SHEET)
    shutil.copy(EXAMPLE / "evidence" / "shelf.json", folder)
    data = path.read_bytes()
    names = ["sheet.json", _READ.name]
    (folder / SHEET / names[b'"readings"' in data]).write_bytes(data)
    call("shelf", "--shelf", path.parent / "shelf.sqlite", "import", folder)


def evidence() -> Iterator[bytes]:
    """Yield the files of which evidence consists."""
    for path in sorted((EXAMPLE / "evidence" / SHEET).glob("*.json")):
        yield path.read_bytes()


def record_readings(path: Path) -> None:
    """Take in a target's readings."""
    shelf = path.parent / "shelf.sqlite"
    call("--shelf", shelf, "record", "--pair", "press@white", "--name", "set", path)


def readings() -> Iterator[bytes]:
    """Yield readings in every form that is read."""
    yield b"SAMPLE_ID,CMYK_C,CMYK_M,CMYK_Y,CMYK_K,LAB_L,LAB_A,LAB_B\n" + b"".join(
        b"A%d,%d,0,%d,0,%d,-3.5,12\n" % (at, at * 2, at, 90 - at) for at in range(40)
    )
    yield (
        b'CGATS.17\nORIGINATOR "press"\nNUMBER_OF_FIELDS 8\nBEGIN_DATA_FORMAT\nSAMPLE_ID CMYK_C '
        b"CMYK_M CMYK_Y CMYK_K LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\nNUMBER_OF_SETS 40\nBEGIN_DATA\n"
        + b"".join(b"A%d %d 0 %d 0 %d -3.5 12\n" % (at, at * 2, at, 90 - at) for at in range(40))
        + b"END_DATA\n"
    )
    for path in sorted(EXAMPLE.glob("evidence/*/readings-*"))[:4]:
        yield path.read_bytes()


def read_scan(path: Path) -> None:
    """Unpack a picture and look for codes in it."""
    with contextlib.suppress(InkaccordError):
        for picture in load_pictures(path):
            find_codes(picture)


def scans() -> Iterator[bytes]:
    """Yield pictures in every form that is read."""
    drawn = Image.linear_gradient("L").resize((90, 60)).convert("RGB")
    for form in ("PNG", "TIFF", "JPEG"):
        with io.BytesIO() as out:
            drawn.save(out, form)
            yield out.getvalue()
    with io.BytesIO() as out:
        drawn.save(out, "TIFF", save_all=True, append_images=[drawn], compression="tiff_lzw")
        yield out.getvalue()


TARGETS = {
    "pdf": Target("art.pdf", read_artwork, artworks),
    "order": Target("order.yaml", check_order, orders),
    "evidence": Target("given.json", import_evidence, evidence),
    "readings": Target("set.txt", record_readings, readings),
    "scan": Target("scan.tif", read_scan, scans),
}
