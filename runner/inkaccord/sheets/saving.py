"""Writing a sheet's two files: the PDF to print and the text to fill in."""

from pathlib import Path

from inkaccord.files import inside, safe_name, write_if_changed
from inkaccord.sheets.cgats import write_cgats
from inkaccord.sheets.drawing import draw_sheet
from inkaccord.sheets.model import SampleSheet


def sheet_files(sheet: SampleSheet) -> dict[str, bytes]:
    """Return file names and contents: ``<id>.pdf`` and ``<id>.txt`` (ISO 28178)."""
    name = safe_name(sheet.id)
    return {
        f"{name}.pdf": draw_sheet(sheet),
        f"{name}.txt": write_cgats(sheet).encode(),
    }


def save_sheet(sheet: SampleSheet, folder: Path) -> tuple[Path, ...]:
    """Write a sheet's files into a folder, leaving unchanged ones alone; return their paths.

    Raises FileError that names the file when the folder can't be written.
    """
    paths = []
    for name, data in sheet_files(sheet).items():
        path = inside(folder, name)
        write_if_changed(path, data)
        paths.append(path)
    return tuple(paths)
