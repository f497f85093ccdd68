"""The files of a sheet or a deck: the PDF to print and the text to fill in."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from inkaccord.files import inside, safe_name, write_if_changed
from inkaccord.sheets.drawing.binder import Binder, draw_guides
from inkaccord.sheets.drawing.card_drawing import draw_cards
from inkaccord.sheets.drawing.cards import RingCards
from inkaccord.sheets.drawing.laid import lay_blocks
from inkaccord.sheets.drawing.sheet import draw_sheet, draw_sheets
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.planning.blocks import is_cut_out
from inkaccord.sheets.reading.cgats import write_cgats
from inkaccord.sheets.settings import SheetFormat

Keeping = Binder | RingCards | None
"""How a deck is kept: loose, in a binder, or as cards on a ring."""


def sheet_files(sheet: SampleSheet, *, notes: Sequence[str] = ()) -> dict[str, bytes]:
    """Return file names and contents: ``<id>.pdf`` and ``<id>.txt`` (ISO 28178)."""
    name = safe_name(sheet.id)
    return {
        f"{name}.pdf": draw_sheet(sheet, notes=notes),
        f"{name}.txt": write_cgats(sheet).encode(),
    }


def block_files(sheet: SampleSheet, takes: Sequence[SheetFormat]) -> dict[str, bytes]:
    """Return the files of a sheet, and it laid on what the device takes if it is cut out of that.

    The laid one is called ``<id>-to-cut-out.pdf``.
    """
    files = sheet_files(sheet)
    if is_cut_out(sheet.size, takes):
        name = safe_name(sheet.id)
        laid = lay_blocks([(sheet, files[f"{name}.pdf"])], takes, title=str(sheet.pair))
        files[f"{name}-to-cut-out.pdf"] = laid
    return files


def deck_page(page: SheetFormat, keeping: Keeping = None) -> SheetFormat:
    """Return the page to plan a deck on: with a punch margin, or the card itself."""
    if isinstance(keeping, RingCards):
        return keeping.page()
    return keeping.page(page) if keeping else page


def deck_files(
    sheets: Sequence[SampleSheet],
    page: SheetFormat,
    keeping: Keeping = None,
    *,
    notes: Sequence[str] = (),
) -> dict[str, bytes]:
    """Return file names and contents of a deck with its additions: one PDF, a text for each.

    Parameters
    ----------
    sheets
        The deck and any additions, in the order in which they were made.
    page
        The page that the device takes.
    keeping
        For a binder the guides of the punch are drawn; cards come laid on pages, with a cut plan.
    """
    first, last = safe_name(sheets[0].id), safe_name(sheets[-1].id)
    name = first if len(sheets) == 1 else f"{first}-to-{last}"
    if isinstance(keeping, RingCards):
        pdf = draw_cards(sheets, keeping, page, notes=notes)
    elif keeping is not None:
        pdf = draw_sheets(
            sheets, notes=notes, decorate=lambda pen, _sheet, _page: draw_guides(pen, keeping, page)
        )
    else:
        pdf = draw_sheets(sheets, notes=notes)
    texts = {f"{safe_name(sheet.id)}.txt": write_cgats(sheet).encode() for sheet in sheets}
    return {f"{name}.pdf": pdf, **texts}


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
