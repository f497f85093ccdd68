"""What to do about a finding in a design program, by kind of program: one table for all findings.

A check says what is wrong; this says where it is mended: in the program, in words for whoever made
the artwork and has nothing else, and in the order, for whoever wrote it. The kind of program is
known from what the file says; where it says nothing known, the words are general.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from inkaccord.artwork.programs import ProgramKind
from inkaccord.diagnostics import Diagnostic

_V, _L, _O, _T, _W = (
    ProgramKind.VECTOR, ProgramKind.LAYOUT, ProgramKind.OFFICE, ProgramKind.TYPESETTER,
    ProgramKind.WEB,
)  # fmt: skip
_NAMES = {
    _V: "vector editor",
    _L: "layout program",
    _O: "office suite",
    _T: "typesetter's source",
    _W: "web page's style sheet",
}

TURN_ROUND = "turn the page, so that it lies as the piece does: width first"
"""What to do where a page has the right size, and lies on its side."""


@dataclass(frozen=True, slots=True)
class Advice:
    """What to do about one code.

    Attributes
    ----------
    general
        In a program of unknown kind, and in any where ``by_kind`` is empty.
    by_kind
        In each kind of program, all of them or none.
    order
        What the order can do as well or instead, with the field to set; a finding's own hint stands
        before it.
    command
        The same where one file is recoloured by a command, without an order.
    """

    general: str
    by_kind: Mapping[ProgramKind, str] = field(default_factory=dict)
    order: str = ""
    command: str = ""

    def in_program(self, kind: ProgramKind) -> str:
        """Return what to do in a program of a kind, for whoever has only that program."""
        known = self.by_kind.get(kind)
        return f"in the {_NAMES[kind]}: {known}" if known else self.general


def _by(general: str, *words: str, order: str = "", command: str = "") -> Advice:
    """Return advice with words for each kind of program, in the order of ``_NAMES``."""
    return Advice(general, dict(zip(_NAMES, words, strict=True)), order, command)


_NO_SPOT = _by(
    "make the colour a process colour (untick 'spot' for it in the list of colours), or give this "
    "object another colour, and export again",
    "make the spot a process colour in the list of swatches, and export again",
    "untick 'spot' for this colour in the list of swatches, and export again",
    "the program has no spots: export the part anew from where it was drawn, in process colour",
    "define the colour in cmyk instead of as a separation, and export again",
    "write the colour as numbers instead of as a named ink",
    order="or let the vendor keep spots, if it prints that ink",
    command="or keep spots: '--keep-spots'",
)
_LESS_BLEED = (
    "or set 'bleed_repair: mirror' on the piece; or, if its vendor takes less, set its 'bleed' so"
)
_BLEED = _by(
    "draw the colour on past the cut and export with bleed",
    "make the page larger by the bleed on each side, and draw the colour to its edge",
    "give the document bleed, draw the colour out to its edge, and export with that bleed",
    "set a page size larger by the bleed on each side, and draw to its edge",
    "set a paper size larger by the bleed on each side, and draw to its edge",
    "give '@page' bleed, and let the colour run past the page",
    order=_LESS_BLEED,
)
_SIZE = _by(
    "set the page to the piece's size when cut (width first) with the bleed that is asked, and "
    "export at 100 %",
    "set the page to the piece's size when cut, larger by the bleed on each side, and export the "
    "page, not the drawing",
    "set the document to the piece's size when cut, with bleed, and export with the document's "
    "bleed",
    "set the page size to the piece's when cut, larger by the bleed on each side, without margins",
    "set the paper to the piece's size when cut, larger by the bleed on each side",
    "give '@page' the piece's size when cut, and its bleed",
)
_PAGES = _by(
    "export exactly the pages that are printed, the front first, one page for each side",
    "export one page for each side, the front first, and no empty or spare pages",
    "export only the range of pages that is printed, as single pages, not as spreads",
    "export only the pages that are printed, the front first, and no empty ones",
    "let the document have one page for each side, the front first",
    "let the contents fill one page for each side; a break too many or too little text makes more "
    "or fewer",
)
_BROKEN = Advice("export the artwork again; if it stays so, export the part that is named anew")
_NOT_CONVERTED = _by(
    "export it again without colour conversion: choose to keep the colours as they are, not a "
    "screen or printer profile, and leave out PDF/A and anything else that converts colours",
    "export with colours unchanged, without an output profile and without PDF/A",
    "choose to keep the colours as they are (output intended for print, no conversion), not a "
    "screen or printer profile",
    "export as plain PDF, not as PDF/A, with the colours as they were typed",
    "take out the package or setting that converts colours, or the pass that does so afterwards",
    "write the colours as they are to be, and leave out the pass that converts them afterwards",
)
_WHERE_MEANT = [
    f"where one of the suite's colours is meant, {how}; else ask whoever orders the print to take "
    "this colour up"
    for how in (
        "give it exactly that colour's numbers",
        "set fill or stroke to exactly its numbers",
        "give the object its swatch",
        "set exactly its numbers",
        "use its definition",
        "use its value",
    )
]
_MIXING = _by(
    "set the document's colour mode to what the page is printed in, and give every colour in it; "
    "where there is no such mode, do without opacity, blend modes and soft shadows there",
    "set the document's colour mode to what the page is printed in and give every colour in it; "
    "without such a mode, do without opacity, blend modes and blurs there: plain lighter colours "
    "look the same",
    "give every colour and picture there in what the page is printed in, or export as PDF/X-1a or "
    "PDF 1.3, which have no transparency",
    "do without transparency and soft shadows there: the program mixes in RGB alone",
    "draw it without opacity and blend modes, in plain lighter colours",
    "do without opacity, blend modes and shadows there: plain lighter colours look the same",
)
_NO_LAYERS = _by(
    "export without layers, and delete what must not print",
    "delete the layers that must not print, and export without layers",
    "delete what must not print, and leave 'layers in the PDF' off on export",
    "delete the layers that must not print before exporting",
    "leave out the package that makes layers, and what must not print",
    "leave out what must not print: 'display: none' takes it out of the file",
)
_OUTLINES = _by(
    "convert the type to outlines in a copy of the artwork, and export that",
    "convert the text to paths in a copy of the drawing, or tick 'text to paths' on export",
    "convert the text to outlines in a copy, or export with fonts as outlines",
    "the program exports no outlines: convert the text to curves, or choose a font that may be "
    "embedded and ask whether that will do",
    "the program exports no outlines: have the PDF's type converted afterwards, or ask whether "
    "embedded fonts will do",
    "the program exports no outlines: have the PDF's type converted afterwards, or ask whether "
    "embedded fonts will do",
)
_HAIRLINE = _by(
    "make it thicker: what a screen shows as a line may not print at all",
    "give the stroke a width; 'hairline' or 0 prints as thin as the device can",
    "give the line a width; 'hairline' or 0 prints as thin as the device can",
    "give the line a width of its own: 0 means as thin as the device can",
    "give the rule or path a width of its own",
    "give the border or stroke a width in points, not in pixels or 'thin'",
    order="the limit is 'line' in the vendor's 'artwork'",
)
_PIXELS = _by(
    "place a larger original, or print it smaller",
    "link or embed the original picture, not a copy from a screen, or make it smaller",
    "update the frame with a larger original, make it smaller, and export pictures without "
    "reducing them",
    "insert the original picture, and export it lossless, without reducing resolution",
    "include a larger original, or at a smaller width",
    "put a larger original into the page, at the same size in millimetres",
    order="the limit is 'image_dpi' in the vendor's 'artwork'",
)

ADVICE: Mapping[str, Advice] = {
    # -- the page and its edges
    "no-bleed": _BLEED,
    "bleed-just-short": _BLEED,
    "bleed-mirrored": _BLEED,
    "bleed-scaled": _BLEED,
    "bleed-not-filled": _by(
        "draw the colour on to the edge of the bleed",
        "pull the shape out to the edge of the page, past the cut",
        "pull the frame out to the edge of the document's bleed",
        "pull the shape out to the edge of the page, past the cut",
        "draw the shape on to the edge of the paper, past the cut",
        "let the box run on by the bleed, with a negative margin",
        order=_LESS_BLEED,
    ),
    "no-bleed-round-die": Advice("draw the colour on past the die line, all round by the bleed"),
    "wrong-trim": _SIZE,
    "trim-size": _SIZE,
    "no-trim-box": _by(
        "export with the piece's size as the trim and with its bleed, as print programs do",
        "make the page as large as the piece with its bleed, which is taken for it",
        "export with the document's bleed, which writes the trim too",
        "make the page as large as the piece with its bleed, which is taken for it",
        "let a package say where it is cut, or make the page as large as the piece with its bleed",
        "give '@page' the piece's size and its bleed",
        order="or say where the piece lies, with 'boxes' on the piece",
    ),
    "boxes-not-nested": _by(
        "export again with the page's own size, and the bleed outside it",
        "export the page instead of the drawing or the selection",
        "export with the document's bleed instead of one typed in the export",
        "export the whole page, without cropping",
        "let one package alone set the page's boxes: paper outermost, then bleed, then trim",
        "set size and bleed in one '@page' rule",
    ),
    "page-count": _PAGES,
    "wrong-page-count": _PAGES,
    "wrong-record-count": Advice(
        "export a page for every copy that is printed (two where both sides are), all in one file"
    ),
    "outside-safe-area": Advice(
        "move it inwards, or let it run off the page with bleed",
        order="the distance is the vendor's 'safe_area'",
    ),
    "marks-in-bleed": _by(
        "export without crop marks, or farther out: whoever prints it sets marks of their own",
        "delete the marks from the drawing: whoever prints it sets marks of their own",
        "export without printer's marks, or with an offset of at least the bleed",
        "delete the marks from the page: whoever prints it sets marks of their own",
        "leave out the package or the lines that draw crop marks",
        "take 'marks: crop' from '@page', or make its bleed larger",
    ),
    # -- type, lines, pictures
    "font-not-embedded": _by(
        "export with all fonts embedded, or convert this type to outlines",
        "export with 'embed fonts', or convert this text to paths",
        "embed this font on export, or convert this text to outlines",
        "choose a font that may be embedded, and export with all fonts",
        "set it in a font that the program embeds, such as an OpenType one",
        "load the font with '@font-face' from a file that may be embedded",
    ),
    "font-not-outlined": _OUTLINES,
    "type-kept": _OUTLINES,
    "drawn-two-ways": Advice(
        "export each of these pages as a file of its own, or turn such text into outlines"
    ),
    "glyph-state": Advice("convert this text to outlines, or set it in an ordinary font"),
    "hairline": _HAIRLINE,
    "line-without-width": _HAIRLINE,
    "thin-line-several-inks": Advice(
        "make it thicker, or give it a colour of one ink, such as black alone",
        order="the limit is 'multi_ink_line' in the vendor's 'artwork'",
    ),
    "small-type-several-inks": Advice(
        "set it larger or bolder, or in a colour of one ink, such as black alone",
        order="the limit is 'multi_ink_type' in the vendor's 'artwork'",
    ),
    "black-type-knocks-out": _by(
        "let the black type overprint",
        "set the type's fill to overprint, where the program has it, or make it larger",
        "let the black swatch, or this type, overprint",
        "the program has no overprint: make the type larger, or set it on white",
        "let the type overprint: an overprint setting round it, with black alone",
        "the program has no overprint: make the type larger, or set it on white",
        order="most presses' front ends let black of 100 % overprint by themselves: ask; the limit "
        "is 'reversed_type' in the vendor's 'artwork'",
    ),
    "thin-reversed-line": Advice(
        "make it thicker, or set it on a ground of one ink",
        order="the limit is 'reversed_line' in the vendor's 'artwork'",
    ),
    "small-reversed-type": Advice(
        "set it larger or bolder, or on a ground of one ink",
        order="the limit is 'reversed_type' in the vendor's 'artwork'",
    ),
    "rich-black-type": _by(
        "set it in black alone: cmyk 0 0 0 100",
        "set the text in black, cmyk 0 0 0 100 where the program has it, else plain rgb 0 0 0, and "
        "export without conversion",
        "set the text in the swatch of plain black, not in rich or registration black",
        "set the text in plain black, rgb 0 0 0",
        "set the text in black by cmyk 0 0 0 100, or in gray 0",
        "set the text in 'black', or in a device-cmyk black of K alone",
    ),
    "image-resolution": _PIXELS,
    "image-half-resolution": _PIXELS,
    "photograph-kept": _by(
        "give the picture plain CMYK or RGB, or convert it to what it is printed in",
        "embed it as a plain RGB picture",
        "place it in plain CMYK or RGB, and export pictures without a profile",
        "insert it as a plain JPEG or PNG in RGB",
        "include it as a plain JPEG or PNG, without a profile",
        "put it in as a plain JPEG or PNG, without a profile",
    ),
    # -- inks
    "total-ink": _by(
        "give what stands there a colour of less ink, or switch off the overprint that adds up "
        "there; prepare a picture for less ink",
        "make the colour there lighter, or take one of two shapes that are multiplied away",
        "give the swatch that is used there less of each ink, or switch off the overprint that "
        "adds up there; convert a picture to a profile with less ink",
        "make the colour or the picture there lighter: the program has no inks to set",
        "give the colour there less of each ink",
        "make the colour or the picture there lighter, or give it less of each ink by device-cmyk",
        order="a brand colour gets a build within the limit by itself when it stands under "
        "'colours'; the limit is the device's 'ink_limit'",
    ),
    "ink-without-limit": Advice("ask whoever prints it how much ink the paper takes"),
    "spot-see-through": _by(
        "give the object the spot alone, without opacity, blend mode or shadow; a lighter tint of "
        "the spot does what opacity did",
        "set opacity to 100 % and the blend mode to normal, and take a lighter tint",
        "set opacity to 100 % and the blend mode to normal, and take a tint of the swatch; let it "
        "overprint where it is to lie on other inks",
        "the program has no spots: export the part again from where it was drawn",
        "draw it without opacity, in a tint of the separation; overprint where it is to lie on "
        "other inks",
        "give it full opacity, in a tint of the ink",
    ),
    "spot-two-spellings": Advice(
        "give the spot one name throughout, capitals and spaces included, and export again"
    ),
    "spot-two-builds": Advice(
        "give the spot one mixture of process inks throughout: delete the second swatch, or place "
        "linked files anew with the same one"
    ),
    "white-overprint": _by(
        "switch overprint off for the white object, so that it knocks out",
        "switch overprint off for the white object's fill and stroke",
        "take 'overprint' off the attributes of the white object and of its swatch",
        "the program has no overprint: export the part again from where it was drawn, without it",
        "take the overprint setting off around the white object",
        "the program has no overprint: export the part again from where it was drawn, without it",
    ),
    "overprint-changes": _by(
        "switch overprint off for these objects",
        "switch overprint off for their fills and strokes",
        "take 'overprint' off the attributes of these objects and of their swatch",
        "the program has no overprint: export the part again from where it was drawn, without it",
        "take the overprint setting off around these objects",
        "the program has no overprint: export the part again from where it was drawn, without it",
    ),
    "registration-colour": _by(
        "give it black or a colour of its own: 'registration' is for marks only",
        "give it black or a colour of its own: 'registration' is for marks only",
        "give it black or another swatch: 'registration' is for marks only",
        "the program has no such colour: export the part again from where it was drawn, in black",
        "define its colour in cmyk or gray, not as the separation 'All'",
        "give it black or a colour of its own, not the ink 'All'",
    ),
    "inks-stay": _NO_SPOT,
    "spot-image": _NO_SPOT,
    "plate-left": _NO_SPOT,
    "inks-not-rewritten": _by(
        "draw the object in the spot alone, or in process colour",
        "give the object one spot, or CMYK, without a blend or gradient between spots",
        "give it one spot or a process swatch: untick 'spot' for one of its colours",
        "the program has no spots: export the part anew from where it was drawn, in process colour",
        "define its colour as one separation, or in cmyk",
        "give it one named ink, or numbers",
    ),
    # -- colours
    "near-miss": _by(
        "choose the brand colour anew where this one is used, with exactly its numbers",
        "set fill or stroke to exactly the brand colour's numbers",
        "give the object the brand colour's swatch, and delete the other",
        "set the area or font to exactly the brand colour's numbers",
        "use the brand colour's definition, not numbers of their own",
        "use one value for the brand colour throughout",
        command="or raise the tolerance, or name it in a '--swap' of its own",
    ),
    "unknown-colour": _by(*_WHERE_MEANT),
    "colour-kind": _by(
        "give it one of the suite's colours, or a colour of a kind that is taken; convert a "
        "picture; or ask whoever orders the print to take it up",
        "give it one of the suite's colours, or set it in a kind that is taken; convert a picture "
        "before embedding it; or ask whoever orders the print to take it up",
        "give it one of the suite's swatches, or change its swatch to a kind that is taken; place "
        "pictures converted; or ask whoever orders the print to take it up",
        "the program writes RGB alone: use the suite's colours, black, white and greys there, or "
        "ask whoever orders the print to take the colour or picture up",
        "use the suite's colours, or give this one in a kind that is taken (cmyk, gray or rgb) "
        "without a profile; or ask whoever orders the print to take it up",
        "use the suite's colours, or device-cmyk where CMYK is taken; or ask whoever orders the "
        "print to take the colour or picture up",
    ),
    "mixed-kinds": _by(
        "give the object plain colours of one kind, CMYK or RGB, all of them the suite's",
        "let the gradient run between two of the suite's colours, or to a tint of one",
        "let the gradient run between two of the suite's swatches, or to a tint of one",
        "let the gradient run between two of the suite's colours, or use one colour",
        "let the shading run between two of the suite's colours, or to a tint of one",
        "let the gradient run between two of the suite's colours, or use one colour",
        order="or say what the other colours become, too, under 'colours': on a pair that has been "
        "read it finds their builds by itself",
        command="or say what the other colours become, too, by one more '--swap' each",
    ),
    "too-much-drawn": Advice(
        "simplify what is drawn there (fewer shapes, larger pattern cells, one picture in place of "
        "many), and export again"
    ),
    "signed-file": Advice(
        "export the artwork again without a signature, or sign what is printed after all is done",
        command="or let the signature go: '--break-signature'",
    ),
    "not-proved": _by(
        "draw what stands there more simply (plain fills, no effects), or export the artwork anew "
        "in another form of PDF",
        "draw it in plain fills without effects, or export with them turned into paths or pictures",
        "draw it without effects, or export in another form of PDF, such as PDF/X-4",
        "use plain fills there, or insert the part as a picture",
        "draw it with plain fills, or include the part from a file of its own",
        "use plain colours there, or put the part in as a picture",
    ),
    "converted-export": _NOT_CONVERTED,
    "default-space": replace(
        _NOT_CONVERTED,
        order="or, where all numbers were typed as they stand, give the piece 'profiled: plain'",
        command="or, where all numbers were typed as they stand: '--profiled plain'",
    ),
    "default-space-gone": _NOT_CONVERTED,
    "profile-gone": _NOT_CONVERTED,
    "profiled-colour": _by(
        "export it as plain colour, without a profile",
        "export without an output profile, and give fill and stroke plain numbers",
        "export with colours unchanged, no profile for solid colours",
        "export as plain PDF, not as PDF/A, which attaches a profile",
        "turn off the standard or package that attaches a profile",
        "give plain rgb or device-cmyk values, not ones of a colour profile",
        order="or, where its numbers were typed as they stand, give the piece 'profiled: plain'",
        command="or, where its numbers were typed as they stand: '--profiled plain'",
    ),
    "brand-in-picture": _by(
        "draw the part as shapes, not as a picture; where the program makes a picture of a pattern "
        "or an effect, draw its shapes one by one",
        "draw the part as shapes, or trace it; turn a pattern into its shapes before exporting",
        "draw the part as shapes in the brand colour's swatch, or place it as a drawing",
        "draw the part as shapes and copy them, in place of a pattern: the program makes a picture "
        "of a pattern",
        "draw the part as paths, in place of a picture",
        "draw the part as paths, in place of a picture",
    ),
    "rewritten-colour": _by(
        "give the object the brand colour in the kind in which the others have it; patterns, "
        "see-through things and effects are where programs rewrite it",
        "give the pattern or effect the brand colour in the kind in which the others have it",
        "give the pattern or effect the brand colour's swatch",
        "draw the object without a pattern or effect",
        "give the pattern or shading its colour in the model that the others have, or draw its "
        "tiles one by one",
        "give the pattern or effect the brand colour in the kind in which the others have it",
        command="or say what it becomes by a '--swap' of its own; with the same colour on both "
        "sides it stays",
    ),
    "mixed-in-rgb": _MIXING,
    "mixed-in-cmyk": _MIXING,
    "mixed-in-gray": _MIXING,
    "spot-spelt-otherwise": Advice(
        "rename the spot as the suite's list of colours spells it, capitals included"
    ),
    "address-contrast": Advice("set the address in black, or on a lighter ground"),
    # -- how the file is built
    "transparency": _by(
        "flatten transparency on export",
        "export as PDF 1.3 or in an older version that has no transparency, or draw it without "
        "opacity and blur",
        "export as PDF 1.3, PDF/X-1a or PDF/X-3, which flatten transparency",
        "draw it without transparency and shadows",
        "draw it without opacity",
        "draw it without opacity and shadows",
        order="or set 'transparency: true' in the vendor's 'pdf' if it takes it after all",
    ),
    "hidden-layer": _NO_LAYERS,
    "layers-kept": _NO_LAYERS,
    "colour-on-hidden-layer": _NO_LAYERS,
    "layers": Advice(
        _NO_LAYERS.general,
        _NO_LAYERS.by_kind,
        order="or set 'layers: keep' in the vendor's 'pdf'",
    ),
    "pdf-version": _by(
        "export as the older version of PDF that is named here",
        "choose the older version of PDF on export",
        "choose the older version of PDF, or a PDF/X that has it, on export",
        "choose PDF/A-1b only if the colours stay as they are; else have the file saved down "
        "afterwards",
        "set the PDF version in the source, before the first page",
        "set the PDF version when the page is written",
        order="or set 'version' in the vendor's 'pdf'",
    ),
    "encrypted": Advice("export or save it without protection or password"),
    "left-alone": Advice("take it out of the artwork, or see to it by hand in the print file"),
    "bad-operands": _BROKEN,
    "misspelt-colour": _BROKEN,
    "chosen-again": Advice("choose the colour anew for what is painted with it, or export again"),
    "double-entry": _BROKEN,
    "lost-object": _BROKEN,
    "named-space": _BROKEN,
    "bad-inline-image": _BROKEN,
    "bad-colour-space": _BROKEN,
    "bad-shading": Advice("export the artwork again, or draw the gradient anew"),
    "missing-resource": _BROKEN,
    "content-loop": _BROKEN,
    "unreadable-stream": _BROKEN,
    "unbalanced-states": _BROKEN,
    "odd-content": _BROKEN,
    "odd-operator": _BROKEN,
    "unreadable-content": _BROKEN,
    "nested-in-itself": _BROKEN,
    "too-many-streams": Advice("simplify the drawing, or place its largest part as a picture"),
    "too-big-unpacked": Advice("place smaller pictures: their size in pixels is what counts"),
    "nested-too-deep": Advice("take groups within groups apart, or flatten the artwork"),
    "too-deep": Advice("take groups within groups apart, or flatten the artwork"),
    "area-unknown": _BROKEN,
}
"""By the code of a finding about artwork."""


def advised(
    findings: Iterable[Diagnostic], kind: ProgramKind, *, in_order: bool = True
) -> list[Diagnostic]:
    """Return findings with what to do about them in a kind of program, and in the order.

    What a finding says itself stays.
    """
    return [_advised(one, ADVICE[one.code], kind, in_order) if one.code in ADVICE else one
            for one in findings]  # fmt: skip


def _advised(one: Diagnostic, advice: Advice, kind: ProgramKind, in_order: bool) -> Diagnostic:
    otherwise = advice.order if in_order else advice.command
    return one.model_copy(
        update={
            "in_program": one.in_program or advice.in_program(kind),
            "hint": one.hint or otherwise or None,
        }
    )
