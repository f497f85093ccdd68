"""What to do about a finding in a design program, by kind of program: one table for all findings.

A check says what is wrong; this says where it is mended. The kind is known from what the file says
of the program that made it; where it says nothing known, the words are general.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum

import pikepdf

from inkaccord.diagnostics import Diagnostic
from inkaccord.pdf.entries import entry


class ProgramKind(StrEnum):
    """What kind of program wrote a file."""

    VECTOR = "vector editor"
    LAYOUT = "layout program"
    OFFICE = "office suite"
    TYPESETTER = "typesetter"
    WEB = "web page to PDF"
    UNKNOWN = "unknown"


_WRITTEN: tuple[tuple[str, ProgramKind], ...] = (
    ("inkscape", ProgramKind.VECTOR),
    ("scribus", ProgramKind.LAYOUT),
    ("libreoffice", ProgramKind.OFFICE),
    ("openoffice", ProgramKind.OFFICE),
    ("pdftex", ProgramKind.TYPESETTER),
    ("luatex", ProgramKind.TYPESETTER),
    ("xetex", ProgramKind.TYPESETTER),
    ("latex", ProgramKind.TYPESETTER),
    ("typst", ProgramKind.TYPESETTER),
    ("weasyprint", ProgramKind.WEB),
    ("chromium", ProgramKind.WEB),
    ("skia/pdf", ProgramKind.WEB),
)
"""Words of open-source programs in a file's Creator or Producer; the first found counts."""


def program_kind(pdf: pikepdf.Pdf) -> ProgramKind:
    """Return the kind of program that made an open file, by what the file says of it."""
    info = pdf.trailer.get("/Info")
    for key in ("/Creator", "/Producer"):
        said = entry(info, key)
        text = str(said).casefold() if isinstance(said, pikepdf.String) else ""
        if text == "tex":
            return ProgramKind.TYPESETTER
        for word, kind in _WRITTEN:
            if word in text:
                return kind
    return ProgramKind.UNKNOWN


@dataclass(frozen=True, slots=True)
class Advice:
    """What to do about one code."""

    general: str
    by_kind: Mapping[ProgramKind, str] = field(default_factory=dict)
    order: str = ""
    """What the order can do instead, with the field to set."""
    command: str = ""
    """What the command that recolours one file can do instead, where there is no order."""

    def words(self, kind: ProgramKind, *, in_order: bool) -> str:
        """Return the hint for a kind of program, in an order or for the command."""
        known = self.by_kind.get(kind)
        first = f"in the {_NAMES[kind]}: {known}" if known else self.general
        return "; ".join(filter(None, (first, self.order if in_order else self.command)))


_NAMES = {
    ProgramKind.VECTOR: "vector editor",
    ProgramKind.LAYOUT: "layout program",
    ProgramKind.OFFICE: "office suite",
    ProgramKind.TYPESETTER: "typesetter's source",
    ProgramKind.WEB: "web page's style sheet",
}
_V, _L, _O, _T, _W = (
    ProgramKind.VECTOR, ProgramKind.LAYOUT, ProgramKind.OFFICE, ProgramKind.TYPESETTER,
    ProgramKind.WEB,
)  # fmt: skip

_NO_SPOT = Advice(
    "make the colour a process colour (untick 'spot' for it in the list of colours), or give this "
    "object another colour, and export again",
    {_L: "untick 'spot' for this colour in the list of swatches, and export again"},
    order="or let the vendor keep spots, if it prints that ink",
    command="or keep spots: '--keep-spots'",
)

ADVICE: Mapping[str, Advice] = {
    "no-bleed": Advice(
        "draw the colour on past the cut and export with bleed",
        {
            _V: "make the page larger by the bleed on each side, and draw the colour to its edge",
            _L: "give the document bleed, draw the colour out to its edge, and export with the "
            "document's bleed",
            _O: "set a page size larger by the bleed on each side, and draw to its edge",
            _T: "set a paper size larger by the bleed on each side, and draw to its edge",
            _W: "give '@page' bleed, and let the colour run past the page",
        },
        order="or set 'bleed_repair: mirror' on the piece",
    ),
    "bleed-not-filled": Advice(
        "draw the colour on to the edge of the bleed",
        {_L: "pull the frame out to the edge of the document's bleed"},
        order="or set 'bleed_repair: mirror' on the piece",
    ),
    "font-not-embedded": Advice(
        "export with all fonts embedded, or convert this type to outlines",
        {
            _V: "export with 'embed fonts', or convert this text to paths",
            _L: "embed this font on export, or convert this text to outlines",
            _O: "choose a font that may be embedded, and export with all fonts",
            _T: "set it in a font that the program embeds, such as an OpenType one",
        },
    ),
    "hairline": Advice(
        "make it thicker: what a screen shows as a line may not print at all",
        {
            _V: "give the stroke a width; 'hairline' or 0 prints as thin as the device can",
            _L: "give the line a width; 'hairline' or 0 prints as thin as the device can",
            _O: "give the line a width of its own: 0 means as thin as the device can",
            _T: "give the rule or path a width of its own",
        },
        order="the limit is 'line' in the vendor's 'artwork'",
    ),
    "thin-line-several-inks": Advice(
        "make it thicker, or give it a colour of one ink",
        order="the limit is 'multi_ink_line' in the vendor's 'artwork'",
    ),
    "small-type-several-inks": Advice(
        "set it larger or bolder, or in a colour of one ink, such as black alone",
        order="the limit is 'multi_ink_type' in the vendor's 'artwork'",
    ),
    "small-reversed-type": Advice(
        "set it larger or bolder, or on a ground of one ink",
        order="the limit is 'reversed_type' in the vendor's 'artwork'",
    ),
    "rich-black-type": Advice(
        "set it in black alone: cmyk 0 0 0 100",
        {
            _V: "set the text in black, cmyk 0 0 0 100 where the program has it, else plain rgb "
            "0 0 0, and export without conversion",
            _L: "set the text in the swatch of plain black, not in rich or registration black",
            _O: "set the text in plain black, rgb 0 0 0",
            _T: "set the text in black by cmyk 0 0 0 100, or in gray 0",
        },
    ),
    "image-resolution": Advice(
        "place a larger original, or print it smaller",
        {
            _V: "link or embed the original picture, not a copy from a screen, or make it smaller",
            _L: "update the frame with a larger original, make it smaller, and export pictures "
            "without reducing them",
            _O: "insert the original picture, and export it lossless, without reducing resolution",
            _T: "include a larger original, or at a smaller width",
            _W: "put a larger original into the page, at the same size in millimetres",
        },
        order="the limit is 'image_dpi' in the vendor's 'artwork'",
    ),
    "total-ink": Advice(
        "give what stands there a colour of less ink, or switch off the overprint that adds up "
        "there; prepare a picture for less ink",
        {
            _V: "make the colour there lighter, or take one of two shapes that are multiplied away",
            _L: "give the swatch that is used there less of each ink, or switch off the overprint "
            "that adds up there; convert a picture to a profile with less ink",
            _O: "make the colour or the picture there lighter: the program has no inks to set",
            _T: "give the colour there less of each ink",
        },
        order="a brand colour gets a build within the limit by itself when it stands under "
        "'colours'; the limit is the device's 'ink_limit'",
    ),
    "white-overprint": Advice(
        "switch overprint off for it, so that it knocks out",
        {_L: "take 'overprint' off the attributes of the white object and of its swatch"},
    ),
    "registration-colour": Advice(
        "give it black or a colour of its own",
        {_L: "give it black or another swatch; 'registration' is for marks only"},
    ),
    "marks-in-bleed": Advice(
        "export without crop marks, or farther out: whoever prints it sets marks of their own",
        {
            _V: "delete the marks from the drawing: whoever prints it sets marks of their own",
            _L: "export without printer's marks, or with an offset of at least the bleed",
            _W: "take 'marks: crop' from '@page', or make its bleed larger",
        },
    ),
    "transparency": Advice(
        "flatten transparency on export",
        {
            _V: "export as PDF 1.3 or in an older version that has no transparency, or draw it "
            "without opacity and blur",
            _L: "export as PDF 1.3, PDF/X-1a or PDF/X-3, which flatten transparency",
            _O: "draw it without transparency and shadows",
            _T: "draw it without opacity",
            _W: "draw it without opacity and shadows",
        },
        order="or set 'transparency: true' in the vendor's 'pdf' if it takes it after all",
    ),
    "hidden-layer": Advice(
        "delete the layer from the artwork if it must not print",
        {_L: "export only visible and printable layers, or delete this one"},
    ),
    "layers": Advice(
        "export without layers",
        {_L: "leave 'layers in the PDF' off on export"},
        order="or set 'layers: keep' in the vendor's 'pdf'",
    ),
    "encrypted": Advice("save it without protection or password"),
    # -- what recolouring finds
    "mixed-kinds": Advice(
        "give the object plain colours of one kind, CMYK or RGB, all of them named",
        order="say what the other colours become, too, under 'colours': on a pair that has been "
        "read it finds their builds by itself",
        command="say what the other colours become, too, by one more '--swap' each",
    ),
    "near-miss": Advice(
        "choose the colour anew where it is used",
        {
            _V: "set fill or stroke to the brand colour's own numbers",
            _L: "give the object the brand colour's swatch, and delete the other",
            _O: "set the area or font to the brand colour's own numbers",
            _T: "use the brand colour's definition, not numbers of their own",
            _W: "use one value for the brand colour throughout",
        },
        order="or add it to the colour's 'in_artwork', or widen its 'within'",
        command="or raise the tolerance, or name it in a '--swap' of its own",
    ),
    "inks-not-rewritten": Advice(
        "make the object in the spot alone, or in process colour",
        {
            _V: "give the object one spot, or CMYK, without a blend or gradient between spots",
            _L: "give it one spot or a process swatch: untick 'spot' for one of its colours",
        },
    ),
    "inks-stay": _NO_SPOT,
    "spot-image": _NO_SPOT,
    "plate-left": _NO_SPOT,
    "overprint-changes": Advice(
        "set overprint to off for these objects",
        {_L: "take 'overprint' off the attributes of these objects and of their swatch"},
    ),
    "left-alone": Advice("take it out of the artwork, or see to it by hand"),
    "default-space": Advice("export again without profiles for plain colours"),
    "profiled-colour": Advice(
        "export it as plain colour, without a profile",
        {
            _L: "export with colours unchanged, no profile for solid colours",
            _O: "export as plain PDF, not as PDF/A, which attaches a profile",
            _T: "turn off the standard or package that attaches a profile",
        },
        order="or, where its numbers were typed as they stand, give the order 'profiled: plain'",
        command="or, where its numbers were typed as they stand: '--profiled plain'",
    ),
    "photograph-kept": Advice(
        "give the picture plain CMYK or RGB, or convert it to what this vendor prints",
        {
            _V: "embed it as a plain RGB picture",
            _L: "place it in plain CMYK or RGB, and export pictures without a profile",
            _O: "insert it as a plain JPEG or PNG in RGB",
            _T: "include it as a plain JPEG or PNG, without a profile",
            _W: "put it in as a plain JPEG or PNG, without a profile",
        },
    ),
}


def advised(
    findings: Iterable[Diagnostic], kind: ProgramKind, *, in_order: bool = True
) -> list[Diagnostic]:
    """Return findings, those without a hint with what to do about them in a kind of program."""
    return [
        one.model_copy(update={"hint": ADVICE[one.code].words(kind, in_order=in_order)})
        if one.hint is None and one.code in ADVICE
        else one
        for one in findings
    ]
