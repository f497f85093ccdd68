"""Small artwork PDFs written by hand, and reading back what became of them."""

import io
from collections.abc import Callable, Sequence

import pikepdf

from inkaccord.artwork.proof.prove import CopyProof, prove
from inkaccord.artwork.recolouring.recolour import (
    RecolouredFile,
    RecolourOptions,
    Swap,
    parse_swap,
    recolour,
)
from page_kit import saved

Setup = Callable[[pikepdf.Pdf, pikepdf.Page], None]

TINT = "<< /FunctionType 2 /Domain [0 1] /C0 [0 0 0 0] /C1 [0.2 0.4 0.6 0.1] /N 1 >>"
KELP = f"[ /Separation /Kelp /DeviceCMYK {TINT} ]"
OLD, NEW = "cmyk 85 20 60 30", "cmyk 78 12 55 41"
OLD_K, NEW_K = b"0.85 0.2 0.6 0.3 k", b"0.78 0.12 0.55 0.41 k"


def parsed(text: str) -> pikepdf.Object:
    """Return an object from PDF syntax."""
    return pikepdf.Object.parse(text.encode())


def document(
    content: bytes | Sequence[bytes] = b"", resources: str = "<< >>", setup: Setup | None = None
) -> bytes:
    """Return a one-page PDF, 100 by 100 points; several contents make an array of streams."""
    with pikepdf.new() as pdf:
        page = pdf.add_blank_page(page_size=(100, 100))
        page.obj.Resources = parsed(resources)
        if isinstance(content, bytes):
            page.obj.Contents = pdf.make_stream(content)
        else:
            page.obj.Contents = pikepdf.Array([pdf.make_stream(one) for one in content])
        if setup is not None:
            setup(pdf, page)
        return saved(pdf)


def stream(pdf: pikepdf.Pdf, data: bytes, entries: str) -> pikepdf.Object:
    """Return a new stream with entries given in PDF syntax."""
    new = pdf.make_stream(data)
    for key, value in parsed(entries).items():
        new[key] = value
    return new


def form(pdf: pikepdf.Pdf, data: bytes, entries: str = "<< >>") -> pikepdf.Object:
    """Return a form XObject that covers the page."""
    new = stream(pdf, data, "<< /Type /XObject /Subtype /Form /BBox [0 0 100 100] >>")
    for key, value in parsed(entries).items():
        new[key] = value
    return new


def resource(page: pikepdf.Page, category: str, name: str, thing: pikepdf.Object) -> None:
    """Add a named resource to a page."""
    resources = page.obj.Resources
    if category not in resources:
        resources[category] = pikepdf.Dictionary()
    resources[category][name] = thing


def swaps(*texts: str) -> list[Swap]:
    """Return swaps from their texts."""
    return [parse_swap(text) for text in texts]


def opened(result: RecolouredFile) -> pikepdf.Pdf:
    """Return the recoloured file, open."""
    return pikepdf.open(io.BytesIO(result.data))


def content_of(data: bytes, number: int = 0) -> bytes:
    """Return a page's content."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        contents = pdf.pages[number].obj.Contents
        if isinstance(contents, pikepdf.Array):
            return b"\n".join(bytes(one.read_bytes()) for one in contents)
        return bytes(contents.read_bytes())


def codes(result: RecolouredFile) -> set[str]:
    """Return the codes of the findings."""
    return {finding.code for finding in result.findings}


def proven(
    source: bytes,
    *texts: str | Swap,
    options: RecolourOptions | None = None,
    render: bool = False,
) -> RecolouredFile:
    """Recolour, and fail unless the proof holds."""
    wanted = [parse_swap(one) if isinstance(one, str) else one for one in texts]
    result = recolour(source, wanted, options=options)
    proof = prove(source, result.data, wanted, options, render=render)
    assert proof.passed, failures(proof)
    return result


def failures(proof: CopyProof) -> list[str]:
    """Return what a proof says is wrong."""
    return [*proof.inventory.details, *proof.structure.details, *proof.rendering.details]
