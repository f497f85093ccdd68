"""Runs inside the layout program: draws a design with spots, and exports one PDF of each kind.

    scribus -g -ns -py layout.py DESIGN COLOURS KIND PHOTOS OUT.pdf

COLOURS is original or swapped, KIND plain, x3, x4 or screen. What scripts can't set there
(shadows, overprint, colour management) is written into the saved document, which is opened again.
"""

import re
import sys
from pathlib import Path

import scribus

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parents[1]))

from exports.designs import (  # noqa: E402 - the program runs this script from anywhere
    BLEED_MM,
    COLOURS,
    DESIGNS,
    SWAPPED,
    Blend,
    Disc,
    Dots,
    Frame,
    Photo,
    Words,
    swapped,
)

design_name, colours, kind, photos, out = sys.argv[1:6]
design = swapped(DESIGNS[design_name]) if colours == "swapped" else DESIGNS[design_name]
PHOTOS = {"harbour": "harbour.jpg", "profiled": "profiled.jpg", "grey": "grey.png"}
VERSIONS = {"plain": 14, "x3": 12, "x4": 10, "screen": 14}
left_out = []
patches = {}


def define_colours():
    for original in COLOURS:
        colour = SWAPPED.get(original, original) if colours == "swapped" else original
        if colour.name == "black":
            continue
        name = colour.spot or colour.name
        scribus.defineColorCMYKFloat(name, *(float(part) for part in colour.cmyk))
        if colour.spot:
            scribus.setSpotColor(name, True)


def name_of(flat):
    return "Black" if flat.colour.name == "black" else flat.colour.spot or flat.colour.name


def draw(mark, count):
    shape, paint = mark.shape, mark.paint
    if isinstance(paint, Dots) or (mark.clip and not isinstance(paint, Photo)):
        left_out.append("pattern or clip")
        return
    if isinstance(paint, Photo):
        place = mark.clip.box if mark.clip else shape
        frame = scribus.createImage(place.x, place.y, place.w, place.h)
        scribus.loadImage(str(Path(photos) / PHOTOS[paint.name]), frame)
        scribus.setScaleImageToFrame(True, False, frame)
        return
    if isinstance(shape, Words):
        item = draw_words(shape, paint)
        if item is None:
            return
    elif isinstance(shape, Disc):
        item = scribus.createEllipse(shape.box.x, shape.box.y, shape.box.w, shape.box.h)
    else:
        item = scribus.createRect(shape.x, shape.y, shape.w, shape.h)
    if isinstance(shape, Frame):
        scribus.setFillColor("None", item)
        scribus.setLineColor(name_of(paint), item)
        scribus.setLineWidth(shape.line * 72 / 25.4, item)
    elif isinstance(paint, Blend):
        scribus.setLineColor("None", item)
        blend(item, shape, paint)
        if isinstance(shape, Disc):
            patches[f"mark{count}"] = around(shape.r * 72 / 25.4)
    elif not isinstance(shape, Words):
        scribus.setLineColor("None", item)
        scribus.setFillColor(name_of(paint), item)
        scribus.setFillShade(round(paint.tint * 100), item)
    if mark.opacity != 1:
        scribus.setFillTransparency(mark.opacity, item)
    if mark.multiply:
        scribus.setFillBlendmode(3, item)
    marker = f"mark{count}"
    scribus.setItemName(marker, item)
    if mark.overprint:
        patches[marker] = {"doOverprint": "1"}
    if mark.blur:
        # The program blurs no shape; a soft shadow in the shape's own colour lies under it.
        left_out.append("blur (a soft shadow instead)")
        patches[marker] = {
            "HASSOFTSHADOW": "1",
            "SOFTSHADOWCOLOR": name_of(paint),
            "SOFTSHADOWSHADE": str(round(paint.tint * 100)),
            "SOFTSHADOWBLURRADIUS": f"{mark.blur * 72 / 25.4:.2f}",
            "SOFTSHADOWXOFFSET": "5",
            "SOFTSHADOWYOFFSET": "5",
            "SOFTSHADOWOPACITY": "0.3",
            "SOFTSHADOWBLENDMODE": "0",
        }


def draw_words(words, paint):
    size = words.size_pt * 25.4 / 72
    item = scribus.createText(words.x, words.y - size, 110, size * 1.4)
    scribus.setText(words.text, item)
    scribus.setFont("DejaVu Sans Book", item)
    scribus.setFontSize(words.size_pt, item)
    scribus.setTextColor(name_of(paint), item)
    scribus.setTextShade(round(paint.tint * 100), item)
    if words.outlined:
        scribus.traceText(item)
        return None
    return item


def blend(item, shape, paint):
    first, last = paint.stops[0][1], paint.stops[-1][1]
    form = scribus.FILL_HORIZONTALG if paint.form == "linear" else scribus.FILL_RADIALG
    tints = [round(flat.tint * 100) for flat in (first, last)]
    scribus.setGradientFill(form, name_of(first), tints[0], name_of(last), tints[1], item)
    for place, stop in paint.stops[1:-1]:
        scribus.setGradientStop(name_of(stop), round(stop.tint * 100), 1.0, place, item)


def around(radius):
    """Return a radial gradient's middle and rim, which scripts can't set."""
    middle, rim = f"{radius:.3f}", f"{2 * radius:.3f}"
    places = dict.fromkeys(("GRSTARTX", "GRSTARTY", "GRENDY", "GRFOCALX", "GRFOCALY"), middle)
    return {**places, "GRENDX": rim, "GRSCALE": "1", "GRSKEW": "0"}


def patch(text):
    for marker, values in patches.items():
        match = re.search(rf'<PAGEOBJECT [^>]*ANNAME="{marker}"[^>]*>', text)
        tag = match.group(0)
        for key in values:
            tag = re.sub(rf' {key}="[^"]*"', "", tag)
        added = " ".join(f'{key}="{value}"' for key, value in values.items())
        text = text.replace(match.group(0), tag.replace("<PAGEOBJECT ", f"<PAGEOBJECT {added} ", 1))
    if kind in ("x3", "x4"):
        text = re.sub(r' HCMS="[^"]*"', ' HCMS="1"', text)
        text = re.sub(r' DPuse="[^"]*"', ' DPuse="1"', text)
        profiles = {"DPPr": "Slipway Press", "DPIn2": "sRGB display profile (ICC v2.2)"}
        profiles |= {
            "DPIn": profiles["DPIn2"],
            "DPIn3": profiles["DPPr"],
            "DPMo": profiles["DPIn2"],
        }
        for key, value in profiles.items():
            text = re.sub(rf' {key}="[^"]*"', f' {key}="{value}"', text)
    return text


scribus.newDocument(
    (design.width, design.height),
    (0, 0, 0, 0),
    scribus.PORTRAIT,
    1,
    scribus.UNIT_MILLIMETERS,
    scribus.PAGE_1,
    0,
    1,
)
scribus.setUnit(scribus.UNIT_MILLIMETERS)
define_colours()
for count, mark in enumerate(design.marks):
    draw(mark, count)
document = Path(out).with_suffix(".sla")
scribus.saveDocAs(str(document))
scribus.closeDoc()
document.write_text(patch(document.read_text()))
scribus.openDoc(str(document))
pdf = scribus.PDFfile()
pdf.file = str(out)
pdf.version = VERSIONS[kind]
pdf.outdst = 0 if kind == "screen" else 1
pdf.useDocBleeds = False
pdf.bleedt = pdf.bleedb = pdf.bleedl = pdf.bleedr = BLEED_MM
pdf.fonts = []
pdf.subsetList = ["DejaVu Sans Book"]
if kind in ("x3", "x4"):
    pdf.info = design.name
    pdf.solidpr = "Slipway Press"
    pdf.printprofc = "Slipway Press"
pdf.save()
Path(out).with_suffix(".txt").write_text("\n".join(left_out))
