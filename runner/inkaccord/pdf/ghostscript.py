"""The program Ghostscript, which may be missing: where it is, and running it within bounds."""

import os
import shutil
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from inkaccord.apart.crew import Allowance, run_program, too_much_memory
from inkaccord.errors import FileError

GHOSTSCRIPT = Allowance("Ghostscript", seconds=30)
"""What the program may take for one file."""


def ghostscript_path() -> str | None:
    """Return the path of the program, or None when it is not installed.

    What lies in the current folder, perhaps an order that someone sent, is not: neither where
    Windows would look there first, nor where ``PATH`` says so.
    """
    named = os.environ.get("PATH", os.defpath).split(os.pathsep)
    folders = [Path(name) for name in named if Path(name).is_absolute()]
    found = (
        shutil.which(folder / name)
        for name in ("gs", "gswin64c.exe", "gswin32c.exe")
        for folder in folders
    )
    return next((str(path) for path in found if path), None)


def ghostscript_version() -> str:
    """Return what tells one installed program from another; empty where there is none.

    Its file's place, size and date: to ask the program itself would take a tenth of a second.
    """
    path = ghostscript_path()
    if path is None:
        return ""
    file = Path(path).stat()
    return f"{path} {file.st_size} {file.st_mtime_ns}"


def run_ghostscript(arguments: Sequence[str], folder: Path, *, makes: str, files: int = 1) -> None:
    """Run the program in a folder of our own.

    Parameters
    ----------
    arguments
        What comes after ``-q -dSAFER -dBATCH -dNOPAUSE``; files by their names in the folder.
    makes
        The file that has to be there afterwards.
    files
        How many it reads, each of which may take its time.

    Raises
    ------
    FileError
        ``no-ghostscript``, ``cannot-render``; ``took-too-long`` and the like when it was stopped.
    """
    program = ghostscript_path()
    if program is None:
        raise FileError.of(
            "no-ghostscript",
            "this needs the program Ghostscript, which is not installed",
            hint="install Ghostscript, or go on with the figures taken from the file's objects",
        )
    command = [program, "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", *arguments]
    status, words = run_program(
        command, folder, replace(GHOSTSCRIPT, seconds=GHOSTSCRIPT.seconds * files)
    )
    if status != 0 or not (folder / makes).exists():
        if "VMerror" in words:
            raise too_much_memory(GHOSTSCRIPT)
        first = next(iter(words.strip().splitlines()), "it wrote nothing")
        raise FileError.of(
            "cannot-render",
            f"Ghostscript cannot read the file: {first}",
            in_program="export it again, without protection",
        )
