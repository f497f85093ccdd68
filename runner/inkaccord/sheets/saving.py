"""The files of a sheet or a swatch set: the PDF to print and the text to fill in."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from inkaccord.files import inside, safe_name, write_if_changed
from inkaccord.pdf.joining import join_pages
from inkaccord.sheets.drawing.card_drawing import lay_set_cards
from inkaccord.sheets.drawing.drawn import DrawnSheet
from inkaccord.sheets.drawing.laid import lay_blocks
from inkaccord.sheets.keeping import Keeping, RingCards
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.planning.blocks import is_cut_out
from inkaccord.sheets.reading.cgats_written import write_cgats
from inkaccord.sheets.settings import SheetFormat


def sheet_files(sheet: SampleSheet, pdf: bytes) -> dict[str, bytes]:
    """Return file names and contents: ``<id>.pdf`` and ``<id>.txt`` (ISO 28178)."""
    name = safe_name(sheet.id)
    return {f"{name}.pdf": pdf, f"{name}.txt": write_cgats(sheet).encode()}


def block_files(drawn: DrawnSheet, takes: Sequence[SheetFormat]) -> dict[str, bytes]:
    """Return the files of a sheet, and it laid on what the device takes if it is cut out of that.

    The laid one is called ``<id>-to-cut-out.pdf``. A sheet with bleed goes to a vendor as it is.
    """
    files = sheet_files(*drawn)
    sheet = drawn.sheet
    if not sheet.bleed_pt and is_cut_out(sheet.size, takes):
        laid = lay_blocks([drawn], takes, title=str(sheet.pair))
        files[f"{safe_name(sheet.id)}-to-cut-out.pdf"] = laid
    return files


def set_files(
    drawn: Sequence[DrawnSheet],
    page: SheetFormat,
    keeping: Keeping = None,
    *,
    notes: Sequence[str] = (),
) -> dict[str, bytes]:
    """Return file names and contents of a swatch set with its additions: one PDF, a text for each.

    Parameters
    ----------
    drawn
        The set and any additions, in the order in which they were made.
    page
        The page that the device takes.
    keeping
        Cards come laid on pages, with a cut plan.
    notes
        What the cut plan says besides.
    """
    sheets = [sheet for sheet, _ in drawn]
    first, last = safe_name(sheets[0].id), safe_name(sheets[-1].id)
    name = first if len(sheets) == 1 else f"{first}-to-{last}"
    if isinstance(keeping, RingCards):
        pdf = lay_set_cards(drawn, keeping, page, notes=notes)
    else:
        pdf = _joined(drawn)
    texts = {f"{safe_name(sheet.id)}.txt": write_cgats(sheet).encode() for sheet in sheets}
    return {f"{name}.pdf": pdf, **texts}


def _joined(drawn: Sequence[DrawnSheet]) -> bytes:
    if len(drawn) == 1:
        return drawn[0].pdf
    title = "Swatch set " + ", ".join(sheet.id for sheet, _ in drawn)
    return join_pages([pdf for _, pdf in drawn], pdf_version="1.6", title=title)


def save_files(files: Mapping[str, bytes], folder: Path) -> tuple[Path, ...]:
    """Write files into a folder, leaving unchanged ones alone; return their paths.

    Raises FileError that names the file when the folder can't be written.
    """
    paths = []
    for name, data in files.items():
        path = inside(folder, name)
        write_if_changed(path, data)
        paths.append(path)
    return tuple(paths)
