"""PDF/X-4 (ISO 15930-7), condition by condition.

The standard itself was not at hand. ``docs/artwork-checks.md`` says for each condition which text
that could be read bears it out, which are from memory alone, and what is left out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pikepdf

from inkaccord.artwork.preflight.case import OpenArtwork, PreflightContext
from inkaccord.artwork.preflight.rules import ArtworkRules
from inkaccord.diagnostics import Diagnostic, error
from inkaccord.pdf.colours.colours import ColourKind
from inkaccord.pdf.entries import BAD_OBJECT, entry
from inkaccord.pdf.opening import version_of
from inkaccord.pdf.page_objects import rectangle_of
from inkaccord.sizes import Box

VIEW_AREAS = ("/ViewArea", "/ViewClip", "/PrintArea", "/PrintClip")
PDFX_VERSION = "{http://www.npes.org/pdfx/ns/id/}GTS_PDFXVersion"
_PRINTER_ANNOTATIONS = {"/TrapNet", "/PrinterMark"}
_REQUIRED_XMP = (
    ("{http://purl.org/dc/elements/1.1/}title", "a title"),
    ("{http://ns.adobe.com/xap/1.0/}CreateDate", "a creation date"),
    ("{http://ns.adobe.com/xap/1.0/}ModifyDate", "a modification date"),
    ("{http://ns.adobe.com/xap/1.0/}MetadataDate", "a metadata date"),
    ("{http://ns.adobe.com/xap/1.0/mm/}DocumentID", "a document ID"),
    ("{http://ns.adobe.com/xap/1.0/mm/}VersionID", "a version ID"),
    ("{http://ns.adobe.com/xap/1.0/mm/}RenditionClass", "a rendition class"),
    ("{http://ns.adobe.com/pdf/1.3/}Trapped", "whether it is trapped"),
)
_EXPORT = "export as PDF/X-4, or leave this to the print file that is made of it"


def check_pdfx(
    artwork: OpenArtwork, rules: ArtworkRules, _: PreflightContext
) -> Iterator[Diagnostic]:
    """Every condition below, where the vendor asks for PDF/X-4."""
    if rules.standard == "pdf/x-4":
        for condition in CONDITIONS:
            yield from condition(artwork)


def _wrong(artwork: OpenArtwork, code: str, message: str, **place: Any) -> Diagnostic:
    return error(code, f"PDF/X-4: {message}", place=artwork.place(**place), in_program=_EXPORT)


def version(artwork: OpenArtwork) -> Iterator[Diagnostic]:
    """``pdfx-pdf-version``: PDF 1.6 or lower."""
    major, minor = version_of(artwork.pdf)
    if (major, minor) > (1, 6):
        yield _wrong(artwork, "pdfx-pdf-version", f"the file is PDF {major}.{minor}, above 1.6")


def encryption(artwork: OpenArtwork) -> Iterator[Diagnostic]:
    """``pdfx-encrypted``: no encryption."""
    if artwork.pdf.is_encrypted:
        yield _wrong(artwork, "pdfx-encrypted", "the file is encrypted")


def file_id(artwork: OpenArtwork) -> Iterator[Diagnostic]:
    """``pdfx-id``: the trailer has an ID."""
    if "/ID" not in artwork.pdf.trailer:
        yield _wrong(artwork, "pdfx-id", "the trailer has no ID")


def trapped(artwork: OpenArtwork) -> Iterator[Diagnostic]:
    """``pdfx-trapped``: Trapped says True or False."""
    info = artwork.pdf.trailer.get("/Info")
    stated = info.get("/Trapped") if isinstance(info, pikepdf.Dictionary) else None
    if str(stated) not in {"/True", "/False"}:
        yield _wrong(artwork, "pdfx-trapped", "Trapped is neither True nor False")


def metadata(artwork: OpenArtwork) -> Iterator[Diagnostic]:
    """``pdfx-metadata``: XMP that names PDF/X-4, with title, dates and IDs."""
    if "/Metadata" not in artwork.pdf.Root:
        yield _wrong(artwork, "pdfx-metadata", "the file has no XMP metadata")
        return
    try:
        xmp = artwork.pdf.open_metadata()
        if xmp.get(PDFX_VERSION) != "PDF/X-4":
            yield _wrong(
                artwork,
                "pdfx-metadata",
                f"pdfxid:GTS_PDFXVersion is {xmp.get(PDFX_VERSION)!r}, expected 'PDF/X-4'",
            )
        for key, what in _REQUIRED_XMP:
            if not xmp.get(key):
                yield _wrong(artwork, "pdfx-metadata", f"the XMP metadata lack {what}")
    except BAD_OBJECT as problem:
        yield _wrong(artwork, "pdfx-metadata", f"the XMP metadata cannot be read: {problem}")


def intents_of(pdf: pikepdf.Pdf) -> list[pikepdf.Dictionary]:
    """Return the output intents that are for PDF/X."""
    found = pdf.Root.get("/OutputIntents")
    if not isinstance(found, pikepdf.Array):
        return []
    return [
        intent
        for intent in found
        if isinstance(intent, pikepdf.Dictionary) and str(intent.get("/S")) == "/GTS_PDFX"
    ]


def output_profile(pdf: pikepdf.Pdf) -> bytes:
    """Return the embedded profile of the PDF/X output intent, or nothing."""
    for intent in intents_of(pdf):
        profile = intent.get("/DestOutputProfile")
        if isinstance(profile, pikepdf.Stream):
            try:
                return bytes(profile.read_bytes())
            except pikepdf.PdfError:
                return b""
    return b""


def output_intent(artwork: OpenArtwork) -> Iterator[Diagnostic]:
    """``pdfx-output-intent``: one PDF/X intent, named, with the profile of an output device."""
    intents = intents_of(artwork.pdf)
    if len(intents) != 1:
        yield _wrong(
            artwork, "pdfx-output-intent", f"{len(intents)} PDF/X output intents, expected one"
        )
        return
    if not str(intents[0].get("/OutputConditionIdentifier", "")).strip():
        yield _wrong(artwork, "pdfx-output-intent", "the output intent names no condition")
    profile = output_profile(artwork.pdf)
    if not profile:
        yield _wrong(artwork, "pdfx-output-intent", "the output intent embeds no profile")
    elif profile[36:40] != b"acsp" or profile[12:16] != b"prtr":
        yield _wrong(
            artwork, "pdfx-output-intent", "the output intent's profile is not of an output device"
        )


def boxes(artwork: OpenArtwork) -> Iterator[Diagnostic]:
    """``pdfx-boxes``: a TrimBox or an ArtBox on every page, not both, each within the next."""
    for number, found in artwork.pages():
        stated = set(found.stated)
        if not {"trim", "art"} & stated:
            yield _wrong(artwork, "pdfx-boxes", "neither TrimBox nor ArtBox", page=number)
        if {"trim", "art"} <= stated:
            yield _wrong(artwork, "pdfx-boxes", "both TrimBox and ArtBox", page=number)
        raw = dict(found.raw)
        inner: Box | None = raw.get("trim", raw.get("art"))
        for outer in ("bleed", "crop", "media"):
            outside = raw.get(outer)
            if inner is not None and outside is not None and not outside.holds(inner):
                yield _wrong(
                    artwork,
                    "pdfx-boxes",
                    f"the trim or art box reaches out of the {outer} box",
                    page=number,
                    box=inner,
                )
        bleed = raw.get("bleed")
        if bleed is not None and not found.media.holds(bleed):
            yield _wrong(
                artwork, "pdfx-boxes", "the bleed box reaches out of the media box", page=number
            )


def fonts(artwork: OpenArtwork) -> Iterator[Diagnostic]:
    """``pdfx-fonts``: every font that is shown is embedded."""
    told = set()
    for mark in artwork.marks:
        face = mark.typeface
        if face is not None and not face.embedded and face.name not in told:
            told.add(face.name)
            yield _wrong(
                artwork, "pdfx-fonts", f"the font {face.name} is not embedded",
                page=mark.page, box=mark.box,
            )  # fmt: skip


def actions(artwork: OpenArtwork) -> Iterator[Diagnostic]:
    """``pdfx-actions``: no JavaScript and no actions."""
    root = artwork.pdf.Root
    names = root.get("/Names")
    if isinstance(names, pikepdf.Dictionary) and "/JavaScript" in names:
        yield _wrong(artwork, "pdfx-actions", "the file holds JavaScript")
    opening = root.get("/OpenAction")
    if isinstance(opening, pikepdf.Dictionary) or "/AA" in root:
        yield _wrong(artwork, "pdfx-actions", "an action runs when the file is opened")
    for number, page in artwork.file.pages():
        if "/AA" in page.obj:
            yield _wrong(artwork, "pdfx-actions", "the page holds an action", page=number)


def annotations_on_page(artwork: OpenArtwork) -> Iterator[Diagnostic]:
    """``pdfx-annotations``: notes, links and form fields only outside the bleed."""
    for number, page, found in artwork.open_pages():
        entries = page.obj.get("/Annots")
        for note in entries if isinstance(entries, pikepdf.Array) else ():
            if not isinstance(note, pikepdf.Dictionary):
                continue
            box = rectangle_of(note.get("/Rect"))
            kind = str(note.get("/Subtype"))
            if box is None or kind in _PRINTER_ANNOTATIONS:
                continue
            unit = found.user_unit
            place = Box.of((box[0] * unit, box[1] * unit, box[2] * unit, box[3] * unit))
            if place.meets(found.bleed):
                yield _wrong(
                    artwork, "pdfx-annotations", f"an annotation ({kind[1:]}) lies on the page",
                    page=number, box=place,
                )  # fmt: skip
                break


def objects(artwork: OpenArtwork) -> Iterator[Diagnostic]:
    """``pdfx-objects``: no PostScript objects, alternate images, OPI links, transfer curves."""
    told: set[str] = set()
    for thing in artwork.pdf.objects:
        try:
            what = _forbidden(thing)
        except BAD_OBJECT:
            continue
        if what is not None and what not in told:
            told.add(what)
            yield _wrong(artwork, "pdfx-objects", f"the file holds {what}")


def _forbidden(thing: Any) -> str | None:
    if isinstance(thing, pikepdf.Stream):
        if str(thing.get("/Subtype")) == "/PS" or str(thing.get("/Subtype2")) == "/PS":
            return "a PostScript object"
        if "/Alternates" in thing:
            return "an image with alternates"
        if "/OPI" in thing:
            return "an OPI link"
        if "/Ref" in thing and str(thing.get("/Subtype")) == "/Form":
            return "a reference to a page of another file"
    if isinstance(thing, pikepdf.Dictionary):
        for key in ("/TR", "/TR2"):
            if key in thing and _is_state(thing) and str(thing[key]) not in {"/Default"}:
                return "a transfer curve"
    return None


def _is_state(thing: Any) -> bool:
    return str(thing.get("/Type", "/ExtGState")) == "/ExtGState"


def colours(artwork: OpenArtwork) -> Iterator[Diagnostic]:
    """``pdfx-colour``: device colour only of the family that the output intent has."""
    family = output_profile(artwork.pdf)[16:20]
    if not family:
        return  # the missing profile is a finding already
    own = {
        b"CMYK": {ColourKind.CMYK, ColourKind.GRAY},
        b"RGB ": {ColourKind.RGB, ColourKind.GRAY},
        b"GRAY": {ColourKind.GRAY},
    }.get(family, set())
    told: set[ColourKind] = set()
    for mark in artwork.strict_marks():
        kinds = {part.kind for part in (mark.colour, *mark.colour.parts)}
        if mark.picture is not None:
            kinds = {kind for kind in ColourKind if str(kind) == mark.picture.pixel_space}
        for kind in kinds & {ColourKind.CMYK, ColourKind.RGB, ColourKind.GRAY} - own - told:
            told.add(kind)
            yield _wrong(
                artwork,
                "pdfx-colour",
                f"colour of the kind {kind} ({mark.colour}) needs an output intent of that kind",
                page=mark.page,
                box=mark.box,
            )


def blending(artwork: OpenArtwork) -> Iterator[Diagnostic]:
    """``pdfx-colour``: groups blend in device colour only of the output intent's family."""
    family = output_profile(artwork.pdf)[16:20]
    if not family:
        return
    allowed = {
        b"CMYK": {"/DeviceCMYK", "/DeviceGray"},
        b"RGB ": {"/DeviceRGB"},
        b"GRAY": {"/DeviceGray"},
    }.get(family, set())
    told: set[str] = set()
    for thing in artwork.pdf.objects:
        space = entry(entry(thing, "/Group"), "/CS")
        name = str(space) if isinstance(space, pikepdf.Name) else ""
        if name.startswith("/Device") and name not in allowed | told:
            told.add(name)
            yield _wrong(
                artwork,
                "pdfx-colour",
                f"a transparency group blends in {name[1:]}, the output intent is of another kind",
            )


def view_areas(artwork: OpenArtwork) -> Iterator[Diagnostic]:
    """``pdfx-view-areas``: what a viewer shows and prints is the media or the bleed box."""
    preferences = artwork.pdf.Root.get("/ViewerPreferences")
    for key in VIEW_AREAS:
        named = entry(preferences, key)
        if named is not None and str(named) not in {"/MediaBox", "/BleedBox"}:
            yield _wrong(artwork, "pdfx-view-areas", f"{key[1:]} is {str(named)[1:]}")


def layers(artwork: OpenArtwork) -> Iterator[Diagnostic]:
    """``pdfx-layers``: layer settings have names, and none switches itself by use."""
    properties = artwork.pdf.Root.get("/OCProperties")
    if not isinstance(properties, pikepdf.Dictionary):
        return
    settings: list[Any] = [properties.get("/D")]
    more = properties.get("/Configs")
    if isinstance(more, pikepdf.Array):
        settings += list(more)
    for one in settings:
        if not isinstance(one, pikepdf.Dictionary):
            continue
        if "/AS" in one:
            yield _wrong(artwork, "pdfx-layers", "a layer setting switches layers by use (AS)")
        if not str(one.get("/Name", "")).strip():
            yield _wrong(artwork, "pdfx-layers", "a layer setting has no name")


CONDITIONS: tuple[Callable[[OpenArtwork], Iterator[Diagnostic]], ...] = (
    version, encryption, file_id, trapped, metadata, output_intent, boxes, fonts, actions,
    annotations_on_page, objects, colours, blending, view_areas, layers,
)  # fmt: skip
"""Every condition that is checked."""
