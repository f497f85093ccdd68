"""Make a file PDF/X-4 (ISO 15930-7), as far as that can be done without touching what prints.

Added or set: output intent with its profile, XMP and document information, ID, boxes, version.
Taken out: scripts, actions, automatic layer switching. Nothing that prints is changed, so fonts
that are missing, RGB under a CMYK intent, annotations on the page or transfer curves remain, and
are reported by the same conditions that check a finished file.
"""

from __future__ import annotations

import io
import uuid
from datetime import datetime
from pathlib import Path

import pikepdf

from inkaccord.artwork.preflight import ArtworkRules, preflight
from inkaccord.artwork.preflight.pdfx import PDFX_VERSION, VIEW_AREAS, check_pdfx
from inkaccord.diagnostics import Diagnostic, Place, error
from inkaccord.errors import FileError
from inkaccord.files import read_bytes, sha256_of
from inkaccord.models import Frozen
from inkaccord.pdf.boxes import page_boxes
from inkaccord.pdf.entries import entry
from inkaccord.pdf.opening import open_artwork
from inkaccord.pdf.writing import save

_CHANNELS = {b"GRAY": 1, b"RGB ": 3, b"CMYK": 4}
_VERSION = "1.6"
_REGISTRY = "http://www.color.org"


class PdfxSettings(Frozen):
    """What a PDF/X-4 file says about itself.

    ``condition`` is the name of the printing condition, as registered with the International
    Color Consortium or as the vendor calls it. ``when`` is the date that the file carries.
    """

    condition: str
    condition_info: str = ""
    title: str
    when: datetime
    trapped: bool = False


def make_pdfx4(
    source: Path | bytes,
    settings: PdfxSettings,
    *,
    profile: Path | bytes | None,
    name: str | None = None,
) -> tuple[bytes, tuple[Diagnostic, ...]]:
    """Return a file as PDF/X-4, and what still keeps it from being one.

    Parameters
    ----------
    source
        The PDF.
    settings
        Condition, title, date.
    profile
        The ICC profile of the condition. Without one the file names its condition only, which
        PDF/X-4 does not allow: that is a finding.
    name
        What to call the file in findings.

    Returns
    -------
    bytes
        The same bytes for the same input.
    tuple of Diagnostic
        Empty when every checked condition is met.

    Raises
    ------
    FileError
        When the file cannot be opened, or the profile is none of an output device.
    """
    data = profile if isinstance(profile, bytes | None) else read_bytes(profile)
    if data is not None:
        _check_profile(data, profile)
    with open_artwork(source, name=name, changing=True) as pdf:
        _intent(pdf, settings, data)
        _quieten(pdf)
        for page in pdf.pages:
            _boxes(page)
        _describe(pdf, settings, _identity(source, settings))
        out = io.BytesIO()
        save(
            pdf,
            out,
            force_version=_VERSION,
            deterministic_id=True,
            object_stream_mode=pikepdf.ObjectStreamMode.generate,
            encryption=False,
        )
    done = out.getvalue()
    left = preflight(done, ArtworkRules(standard="pdf/x-4"), checks=(check_pdfx,), name=name)
    return done, left


def _check_profile(data: bytes, given: Path | bytes | None) -> None:
    if data[36:40] == b"acsp" and data[12:16] == b"prtr" and data[16:20] in _CHANNELS:
        return
    where = Place(file=str(given)) if isinstance(given, Path) else Place()
    raise FileError(
        error(
            "bad-output-profile",
            "this is not the ICC profile of an output device in gray, RGB or CMYK",
            place=where,
            hint="give the profile of the printing condition that the vendor names",
        )
    )


def _identity(source: Path | bytes, settings: PdfxSettings) -> str:
    data = source if isinstance(source, bytes) else read_bytes(source)
    return str(uuid.uuid5(uuid.NAMESPACE_OID, f"{sha256_of(data)} {settings.condition}"))


def _intent(pdf: pikepdf.Pdf, settings: PdfxSettings, profile: bytes | None) -> None:
    intent = pikepdf.Dictionary(
        Type=pikepdf.Name.OutputIntent,
        S=pikepdf.Name.GTS_PDFX,
        OutputConditionIdentifier=pikepdf.String(settings.condition),
        RegistryName=pikepdf.String(_REGISTRY),
        Info=pikepdf.String(settings.condition_info or settings.condition),
    )
    if profile is not None:
        stream = pdf.make_stream(profile, N=_CHANNELS[profile[16:20]])
        intent["/DestOutputProfile"] = pdf.make_indirect(stream)
    others = pdf.Root.get("/OutputIntents")
    kept = [
        one
        for one in (others if isinstance(others, pikepdf.Array) else ())
        if isinstance(one, pikepdf.Dictionary) and str(one.get("/S")) != "/GTS_PDFX"
    ]
    pdf.Root["/OutputIntents"] = pikepdf.Array([*kept, pdf.make_indirect(intent)])


def _quieten(pdf: pikepdf.Pdf) -> None:
    """Take out what runs by itself: scripts, actions, layers that switch by use; and a version."""
    root = pdf.Root
    for key in ("/OpenAction", "/AA", "/Version"):  # the header says the version
        if key in root:
            del root[key]
    preferences = root.get("/ViewerPreferences")
    if isinstance(preferences, pikepdf.Dictionary):
        for key in VIEW_AREAS:
            if str(entry(preferences, key)) not in {"None", "/MediaBox", "/BleedBox"}:
                del preferences[key]
    names = root.get("/Names")
    if isinstance(names, pikepdf.Dictionary) and "/JavaScript" in names:
        del names["/JavaScript"]
    for page in pdf.pages:
        if "/AA" in page.obj:
            del page.obj["/AA"]
    properties = root.get("/OCProperties")
    if not isinstance(properties, pikepdf.Dictionary):
        return
    more = properties.get("/Configs")
    settings = [properties.get("/D"), *(more if isinstance(more, pikepdf.Array) else ())]
    for number, one in enumerate(settings, start=1):
        if isinstance(one, pikepdf.Dictionary):
            if "/AS" in one:
                del one["/AS"]
            if not str(one.get("/Name", "")).strip():
                one["/Name"] = pikepdf.String(f"Layers {number}")


def _boxes(page: pikepdf.Page) -> None:
    """State a TrimBox, no ArtBox beside it, and a BleedBox, each within the media."""
    try:
        found = page_boxes(page)
    except FileError:
        return  # the conditions will name the page
    node = page.obj
    trim = found.art if "art" in found.stated and "trim" not in found.stated else found.trim
    if "/ArtBox" in node:
        del node["/ArtBox"]
    bleed = found.bleed if found.bleed.holds(trim) else trim
    for key, box in (("/TrimBox", trim), ("/BleedBox", bleed)):
        node[key] = pikepdf.Array([round(c / found.user_unit, 5) for c in box])
    if "/CropBox" in node and not found.crop.holds(bleed):
        del node["/CropBox"]


def _describe(pdf: pikepdf.Pdf, settings: PdfxSettings, identity: str) -> None:
    stamp = settings.when.strftime("%Y-%m-%dT%H:%M:%S+00:00")
    pdf_date = settings.when.strftime("D:%Y%m%d%H%M%S+00'00'")
    info = pdf.docinfo
    info["/Title"] = pikepdf.String(settings.title)
    info["/CreationDate"] = info["/ModDate"] = pikepdf.String(pdf_date)
    info["/Trapped"] = pikepdf.Name("/True" if settings.trapped else "/False")
    with pdf.open_metadata(set_pikepdf_as_editor=False, update_docinfo=False) as xmp:
        xmp[PDFX_VERSION] = "PDF/X-4"
        xmp["dc:title"] = settings.title
        if not xmp.get("xmp:CreatorTool"):
            xmp["xmp:CreatorTool"] = str(info.get("/Creator", "inkaccord"))
        for key in ("xmp:CreateDate", "xmp:ModifyDate", "xmp:MetadataDate"):
            xmp[key] = stamp
        xmp["xmpMM:DocumentID"] = f"uuid:{identity}"
        xmp["xmpMM:VersionID"] = "1"
        xmp["xmpMM:RenditionClass"] = "default"
        xmp["pdf:Trapped"] = "True" if settings.trapped else "False"
