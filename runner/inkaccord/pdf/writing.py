"""Writing files: the same bytes every time, whether a file was changed or made of pages."""

import io
import warnings
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from pikepdf import Array, Dictionary, Name, Object, ObjectStreamMode, Pdf, StreamDecodeLevel
from pikepdf.exceptions import PageCopyWarning

from inkaccord import __version__
from inkaccord.diagnostics import Diagnostic
from inkaccord.files import working_folder
from inkaccord.models import Frozen
from inkaccord.sizes import Box, Size


class Written(Frozen):
    """A written file of pages and what is to be said of it."""

    data: bytes
    pages: int
    findings: tuple[Diagnostic, ...] = ()


def rebuild(pdf: Pdf, pages: Sequence[Object], *, title: str) -> None:
    """Replace a file's pages and everything else of its catalogue.

    Layers and output intents of the catalogue are kept.
    """
    keep_pages(pdf, pages)
    for key in list(pdf.Root.keys()):
        if key not in {"/Type", "/Pages", "/OCProperties", "/OutputIntents"}:
            del pdf.Root[key]
    for key in ("/Info", "/ID"):
        if key in pdf.trailer:
            del pdf.trailer[key]
    pdf.trailer[Name.Info] = pdf.make_indirect(
        Dictionary(Title=title, Producer="inkaccord", Creator=f"inkaccord {__version__}")
    )


def keep_pages(pdf: Pdf, pages: Sequence[Object]) -> None:
    """Replace a file's pages alone, which is to be saved then: ``pdf.pages`` knows nothing of it.

    To take pages out one by one takes qpdf the longer the more there are.
    """
    pdf.Root[Name.Pages] = _page_tree(pdf, pages)


def save(pdf: Pdf, target: Path | io.BytesIO, **how: Any) -> None:
    """Write a file as pikepdf does, that fields are in no form of it left unsaid.

    Files of others come so, and pages by themselves have no form.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", PageCopyWarning)
        pdf.save(target, **how)


def save_rebuilt(pdf: Pdf, path: Path, *, pdf_version: str, compact: bool = True) -> None:
    """Write a rebuilt file, the same bytes every time.

    ``compact`` packs objects into streams where the version allows it: smaller, but slower where
    there are many forms.
    """
    packs = compact and pdf_version >= "1.5"
    save(
        pdf,
        path,
        force_version=pdf_version,
        deterministic_id=True,
        compress_streams=True,  # what is deflated already stays as it is
        recompress_flate=False,
        stream_decode_level=StreamDecodeLevel.none,
        object_stream_mode=ObjectStreamMode.generate if packs else ObjectStreamMode.disable,
        encryption=False,
    )


def save_drawn(pdf: Pdf) -> bytes:
    """Return a file whose pages were drawn on, with new streams packed."""
    out = io.BytesIO()
    save(pdf, out, deterministic_id=True)
    return out.getvalue()


def save_as_packed(pdf: Pdf, *, linearize: bool = True) -> bytes:
    """Return a changed file, with every stream copied as it is packed.

    A linearised file stays one, pages first for who looks at it over a network, unless
    ``linearize`` is off: what :func:`keep_pages` left can't be written so.
    """
    out = io.BytesIO()
    save(
        pdf,
        out,
        deterministic_id=True,
        fix_metadata_version=False,
        compress_streams=False,
        recompress_flate=False,
        stream_decode_level=StreamDecodeLevel.none,
        object_stream_mode=ObjectStreamMode.preserve,
        linearize=linearize and pdf.is_linearized,
    )
    return out.getvalue()


def finish(pdf: Pdf, pages: Sequence[Object], *, pdf_version: str, title: str) -> bytes:
    """Rebuild a file from pages and return its bytes."""
    rebuild(pdf, pages, title=title)
    with working_folder() as folder:
        path = folder / "pages.pdf"
        save_rebuilt(pdf, path, pdf_version=pdf_version)
        return path.read_bytes()


PageMould = Mapping[str, Object]
"""What pages of one look share: all boxes and the content stream."""


def page_mould(size: Size, trim: Box, bleed: Box, content: Object) -> PageMould:
    """Return what pages of one look share."""
    media = Box(0.0, 0.0, size.width_pt, size.height_pt)
    return {
        "/Type": Name.Page,
        "/MediaBox": _array(media),
        "/BleedBox": _array(bleed.common(media)),
        "/TrimBox": _array(trim.common(media)),
        "/Contents": content,
    }


def page_object(pdf: Pdf, mould: PageMould, forms: Mapping[str, Object] | Object) -> Object:
    """Return a page that draws forms by their names, or that has ready resources."""
    resources = forms if isinstance(forms, Object) else resources_of(forms)
    return pdf.make_indirect(Dictionary({**mould, "/Resources": resources}))


def resources_of(forms: Mapping[str, Object]) -> Dictionary:
    """Return page resources that name forms."""
    return Dictionary({"/XObject": Dictionary(dict(forms))})


def _array(box: Box) -> Array:
    return Array([round(edge, 4) for edge in box])


def _page_tree(pdf: Pdf, pages: Sequence[Object]) -> Object:
    """Return the root of a page tree with at most 100 kids a node."""
    level = list(pages)
    many = [1] * len(level)
    while True:
        nodes: list[Object] = []
        sums: list[int] = []
        for start in range(0, len(level), 100):
            kids = level[start : start + 100]
            count = sum(many[start : start + 100])
            node = pdf.make_indirect(Dictionary(Type=Name.Pages, Count=count, Kids=Array(kids)))
            for kid in kids:
                kid["/Parent"] = node
            nodes.append(node)
            sums.append(count)
        if len(nodes) == 1:
            return nodes[0]
        level, many = nodes, sums
