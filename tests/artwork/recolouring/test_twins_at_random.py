"""Artwork at random beside a twin in which every new colour is written at once.

The two differ in numbers alone, and in what the spot looks like: forms, cells and characters take
over the same states in both, so that nothing of the twin rests on how colours are followed.
"""

import random
import re
from pathlib import Path

import numpy as np
import pikepdf
import pytest

from artwork_kit import document, form, parsed, proven, resource, stream
from inkaccord.artwork.recolouring.recolour import RecolourOptions, SpotMode
from outside import screen_colours

pytestmark = pytest.mark.slow

PROCESS = RecolourOptions(spots=SpotMode.PROCESS)
SWAPS = (
    "cmyk 85 20 60 30 = cmyk 10 90 55 0",
    "cmyk 10 90 55 0 = cmyk 0 20 100 40",
    "spot Kelp = cmyk 30 0 90 20",
)
COLOURS = (
    "{0.85 0.2 0.6 0.3|0.1 0.9 0.55 0}", "{.425 .1 .3 .15|0.05 0.45 0.275 0}",
    "{0.1 0.9 0.55 0|0 0.2 1 0.4}", "0 0.6 0.1 0.1", "0.3 0.3 0 0.05",
)  # fmt: skip
"""As they were, and as they are to be."""
TABLES = ("{D933994C|1AE68C00}", "{1AE68C00|0033FF66}", "00991A1A")
TINTS = ("1", ".5", ".25", "0")
KELP = (
    "[/Separation /Kelp /DeviceCMYK << /FunctionType 2 /Domain [0 1] /N 1 /C0 [0 0 0 0] "
    "/C1 [{0.85 0.1 0.5 0.2|0.3 0 0.9 0.2}] >>]"
)
CELL = "/PatternType 1 /TilingType 1 /BBox [0 0 25 25] /XStep 25 /YStep 25"
PIXELS = "<< /Subtype /Image /Width 2 /Height 1 /BitsPerComponent 8 >>"
FONT = (
    "<< /Type /Font /Subtype /Type3 /FontBBox [0 0 1 1] /FontMatrix [1 0 0 1 0 0] /Widths [1 1] "
    "/FirstChar 97 /LastChar 98 /Resources << >> /Encoding << /Differences [97 /a /b] >> >>"
)


class Drawing:
    """The same drawing from one seed on either side: as it was (0), and in the new colours (1)."""

    def __init__(self, seed: int, side: int) -> None:
        self.at = random.Random(seed)
        self.side = side

    def told(self, text: str) -> str:
        """Return a text with the numbers of this side."""
        return re.sub(r"\{(.*?)\|(.*?)\}", lambda both: both[1 + self.side], text)

    def content(self, steps: int, *calls: str, begins: str = "") -> bytes:
        """Return content that sets colours, paints, nests and calls.

        ``/In`` sets a colour of one number in the space of its caller, so that has to have one.
        """
        pick, now = self.at.choice, begins
        said: list[str] = []
        kept: list[str] = []
        for _ in range(steps):
            colour, tint, x, y = pick(COLOURS), pick(TINTS), pick(range(70)), pick(range(70))
            sets = {
                f"{colour} k": "four", f"/DeviceCMYK cs {colour} sc": "four",
                f"/K cs {tint} scn": "one", "/Pattern cs /T scn": "cell",
                f"/PC cs {colour} /U scn": "cell", f"/PK cs {tint} /U scn": "cell",
            }  # fmt: skip
            if now in {"one", "four"}:  # in the space that it has, its caller's perhaps
                sets[f"{tint if now == 'one' else colour} scn"] = now
            paints = [f"{x} {y} 40 30 re {word}" for word in ("f", "B", "f*", "S")]
            drawn = [one for one in calls if now == "one" or one != "/In Do"]
            word = pick([*sets, *paints, *drawn, f"{colour} K", "q", "Q"])
            if word == "Q" and not kept:
                continue
            if word == "q":
                kept.append(now)
            now = kept.pop() if word == "Q" else sets.get(word, now)
            said.append(word)
        return self.told(" ".join([*said, *("Q" for _ in kept)])).encode()

    def setup(self, pdf: pikepdf.Pdf, page: pikepdf.Page) -> None:
        """Make what the page calls, each of what was made before it, and the page."""
        kelp = pdf.make_indirect(parsed(self.told(KELP)))
        resource(page, "/ColorSpace", "/K", kelp)
        resource(page, "/ColorSpace", "/PK", pikepdf.Array([pikepdf.Name.Pattern, kelp]))
        resource(page, "/ColorSpace", "/PC", parsed("[/Pattern /DeviceCMYK]"))
        plain = stream(pdf, b"0 0 12 12 re f", f"<< {CELL} /PaintType 2 /Resources << >> >>")
        resource(page, "/Pattern", "/U", plain)
        inside = self.told(f"{self.at.choice(COLOURS)} k 0 0 9 9 re f /K cs .5 scn 12 12 9 9 re f")
        coloured = stream(pdf, inside.encode(), f"<< {CELL} /PaintType 1 /Resources << >> >>")
        coloured.Resources["/ColorSpace"] = pikepdf.Dictionary(K=kelp)
        resource(page, "/Pattern", "/T", coloured)
        entries = "".join(self.at.choice(TABLES) for _ in range(2))
        table = parsed(self.told(f"[/Indexed /DeviceCMYK 1 <{entries}>]"))
        for name, space in (("/I", table), ("/J", parsed("[/Indexed /DeviceGray 1 <40FF>]"))):
            image = stream(pdf, b"\x00\x01", PIXELS)
            image["/ColorSpace"] = space
            resource(page, "/XObject", name, image)
        page.obj.Resources.XObject.J.ColorSpace[1] = kelp
        stencil = b"1 0 0 0 1 1 d1 0.85 0.2 0.6 0.3 k 0 0 .8 .8 re f"
        solid = self.told(f"1 0 d0 0 0 .4 1 re f {self.at.choice(COLOURS)} k .4 0 .5 1 re f")
        font = parsed(FONT)
        font["/CharProcs"] = pikepdf.Dictionary(
            a=pdf.make_stream(stencil), b=pdf.make_stream(solid.encode())
        )
        resource(page, "/Font", "/A", font)
        calls = ["BT /A 16 Tf 10 70 Td (ab) Tj ET"]
        calls += [f"q 30 0 0 30 {x} 40 cm /{name} Do Q" for x, name in ((5, "I"), (60, "J"))]
        begin = b".5 scn 0 0 30 30 re f "
        resource(page, "/XObject", "/In", form(pdf, begin + self.content(3, begins="one")))
        calls.append("/In Do")
        for name in ("/F", "/G", "/H"):  # without resources: they take the page's
            resource(page, "/XObject", name, form(pdf, self.content(9, *calls)))
            calls.append(f"q 1 0 0 1 {self.at.choice(range(30))} 5 cm {name} Do Q")
        page.obj.Contents = pdf.make_stream(self.content(24, *calls))


@pytest.mark.parametrize("seed", range(6))
def test_it_prints_as_its_twin(seed: int, tmp_path: Path) -> None:
    source, twin = (document(setup=Drawing(seed, side).setup) for side in (0, 1))
    made = proven(source, *SWAPS, options=PROCESS)
    assert not made.errors
    found, wanted = (screen_colours(one, tmp_path).astype(int) for one in (made.data, twin))
    assert np.abs(found - wanted).max() <= 3
