"""A reportlab canvas that draws the same bytes every time, with our embedded typeface."""

import io
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from inkaccord import __version__
from inkaccord.sizes import Size

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

REGULAR = "Inkaccord-Regular"
BOLD = "Inkaccord-Bold"
ITALIC = "Inkaccord-Italic"


@cache
def ready_typeface() -> None:
    """Make the library ready, once: our typeface, and streams as bytes instead of ASCII."""
    # The fonts are found by path: importing the package that carries them would load
    # pkg_resources on some versions.
    from importlib.util import find_spec  # noqa: PLC0415 - only needed once

    from reportlab import rl_config  # noqa: PLC0415 - slow to load
    from reportlab.pdfbase import pdfmetrics  # noqa: PLC0415 - slow to load
    from reportlab.pdfbase.ttfonts import TTFont  # noqa: PLC0415 - slow to load

    rl_config.useA85 = 0  # ASCII is a quarter larger, and slow where many pictures are drawn
    spec = find_spec("font_source_sans_pro")
    if spec is None or spec.origin is None:
        raise ModuleNotFoundError(
            "the package font-source-sans-pro is missing; reinstall inkaccord"
        )
    folder = Path(spec.origin).parent / "files"
    for name, file in ((REGULAR, "Regular"), (BOLD, "Semibold"), (ITALIC, "It")):
        pdfmetrics.registerFont(TTFont(name, str(folder / f"SourceSansPro-{file}.ttf")))
    pdfmetrics.registerFontFamily(
        REGULAR, normal=REGULAR, bold=BOLD, italic=ITALIC, boldItalic=BOLD
    )


class Drawing:
    """A PDF being drawn in memory. Use :attr:`canvas` freely; :meth:`bytes` finishes it.

    The same calls give the same bytes on every machine: no clock, no random ids.
    """

    def __init__(self, size: Size, *, title: str, subject: str = "") -> None:
        from reportlab.pdfgen import canvas  # noqa: PLC0415 - slow to load

        ready_typeface()
        self._buffer = io.BytesIO()
        self.canvas: Canvas = canvas.Canvas(
            self._buffer,
            pagesize=(size.width_pt, size.height_pt),
            invariant=1,
            pageCompression=1,
            initialFontName=REGULAR,  # type: ignore[arg-type]  # the stubs say float
        )
        self.canvas.setTitle(title)
        self.canvas.setSubject(subject)
        self.canvas.setAuthor("inkaccord")
        self.canvas.setCreator(f"inkaccord {__version__}")
        self.canvas.setProducer("inkaccord")

    def page(
        self,
        size: Size,
        *,
        trim_pt: tuple[float, float, float, float] | None = None,
        bleed_pt: float = 0.0,
    ) -> None:
        """Set size and boxes of the page that is being drawn.

        Parameters
        ----------
        size
            The media size.
        trim_pt
            TrimBox as left, bottom, right, top; the whole page when left out.
        bleed_pt
            BleedBox lies this far outside the TrimBox.
        """
        left, bottom, right, top = trim_pt or (0.0, 0.0, size.width_pt, size.height_pt)
        self.canvas.setPageSize((size.width_pt, size.height_pt))
        self.canvas.setTrimBox((left, bottom, right, top))
        self.canvas.setBleedBox(
            (left - bleed_pt, bottom - bleed_pt, right + bleed_pt, top + bleed_pt)
        )

    def bytes(self) -> bytes:
        """Finish the PDF and return it."""
        self.canvas.save()
        return self._buffer.getvalue()


def text_width(text: str, size_pt: float, font: str = REGULAR) -> float:
    """Return the width of a line of text in points."""
    from reportlab.pdfbase.pdfmetrics import stringWidth  # noqa: PLC0415 - slow to load

    ready_typeface()
    return float(stringWidth(text, font, size_pt))


@cache
def letter_widths(font: str) -> Mapping[str, float]:
    """Return the advance of every letter that one of our faces has, in thousandths of the size."""
    from reportlab.pdfbase.pdfmetrics import getFont  # noqa: PLC0415 - slow to load

    ready_typeface()
    found: Any = getFont(font)  # the stubs know no face
    face = found.face
    return {chr(code): face.getCharWidth(code) for code in face.charToGlyph if code < 0x110000}


def fit_text(text: str, width_pt: float, size_pt: float, font: str = REGULAR) -> str:
    """Return ``text``, shortened with an ellipsis until it fits a width."""
    if text_width(text, size_pt, font) <= width_pt:
        return text
    while text and text_width(text + "…", size_pt, font) > width_pt:
        text = text[:-1]
    return text.rstrip() + "…"
