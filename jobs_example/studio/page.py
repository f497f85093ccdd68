"""A page with its boxes, and type set on it. Everything is measured in points from the trim."""

import io
import math
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Literal

import pikepdf
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from studio.inks import Ink

IN = 72.0
BLEED = IN / 8
FINE = 0.55
"""The thinnest line in several inks: thinner ones show every little misregister."""
HAIRLINE = 0.35
"""The thinnest line in black alone."""
SLUG = IN / 2
"""The media reaches this far beyond the trim, so that there is room for bleed and fold ticks."""

SERIF, SERIF_IT, SERIF_BOLD = "Serif", "Serif-Italic", "Serif-Semibold"
SERIF_LIGHT, SERIF_LIGHT_IT, SERIF_THIN = "Serif-Light", "Serif-LightItalic", "Serif-ExtraLight"
SANS, SANS_BOLD = "Sans", "Sans-Semibold"
_FACES = {
    SERIF: ("font_source_serif_pro", "SourceSerifPro-Regular"),
    SERIF_IT: ("font_source_serif_pro", "SourceSerifPro-It"),
    SERIF_BOLD: ("font_source_serif_pro", "SourceSerifPro-Semibold"),
    SERIF_LIGHT: ("font_source_serif_pro", "SourceSerifPro-Light"),
    SERIF_LIGHT_IT: ("font_source_serif_pro", "SourceSerifPro-LightIt"),
    SERIF_THIN: ("font_source_serif_pro", "SourceSerifPro-ExtraLight"),
    SANS: ("font_source_sans_pro", "SourceSansPro-Regular"),
    SANS_BOLD: ("font_source_sans_pro", "SourceSansPro-Semibold"),
}
Align = Literal["left", "centre", "right"]

# Pairs that stand too far apart, in thousandths of the type size; judged by eye.
_KERNS = {
    "To": -70, "Te": -60, "Tr": -50, "Th": -15, "We": -45, "Wa": -45, "Ev": -15, "LA": -10,
    "AT": -70, "TA": -70, "AV": -80, "VA": -80, "LT": -70, "LV": -60, "AY": -60, "rv": -10,
    "r,": -60, "r.": -60, "y,": -50, "y.": -50, "w.": -45, "f.": -30, "’s": -20, "P.": -90,
    "Mu": -5, "Ro": -8, "Yo": -70, "Ya": -70, "Fo": -20, "Fr": -15, "H’": -20, "s’": -20,
}  # fmt: skip


@cache
def _register_faces() -> None:
    for name, (package, file) in _FACES.items():
        spec = find_spec(package)
        if spec is None or spec.origin is None:
            raise SystemExit(
                f"the typeface package {package.replace('_', '-')} is missing: "
                f"pip install {package.replace('_', '-')}==0.0.1"
            )
        path = Path(spec.origin).parent / "files" / f"{file}.ttf"
        pdfmetrics.registerFont(TTFont(name, str(path)))


class Artwork:
    """A PDF in the making, whose pages share one trim size. The same calls give the same bytes."""

    def __init__(self, width: float, height: float, *, title: str, bleed: float = BLEED) -> None:
        _register_faces()
        self.width, self.height, self.bleed = width, height, bleed
        self._file = io.BytesIO()
        self.canvas = Canvas(
            self._file,
            pagesize=(width + 2 * SLUG, height + 2 * SLUG),
            invariant=1,
            pageCompression=1,
            initialFontName=SERIF,  # type: ignore[arg-type]  # the stubs say float
        )
        self.canvas.setTitle(title)
        self.canvas.setAuthor("A stationery studio (invented)")
        self.canvas.setSubject("Members' Evening at the Boathouse Museum (invented)")
        self.canvas.setCreator("jobs_example/make_artwork.py")
        self._start_page()

    def _start_page(self) -> None:
        trim = (SLUG, SLUG, SLUG + self.width, SLUG + self.height)
        out = self.bleed
        self.canvas.setTrimBox(trim)
        self.canvas.setBleedBox((trim[0] - out, trim[1] - out, trim[2] + out, trim[3] + out))
        self.canvas.translate(SLUG, SLUG)

    def next_page(self) -> None:
        """Finish this page and begin another of the same size."""
        self.canvas.showPage()
        self._start_page()

    def finish(self) -> bytes:
        """Finish the file and return it."""
        self.canvas.showPage()
        self.canvas.save()
        return _with_colours_in_forms(self._file.getvalue())

    def type(
        self,
        text: str,
        x: float,
        y: float,
        *,
        size: float,
        ink: Ink,
        face: str = SERIF,
        align: Align = "left",
        track: float = 0.0,
    ) -> float:
        """Set one line with its baseline at ``y``; return its width.

        ``track`` is the extra space between letters in thousandths of the size.
        """
        width = type_width(text, size=size, face=face, track=track)
        start = x - {"left": 0.0, "centre": width / 2, "right": width}[align]
        line = self.canvas.beginText(start, y)
        line.setFont(face, size)
        line.setFillColor(ink)
        run = ""
        for letter, following in zip(text, text[1:] + " ", strict=True):
            kern = _KERNS.get(letter + following, 0)
            if not kern:
                run += letter
                continue
            line.setCharSpace(track * size / 1000)
            line.textOut(run)
            line.setCharSpace((track + kern) * size / 1000)
            line.textOut(letter)
            run = ""
        line.setCharSpace(track * size / 1000)
        line.textOut(run)
        self.canvas.drawText(line)
        return width

    def arched_type(
        self,
        text: str,
        radius: float,
        middle_deg: float,
        *,
        size: float,
        ink: Ink,
        track: float,
        inward: bool = False,
    ) -> None:
        """Set a line round the origin, its middle at an angle (90 is the top).

        ``inward`` turns the feet outwards, for a line that is read along the bottom.
        """
        turn = 1 if inward else -1
        width = type_width(text, size=size, face=SANS_BOLD, track=track)
        angle = math.radians(middle_deg) - turn * width / 2 / radius
        for letter in text:
            advance = type_width(letter, size=size, face=SANS_BOLD)
            at = angle + turn * advance / 2 / radius
            self.canvas.saveState()
            self.canvas.translate(radius * math.cos(at), radius * math.sin(at))
            self.canvas.rotate(math.degrees(at) + (90 if inward else -90))
            self.type(letter, -advance / 2, 0, size=size, ink=ink, face=SANS_BOLD)
            self.canvas.restoreState()
            angle += turn * (advance + track * size / 1000) / radius

    def rule(self, x0: float, x1: float, y: float, *, ink: Ink, weight: float = HAIRLINE) -> None:
        """Draw a level rule."""
        self.canvas.saveState()
        self.canvas.setStrokeColor(ink)
        self.canvas.setLineWidth(weight)
        self.canvas.line(x0, y, x1, y)
        self.canvas.restoreState()


def _with_colours_in_forms(data: bytes) -> bytes:
    """Give form XObjects the pages' colour spaces: reportlab leaves them out of a form."""
    result = io.BytesIO()
    with pikepdf.open(io.BytesIO(data)) as pdf:
        spaces = pikepdf.Dictionary()
        forms: list[pikepdf.Object] = []
        for page in pdf.pages:
            for name, space in page.resources.get("/ColorSpace", pikepdf.Dictionary()).items():
                spaces[name] = space
            forms += page.resources.get("/XObject", pikepdf.Dictionary()).values()
        for form in forms:
            form["/Resources"]["/ColorSpace"] = spaces
        pdf.save(result, deterministic_id=True)
    return result.getvalue()


def type_width(text: str, *, size: float, face: str = SERIF, track: float = 0.0) -> float:
    """Return the width of a line, without the space after its last letter."""
    _register_faces()
    kerns = sum(_KERNS.get(text[i : i + 2], 0) for i in range(len(text) - 1))
    spaces = track * (len(text) - 1)
    return float(pdfmetrics.stringWidth(text, face, size)) + (kerns + spaces) * size / 1000
