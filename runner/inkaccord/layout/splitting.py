"""One file for each page, for vendors that want one for each side."""

import io

import pikepdf


def split_pages(data: bytes) -> list[bytes]:
    """Return every page of a PDF as a file of its own, boxes and all; the same bytes each time."""
    parts = []
    with pikepdf.open(io.BytesIO(data)) as whole:
        version = whole.pdf_version
        for page in whole.pages:
            with pikepdf.new() as one:
                one.pages.append(page)
                for key in ("/Title", "/Producer", "/Creator"):
                    if key in whole.docinfo:
                        one.docinfo[key] = str(whole.docinfo[key])
                out = io.BytesIO()
                one.save(out, deterministic_id=True, force_version=version)
                parts.append(out.getvalue())
    return parts
