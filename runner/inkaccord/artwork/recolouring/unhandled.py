"""What a PDF can hold that recolouring leaves alone: found by looking, and reported.

``LEFT_ALONE`` is the list; the user guide repeats it, and a test shows each entry reported.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from typing import Any

import pikepdf

from inkaccord.pdf.colours.scope import Scope
from inkaccord.pdf.colours.space_reader import SpaceReader
from inkaccord.pdf.colours.spaces import SpaceKind
from inkaccord.pdf.entries import entry
from inkaccord.pdf.page_objects import alternate_images

LEFT_ALONE: dict[str, str] = {
    "attachment": "an attached file keeps its colours",
    "portfolio": "the file is a portfolio: the documents in it keep their colours",
    "xfa": "the form is drawn anew from XFA by some viewers, with its old colours",
    "rich-text": "the rich text of a form field names its own colours, which stay",
    "script": "a script in the file may set colours, which are not known",
    "media": "a 3D, film, sound or rich-media annotation keeps its colours",
    "private-data": "private data of the program that made the file keep the old colours",
    "transfer-function": "a transfer function alters colours after they are set; it stays",
    "halftone": "a halftone of its own stays as it is",
    "black-generation": "black generation or undercolour removal of its own stays as it is",
    "postscript": "a PostScript object cannot be looked into",
    "alternate-image": "a photograph that may show in the place of a picture stays as it is",
    "proxy-image": "an image stands for a file elsewhere (OPI), which keeps its colours",
    "other-document": "a form shows a page of another document, which keeps its colours",
    "many-ink-picture": "a picture in several inks keeps its samples; only its builds are new",
}
"""Code of the construct, and what is said about it."""

RECOLOURED = frozenset({SpaceKind.INDEXED, SpaceKind.SPOT, SpaceKind.DEVICEN})
"""Spaces in which a picture's colours are changed, where others hold photographs."""
_MEDIA = frozenset({"/3D", "/Movie", "/Sound", "/RichMedia", "/Screen"})


def in_document(pdf: pikepdf.Pdf) -> Iterator[str]:
    """Yield the codes of what the document as a whole holds."""
    root = pdf.Root
    names = entry(root, "/Names")
    if entry(names, "/EmbeddedFiles") is not None or entry(root, "/AF") is not None:
        yield "attachment"
    if entry(root, "/Collection") is not None:
        yield "portfolio"
    if entry(names, "/JavaScript") is not None or _is_script(entry(root, "/OpenAction")):
        yield "script"
    if entry(root, "/PieceInfo") is not None:
        yield "private-data"
    form = entry(root, "/AcroForm")
    if entry(form, "/XFA") is not None:
        yield "xfa"


def on_page(page: Any, annotations: Iterable[Any]) -> Iterator[str]:
    """Yield the codes of what a page and its annotations hold."""
    if entry(page, "/PieceInfo") is not None:
        yield "private-data"
    for annotation in annotations:
        kind = entry(annotation, "/Subtype")
        if kind == "/FileAttachment":
            yield "attachment"
        if kind is not None and str(kind) in _MEDIA:
            yield "media"
        if any(entry(annotation, key) is not None for key in ("/RC", "/RV")):
            yield "rich-text"
        if _is_script(entry(annotation, "/A")) or entry(annotation, "/AA") is not None:
            yield "script"


def in_resources(scope: Scope, spaces: SpaceReader, spots: Collection[str]) -> Iterator[str]:
    """Yield the codes of what stands in the resources of a content stream; these spots change."""
    for state in _values(scope, "/ExtGState"):
        for key in ("/TR", "/TR2"):
            value = entry(state, key)
            if value is not None and value not in ("/Identity", "/Default"):
                yield "transfer-function"
        if entry(state, "/HT") not in (None, "/Default"):
            yield "halftone"
        if any(
            entry(state, key) not in (None, "/Default") for key in ("/BG", "/BG2", "/UCR", "/UCR2")
        ):
            yield "black-generation"
    for one in _values(scope, "/XObject"):
        kind = entry(one, "/Subtype")
        if kind == "/PS" or entry(one, "/Subtype2") == "/PS":
            yield "postscript"
        if entry(one, "/OPI") is not None:
            yield "proxy-image"
        if entry(one, "/Ref") is not None:
            yield "other-document"
        if entry(one, "/PieceInfo") is not None:
            yield "private-data"
        if kind == "/Image":
            for other in alternate_images(one):
                space = spaces.read(entry(other, "/ColorSpace"), scope.resources)
                if space.kind not in RECOLOURED and not entry(other, "/ImageMask"):
                    yield "alternate-image"
            definition = entry(one, "/ColorSpace")
            if definition is not None:
                space = spaces.read(definition, scope.resources)
                if space.kind is SpaceKind.DEVICEN and not set(spots).isdisjoint(space.colorants):
                    yield "many-ink-picture"


def _is_script(action: Any) -> bool:
    return bool(entry(action, "/S") == "/JavaScript")


def _values(scope: Scope, category: str) -> list[Any]:
    table = entry(scope.resources, category)
    return [one for _, one in table.items()] if isinstance(table, pikepdf.Dictionary) else []
