"""One file for each page, for vendors that want one for each side."""

import io

from pikepdf import Pdf

from inkaccord.layout.writing import finish


def split_pages(data: bytes) -> list[bytes]:
    """Return every page of a PDF as a file of its own; the same bytes each time.

    Boxes, layers and output intents stay as they are.
    """
    with Pdf.open(io.BytesIO(data)) as whole:
        count, version = len(whole.pages), whole.pdf_version
        title = str(whole.docinfo.get("/Title", ""))
    parts = []
    for number in range(count):
        # Opened anew for each, since a page that is taken leaves its file.
        with Pdf.open(io.BytesIO(data)) as one:
            page = one.pages[number].obj
            parts.append(finish(one, [page], pdf_version=version, title=title))
    return parts
