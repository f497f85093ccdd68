"""Several files as one, and one as several, for vendors that want a whole order or single sides."""

from collections.abc import Sequence
from contextlib import ExitStack

from pikepdf import Object

from inkaccord.pdf.layers import merge_layers
from inkaccord.pdf.opening import open_artwork
from inkaccord.pdf.qpdf import opened
from inkaccord.pdf.writing import finish, keep_pages, save_drawn


def join_pages(files: Sequence[bytes], *, pdf_version: str, title: str) -> bytes:
    """Return the pages of all files in one, in turn; the same bytes each time.

    Every page keeps its own boxes, whatever the size of the others. Layers stay as visible as
    they were; output intents are those of the first file.
    """
    with ExitStack() as stack:
        pdfs = [stack.enter_context(opened(data)) for data in files]
        whole = pdfs[0]
        merge_layers(whole, pdfs)
        pages: list[Object] = [page.obj for page in whole.pages]
        for other in pdfs[1:]:
            for page in other.pages:
                del page.obj["/Parent"]  # else the whole tree would come along
                pages.append(whole.copy_foreign(page.obj))
        return finish(whole, pages, pdf_version=pdf_version, title=title)


def split_pages(data: bytes) -> list[bytes]:
    """Return every page of a PDF as a file of its own; the same bytes each time.

    Boxes, layers and output intents stay as they are.
    """
    with opened(data) as whole:
        version, title = whole.pdf_version, str(whole.docinfo.get("/Title", ""))
        parts = []
        for page in [page.obj for page in whole.pages]:
            above = page["/Parent"]
            parts.append(finish(whole, [page], pdf_version=version, title=title))
            page["/Parent"] = above  # where a link of another page may lead
        return parts


def first_pages(data: bytes, count: int) -> bytes:
    """Return a PDF with its first pages only. Raises FileError."""
    with open_artwork(data) as pdf:
        keep_pages(pdf, [page.obj for page in pdf.pages[:count]])
        return save_drawn(pdf)
