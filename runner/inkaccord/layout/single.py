"""Single pieces as a shop wants them that lays its own sheets: trim, bleed, marks or none."""

import io
from collections.abc import Sequence

from pikepdf import Object, Pdf

from inkaccord.layout.markdraw import draw_marks
from inkaccord.layout.marks import MarkRules, marks_for
from inkaccord.layout.model import Fold, Item, Placement
from inkaccord.layout.sheet_pages import OVERLAY
from inkaccord.layout.sides import side_word
from inkaccord.layout.sources import ArtworkForms
from inkaccord.pdf.forms import numbers, packed
from inkaccord.pdf.writing import Written, finish, page_mould, page_object
from inkaccord.sizes import Box, Size

_NAME = "piece"


def single_pieces(
    pdf: bytes,
    trim: Size,
    bleed_pt: float,
    *,
    marks: MarkRules | None = None,
    folds: tuple[Fold, ...] = (),
    pdf_version: str = "1.7",
    title: str = "",
    name: str = _NAME,
    slugs: Sequence[str] = (),
) -> Written:
    """Write every page of a PDF as a single piece.

    ``slugs`` are the slug lines of the pages of one copy, which follow each other, in place of the
    marks' own.

    The page is as large as trim and bleed; with marks it is larger by what they need on every
    side. MediaBox, BleedBox and TrimBox are set on each page; the BleedBox is as large as the bleed
    that is drawn.

    Raises OrderError if a page's trim is another, FileError if the PDF cannot be read.
    """
    room = 0.0
    if marks is not None:
        room = marks.gap_pt + marks.length_pt + (marks.text_pt * 2 if marks.slug else 2.0)
        if marks.swatches:
            room = max(room, marks.swatch_pt + 12.0)
    edge = room + bleed_pt
    size = Size(width_pt=trim.width_pt + 2 * edge, height_pt=trim.height_pt + 2 * edge)
    placed = Placement(
        item=name,
        x_pt=edge,
        y_pt=edge,
        width_pt=trim.width_pt,
        height_pt=trim.height_pt,
        bleed_pt=bleed_pt,
    )
    with ArtworkForms({name: pdf}) as sources:
        forms = sources.pages(name, range(sources.page_count(name)), trim, bleed_pt)
        findings = list(sources.findings)
        content = f"q {numbers(1, 0, 0, 1, edge, edge)} cm /P0 Do Q"
        overlays: list[dict[str, Object]] = [{} for _ in forms]
        if marks is not None:
            content += f"\nq {OVERLAY} Do Q"
            item = Item(name=name, trim=trim, bleed_pt=bleed_pt, quantity=1, folds=folds)
            area = Box(0.0, 0.0, size.width_pt, size.height_pt)
            lines = slugs or (marks.slug, marks.slug)
            drawn = [
                marks_for(
                    [placed],
                    area,
                    [item],
                    marks.with_slug(lines[at]).showing([name], side_word(1 + at)),
                    size=size,
                )
                for at in range(min(len(lines), len(forms)))  # the same on every copy
            ]
            findings += [finding for it in drawn for finding in it.findings]
            with Pdf.open(io.BytesIO(draw_marks([(size, it) for it in drawn], marks))) as pages_of:
                of_copy = [
                    {OVERLAY: sources.pdf.copy_foreign(page.as_form_xobject())}
                    for page in pages_of.pages
                ]
            overlays = [of_copy[number % len(of_copy)] for number in range(len(forms))]
        stream = packed(sources.pdf, content.encode())
        bleeds = [sources.drawn[form].moved(edge, edge) for form in forms]
        moulds = {box: page_mould(size, placed.trim, box, stream) for box in bleeds}
        pages = [
            page_object(sources.pdf, moulds[box], {"/P0": sources.forms[form], **overlay})
            for form, box, overlay in zip(forms, bleeds, overlays, strict=True)
        ]
        data = finish(sources.pdf, pages, pdf_version=pdf_version, title=title)
    return Written(data=data, pages=len(pages), findings=tuple(dict.fromkeys(findings)))
