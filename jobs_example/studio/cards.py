"""Invitation, reply card, envelope, lantern tag, and the strip that is wrong on purpose."""

from reportlab.lib.colors import PCMYKColor

from studio.inks import black, kelp, kelp_rgb, lantern, paper, slate
from studio.motifs import (
    Palette,
    boathouse,
    crest,
    define_monogram,
    lantern_lamp,
    place_monogram,
    reflection,
    scaled,
    star,
    water,
    wave_rule,
)
from studio.page import (
    BLEED,
    FINE,
    IN,
    SANS,
    SANS_BOLD,
    SERIF,
    SERIF_IT,
    SERIF_LIGHT,
    SERIF_LIGHT_IT,
    Artwork,
)

SUITE = Palette(wood=kelp(), glow=lantern(), water=slate())


def invitation() -> bytes:
    """Draw the invitation, 5 × 7 in: crest, type, and the lake by night along the foot."""
    art = Artwork(5 * IN, 7 * IN, title="Invitation")
    middle, left, right = art.width / 2, -BLEED, art.width + BLEED

    shore, house = 92.0, 262.0
    water(art, left, right, shore, -BLEED, ink=kelp(40), length=66, rise=2.4, shift=20)
    scaled(art, house, shore - 1, 1.0, lambda: boathouse(art, SUITE))
    water(art, left, right, shore - 10, -BLEED, ink=slate(35), length=58, rise=4, shift=8)
    water(art, left, right, shore - 26, -BLEED, ink=slate(), length=72, rise=5, shift=50)
    reflection(art, house, shore - 13, 34, 20, (lantern(), lantern(30)))
    water(art, left, right, 30, -BLEED, ink=kelp(), length=90, rise=8, shift=14)
    for x, y, size in ((66, 58, 0.46), (112, 74, 0.32), (160, 56, 0.4)):
        _floating_lantern(art, x, y, size)

    crest(art, middle, 437, 92, SUITE)
    art.type("The Boathouse Museum requests", middle, 362, size=11.5, ink=black(), align="centre")
    art.type(
        "the pleasure of your company at its", middle, 346.5, size=11.5, ink=black(), align="centre"
    )
    art.type(
        "Members’ Evening",
        middle,
        304,
        size=37,
        ink=kelp(),
        face=SERIF_LIGHT_IT,
        align="centre",
        track=-4,
    )
    wave_rule(art, middle - 48, middle + 48, 285, ink=slate(), length=12, rise=2.6, weight=0.7)
    art.type(
        "Saturday, the twenty-first of November", middle, 258, size=13, ink=black(), align="centre"
    )
    art.type(
        "from seven o’clock until the lanterns are out",
        middle,
        240,
        size=11.5,
        ink=black(),
        face=SERIF_IT,
        align="centre",
    )
    art.type(
        "THE OLD SLIPWAY · HALVERN LAKE",
        middle,
        212,
        size=8,
        ink=slate(),
        face=SANS_BOLD,
        align="centre",
        track=170,
    )
    art.type(
        "Boats leave the jetty at eight. Dress for the water.",
        middle,
        187,
        size=10,
        ink=black(),
        face=SERIF_IT,
        align="centre",
    )
    return art.finish()


def _floating_lantern(art: Artwork, x: float, y: float, size: float) -> None:
    """Draw a lantern afloat, with its light below it."""
    scaled(
        art, x, y, size, lambda: lantern_lamp(art, kelp(), lantern(), lit=(lantern(), lantern(30)))
    )
    reflection(art, x, y - 3, y - 17 * size, 24 * size, (lantern(), lantern(30)))


def reply_card() -> bytes:
    """Draw the reply card, 5½ × 4¼ in, lying level: the reply in front, the address behind."""
    art = Artwork(5.5 * IN, 4.25 * IN, title="Reply card")
    define_monogram(art, SUITE)
    bottom, top = -BLEED, art.height + BLEED
    band = 92.0
    canvas = art.canvas
    canvas.setFillColor(kelp(40))
    canvas.rect(-BLEED, bottom, band + BLEED, top - bottom, stroke=0, fill=1)
    water(art, -BLEED, band, 64, bottom, ink=slate(), length=46, rise=4, shift=11)
    water(art, -BLEED, band, 46, bottom, ink=kelp(), length=61.3, rise=6, shift=30)
    place_monogram(art, band / 2, art.height - 66, 58)
    scaled(
        art,
        band / 2,
        92,
        1.5,
        lambda: lantern_lamp(art, kelp(), lantern(), lit=(lantern(), lantern(30))),
    )

    x0, x1 = band + 28, art.width - 27
    art.type("Kindly reply", x0, 252, size=27, ink=kelp(), face=SERIF_LIGHT_IT, track=-4)
    art.type("by the fourteenth of November", x0, 231, size=11.5, ink=black(), face=SERIF_IT)
    art.type("NAME", x0, 192, size=7.5, ink=slate(), face=SANS_BOLD, track=160)
    art.rule(x0 + 34, x1, 190.5, ink=black())
    for y, words in ((158, "will be there with pleasure"), (136, "will be there in spirit")):
        canvas.setStrokeColor(kelp())
        canvas.setLineWidth(0.7)
        canvas.circle(x0 + 4.6, y + 3.6, 4.4, stroke=1, fill=0)
        art.type(words, x0 + 17, y, size=12, ink=black())
    art.rule(x0, x1, 112, ink=slate(), weight=FINE)
    art.type("LANTERN BOATS", x0, 90, size=7.5, ink=slate(), face=SANS_BOLD, track=160)
    for row, (words, number) in enumerate(
        (("the first, at eight", "places"), ("the second, at nine", "places"))
    ):
        y = 66 - 23 * row
        art.type(words, x0, y, size=12, ink=black())
        art.rule(x1 - 76, x1 - 40, y - 1.5, ink=black())
        art.type(number, x1, y, size=10.5, ink=black(), face=SERIF_IT, align="right")

    art.next_page()
    water(art, -BLEED, art.width + BLEED, 30, bottom, ink=kelp(40), length=57.857, rise=5)
    water(art, -BLEED, art.width + BLEED, 19, bottom, ink=slate(35), length=67.5, rise=5, shift=30)
    place_monogram(art, 62, art.height - 60, 66)
    art.type("MEMBERS’ EVENING", 27, 190, size=7.5, ink=slate(), face=SANS_BOLD, track=160)
    art.type("the twenty-first of November", 27, 175, size=10, ink=black(), face=SERIF_IT)
    art.canvas.saveState()
    art.canvas.setStrokeColor(slate())
    art.canvas.setLineWidth(FINE)
    art.canvas.line(168, 66, 168, 262)
    art.canvas.restoreState()
    box_x, box_y = art.width - 27 - 58, art.height - 27 - 68
    art.canvas.setStrokeColor(slate(60))
    art.canvas.setLineWidth(FINE)
    art.canvas.roundRect(box_x, box_y, 58, 68, 3, stroke=1, fill=0)
    art.type(
        "STAMP",
        box_x + 29,
        box_y + 31,
        size=7,
        ink=slate(),
        face=SANS_BOLD,
        align="centre",
        track=160,
    )
    for row, words in enumerate(
        ("The Members’ Desk", "The Boathouse Museum", "3 Slipway Lane", "Halvern Lake  HL0 0ZZ")
    ):
        y = 148 - 22 * row
        art.type(words, 192, y, size=12.5, ink=black())
        art.rule(192, art.width - 27, y - 5, ink=slate(60), weight=FINE)
    return art.finish()


def envelope() -> bytes:
    """Draw the A9 envelope, 8¾ × 5¾ in: sender, a guest's address, nothing near the edges."""
    art = Artwork(8.75 * IN, 5.75 * IN, title="Outer envelope", bleed=0)
    crest(art, 64, art.height - 64, 72, SUITE, lettered=False)
    for row, (words, face, size) in enumerate(
        (
            ("The Boathouse Museum", SERIF, 11.5),
            ("3 Slipway Lane", SERIF_IT, 10.5),
            ("Halvern Lake  HL0 0ZZ", SERIF_IT, 10.5),
        )
    ):
        art.type(words, 118, art.height - 52 - 15 * row, size=size, ink=kelp(), face=face)
    wave_rule(art, 118, 214, art.height - 94, ink=slate(), length=12, rise=2.4, weight=0.7)
    for row, words in enumerate(
        ("Guest of the Museum", "14 Reed Terrace", "Halvern Lake", "HL0 0ZY")
    ):
        art.type(words, 286, 186 - 22 * row, size=15, ink=black())
    return art.finish()


def lantern_tag() -> bytes:
    """Draw the tag, 2 × 3½ in, for brown stock: no tints, no white, and the green typed in RGB."""
    art = Artwork(2 * IN, 3.5 * IN, title="Lantern tag")
    inks = Palette(wood=kelp_rgb(), glow=lantern(), water=slate())
    middle, canvas = art.width / 2, art.canvas
    canvas.saveState()
    canvas.setStrokeColor(slate())
    canvas.setLineWidth(FINE)
    canvas.circle(middle, art.height - 27, 6.75, stroke=1, fill=0)  # hole of 3/16 in
    canvas.setLineWidth(0.9)
    canvas.circle(middle, art.height - 27, 11.5, stroke=1, fill=0)
    canvas.restoreState()
    scaled(art, middle, 106, 2.0, lambda: lantern_lamp(art, inks.wood, inks.glow))
    for side in (-1, 1):
        star(art, middle + side * 38, 168, 5.4, inks.glow)
        star(art, middle + side * 49, 143, 3.2, inks.glow)
        star(art, middle + side * 33, 129, 3.2, inks.glow)
    art.type("Carry a light", middle, 77, size=19, ink=inks.wood, face=SERIF_IT, align="centre")
    art.type("LANTERN NO.", 24, 55, size=7, ink=black(), face=SANS_BOLD, track=130)
    art.rule(78, 120, 54, ink=black(), weight=0.5)
    water(art, -BLEED, art.width + BLEED, 33, -BLEED, ink=slate(), length=40.5, rise=4, shift=10)
    water(art, -BLEED, art.width + BLEED, 23, -BLEED, ink=inks.wood, length=54, rise=5, shift=24)
    return art.finish()


def draft_strip() -> bytes:
    """Draw a strip with two mistakes: a green a hair off kelp, and a colour nobody named."""
    art = Artwork(2.5 * IN, 7 * IN, title="Poster strip, a draft with wrong colours")
    near_kelp, stranger = PCMYKColor(84, 20, 60, 30), PCMYKColor(12, 92, 34, 4)
    middle = art.width / 2
    water(art, -BLEED, art.width + BLEED, 168, -BLEED, ink=near_kelp, length=66, rise=7)
    water(art, -BLEED, art.width + BLEED, 66, -BLEED, ink=kelp(), length=49.5, rise=6, shift=12)
    scaled(art, middle, 194, 3.1, lambda: lantern_lamp(art, kelp(), stranger))
    art.type("Members’", middle, 436, size=34, ink=kelp(), face=SERIF_LIGHT_IT, align="centre")
    art.type("Evening", middle, 402, size=34, ink=kelp(), face=SERIF_LIGHT_IT, align="centre")
    art.type(
        "21 NOVEMBER",
        middle,
        376,
        size=7.5,
        ink=slate(),
        face=SANS_BOLD,
        align="centre",
        track=160,
    )
    art.type("Lantern boats", middle, 120, size=19, ink=paper(), face=SERIF_LIGHT, align="centre")
    art.type(
        "from the Old Slipway", middle, 98, size=12, ink=paper(), face=SERIF_IT, align="centre"
    )
    art.type("eight and nine o’clock", middle, 28, size=11, ink=paper(), face=SANS, align="centre")
    return art.finish()
