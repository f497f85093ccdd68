"""Page content and forms: taken as they stand, and written small."""

from pikepdf import Array, Dictionary, Name, Object, Pdf, Stream

from inkaccord.pdf.page_objects import content_streams
from inkaccord.pdf.streams import deflate

_LEVEL = 6
"""What we draw ourselves is short and packed once: the smaller file is worth the time."""


def content_of(pdf: Pdf, page: Object) -> tuple[Stream, bytes]:
    """Return a page's content as one stream, and the bytes that tell it from others."""
    contents = page.get("/Contents")
    if isinstance(contents, Stream):
        return contents, contents.read_raw_bytes()
    streams = content_streams(contents)
    if len(streams) == 1:
        return streams[0], streams[0].read_raw_bytes()
    joined = b"\n".join(part.read_bytes() for part in streams)
    return packed(pdf, joined), joined


def packed(pdf: Pdf, data: bytes, **entries: Object) -> Stream:
    """Return a compressed stream in a file."""
    stream = Stream(pdf, deflate(data, _LEVEL), Filter=Name.FlateDecode)
    for key, value in entries.items():
        stream[f"/{key}"] = value
    return stream


def blank_form(pdf: Pdf) -> Stream:
    """Return a form that paints nothing."""
    return packed(
        pdf, b"", Type=Name.XObject, Subtype=Name.Form, BBox=Array([0, 0, 1, 1]),
        Resources=Dictionary(),
    )  # fmt: skip


def copied(pdf: Pdf, content: Stream) -> Stream:
    """Return a stream's bytes and filters as a new stream."""
    copy = Stream(pdf, content.read_raw_bytes())
    for key in ("/Filter", "/DecodeParms"):
        if key in content:
            copy[key] = content[key]
    return copy


def numbers(*values: float) -> str:
    """Return numbers as a content stream writes them."""
    return " ".join(f"{value:.5f}".rstrip("0").rstrip(".") for value in values)
