"""The program Ghostscript, which may be missing: where it is, and running it within bounds."""

import shutil
import subprocess
from collections.abc import Sequence
from pathlib import Path

from inkaccord.errors import FileError


def ghostscript_path() -> str | None:
    """Return the path of the program, or None when it is not installed."""
    for name in ("gs", "gswin64c", "gswin32c"):
        found = shutil.which(name)
        if found:
            return found
    return None


def ghostscript_version() -> str:
    """Return what tells one installed program from another; empty where there is none.

    Its file's place, size and date: to ask the program itself would take a tenth of a second.
    """
    path = ghostscript_path()
    if path is None:
        return ""
    file = Path(path).stat()
    return f"{path} {file.st_size} {file.st_mtime_ns}"


def run_ghostscript(
    arguments: Sequence[str], folder: Path, *, makes: str, timeout_s: float = 120
) -> None:
    """Run the program in a folder of our own.

    Parameters
    ----------
    arguments
        What comes after ``-q -dSAFER -dBATCH -dNOPAUSE``; files by their names in the folder.
    makes
        The file that has to be there afterwards.

    Raises
    ------
    FileError
        ``no-ghostscript``, ``render-timeout`` or ``cannot-render``.
    """
    program = ghostscript_path()
    if program is None:
        raise FileError.of(
            "no-ghostscript",
            "this needs the program Ghostscript, which is not installed",
            hint="install Ghostscript, or go on with the figures taken from the file's objects",
        )
    command = [program, "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", *arguments]
    try:
        done = subprocess.run(  # noqa: S603 - a fixed argument list, no shell, -dSAFER
            command, capture_output=True, timeout=timeout_s, cwd=folder, check=False
        )
    except subprocess.TimeoutExpired as problem:
        raise FileError.of(
            "render-timeout",
            f"Ghostscript did not finish within {timeout_s:g} s",
            hint="lower the resolution or raise the time limit",
        ) from problem
    if done.returncode != 0 or not (folder / makes).exists():
        words = (done.stderr or done.stdout).decode("utf-8", "replace").strip().splitlines()
        raise FileError.of(
            "cannot-render",
            f"Ghostscript cannot read the file: {words[0] if words else 'it wrote nothing'}",
            in_program="export it again, without protection",
        )
