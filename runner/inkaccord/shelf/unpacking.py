"""An exported shelf in a zip: unpacked for as long as it is read, whoever packed it."""

import re
import shutil
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from inkaccord.diagnostics import Diagnostic, Place
from inkaccord.errors import FileError, InkaccordError
from inkaccord.files import working_folder
from inkaccord.words import thousands

HEAD = "shelf.json"
MOST_FILES, MOST_BYTES = 200_000, 1 << 30
"""Of a zip: forty thousand sheets and their readings, a few kB each."""
_UNREADABLE = zipfile.BadZipFile, zlib.error, NotImplementedError, RuntimeError, EOFError
_PART = re.compile(r"(?:[A-Za-z0-9._-]+/)?[A-Za-z0-9_-][A-Za-z0-9._-]*\.(?:json|txt)")
"""Names of an export's files, below the folder that holds its head."""


@contextmanager
def folder_of(export: Path) -> Iterator[Path]:
    """Give the folder of an export: itself, or what a zip of it holds while it is asked for.

    Of a zip only files are unpacked whose names an export has, and none outside a folder of ours.
    What is said of them names the zip. Raises FileError for a file that is no zip, holds too much,
    or has no export in it.
    """
    if not export.is_file():
        yield export
        return
    with working_folder() as folder:
        _unpack(export, folder)
        try:
            yield folder
        except InkaccordError as problem:
            findings = (_in_zip(finding, folder, export) for finding in problem.findings)
            raise type(problem)(findings) from problem


def _unpack(export: Path, folder: Path) -> None:
    try:
        with zipfile.ZipFile(export) as package:
            packed = {info.filename: info for info in package.infolist() if not info.is_dir()}
            heads = [name for name in packed if name.rpartition("/")[2] == HEAD]
            above = min(heads, key=len, default=HEAD).removesuffix(HEAD)
            within = [name for name in packed if name.startswith(above)]
            named = {name.removeprefix(above): packed[name] for name in within}
            parts = {name: info for name, info in named.items() if _PART.fullmatch(name)}
            _check_size(export, parts)
            for name, info in parts.items():
                path = folder / name
                path.parent.mkdir(exist_ok=True)
                with package.open(info) as source, path.open("wb") as target:
                    shutil.copyfileobj(source, target)
    except _UNREADABLE as problem:
        raise _no_export(export, f"this is no zip that can be read: {problem}") from problem
    if not heads:
        raise _no_export(export, f"the zip has no {HEAD} in it")


def _check_size(export: Path, parts: dict[str, zipfile.ZipInfo]) -> None:
    if len(parts) > MOST_FILES:
        raise _no_export(export, f"the zip has more than {thousands(MOST_FILES)} files")
    if sum(it.file_size for it in parts.values()) > MOST_BYTES:
        raise _no_export(export, "the zip unpacks to more than a gigabyte")


def _no_export(export: Path, message: str) -> FileError:
    return FileError.of(
        "not-an-export",
        message,
        place=Place(file=str(export)),
        hint="name what 'inkaccord shelf export' wrote: its folder, or a zip of that",
    )


def _in_zip(finding: Diagnostic, folder: Path, export: Path) -> Diagnostic:
    """Return a finding about an unpacked file as one about its place in the zip."""
    file = finding.place.file
    if file is None or not Path(file).is_relative_to(folder):
        return finding
    inside = Path(file).relative_to(folder).as_posix()
    place = finding.place.model_copy(update={"file": f"{export}/{inside}"})
    return finding.model_copy(update={"place": place})
