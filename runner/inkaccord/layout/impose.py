"""Write imposed sheets as a PDF.

Every distinct artwork page becomes one form, whatever the number of its copies; a layout's
sheets share one content stream; the page tree is written once. The same input gives the same
bytes.
"""

import contextlib
import io
from collections.abc import Mapping, Sequence
from contextlib import AbstractContextManager
from pathlib import Path

from pikepdf import Pdf

from inkaccord.diagnostics import Diagnostic, Place, error
from inkaccord.errors import OrderError
from inkaccord.files import working_folder
from inkaccord.layout.markdraw import draw_marks
from inkaccord.layout.marks import MarkRules, MarkSet
from inkaccord.layout.model import Imposition
from inkaccord.layout.rules import ImposeRules
from inkaccord.layout.sheet_pages import Book, label
from inkaccord.layout.sides import Side
from inkaccord.layout.sources import Artwork, ArtworkForms
from inkaccord.pdf.writing import Written, rebuild, save_rebuilt

Art = Mapping[tuple[str, int], bytes | Path | str | Artwork]
"""The artwork of each piece and side (1 front, 2 back)."""
COMPACT_FORMS = 1000
"""With more forms than that, objects are not packed into streams."""


def impose_sheets(art: Art, imposition: Imposition, rules: ImposeRules | None = None) -> Written:
    """Return imposed sheets as bytes, with what is to be said of them.

    Parameters
    ----------
    art
        The artwork of each piece and side. Artwork with several pages has a record for every
        copy.
    imposition
        From :func:`inkaccord.layout.packing.lay_out`.
    rules
        Marks, and what the file is called.

    Raises
    ------
    OrderError
        If artwork is missing, has another trim than the piece, or its pages do not go together.
    FileError
        If artwork is not a PDF that can be read.
    """
    with working_folder() as folder:  # writing to a file is quicker than to memory
        path = folder / "sheets.pdf"
        pages, findings = _write(art, imposition, rules or ImposeRules(), path)
        return Written(data=path.read_bytes(), pages=pages, findings=findings)


def _write(
    art: Art, imposition: Imposition, rules: ImposeRules, path: Path
) -> tuple[int, tuple[Diagnostic, ...]]:
    artworks = {
        label(key): value if isinstance(value, Artwork) else Artwork(data=value)
        for key, value in art.items()
    }
    _check_art(artworks, imposition)
    with ArtworkForms({name: artwork.data for name, artwork in artworks.items()}) as sources:
        book = Book(sources, artworks, imposition)
        sides = [side for layout in imposition.layouts for side in book.sides(layout)]
        marks = _marks(sides, imposition, rules)
        with _open_marks(sides, marks, rules.marks) as drawn:
            overlays = [None] * len(sides) if drawn is None else book.overlays(drawn)
            pages = book.pages(sides, overlays)
        rebuild(sources.pdf, pages, title=rules.title)
        compact = len(sources.forms) <= COMPACT_FORMS
        save_rebuilt(sources.pdf, path, pdf_version=rules.pdf_version, compact=compact)
        findings = (*sources.findings, *book.findings, *(f for m in marks for f in m.findings))
        return len(pages), tuple(dict.fromkeys(findings))


def _check_art(artworks: Mapping[str, Artwork], imposition: Imposition) -> None:
    missing = [
        error(
            "no-artwork",
            f"{label((item.name, side))} has no artwork",
            place=Place(field=f"pieces.{item.name}"),
            hint="give a PDF for each side of the piece",
        )
        for item in imposition.items
        for side in range(1, item.sides + 1)
        if label((item.name, side)) not in artworks
    ]
    if missing:
        raise OrderError(missing)


def _marks(sides: Sequence[Side], imposition: Imposition, rules: ImposeRules) -> list[MarkSet]:
    if rules.marks is None:
        return []
    lines = {
        (id(layout), at): line
        for layout, slugs in zip(imposition.layouts, rules.slugs, strict=False)
        for at, line in enumerate(slugs, start=1)
    }
    return [
        side.marks(
            imposition.items, rules.marks.with_slug(lines.get((id(side.layout), side.number)))
        )
        for side in sides
    ]


def _open_marks(
    sides: Sequence[Side], marks: Sequence[MarkSet], rules: MarkRules | None
) -> AbstractContextManager[Pdf | None]:
    if rules is None:
        return contextlib.nullcontext()
    sizes = [side.layout.sheet.size for side in sides]
    return Pdf.open(io.BytesIO(draw_marks(list(zip(sizes, marks, strict=True)), rules)))
