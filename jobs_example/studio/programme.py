"""The programme: a letter sheet, 11 × 8½ in, folded once to 5½ × 8½ in."""

from studio.inks import black, kelp, lantern, paper, slate
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
    HAIRLINE,
    IN,
    SANS_BOLD,
    SERIF_BOLD,
    SERIF_IT,
    SERIF_LIGHT_IT,
    SLUG,
    Artwork,
)

SUITE = Palette(wood=kelp(), glow=lantern(), water=slate())
NIGHT = Palette(wood=lantern(), glow=lantern(), water=slate(60))

EVENING = (
    ("6.45", "The doors open", "Coats to the sail loft, please"),
    ("7.00", "Welcome on the slipway", "The keeper of boats lights the first lantern"),
    ("7.20", "New in the long gallery", "Eleven lake skiffs and the tools that made them"),
    ("8.00", "First lantern boat", "Round Heron Island and back, forty minutes"),
    ("9.00", "Second lantern boat", "The same water, and darker"),
    ("9.45", "Songs at the jetty", "Rounds for four voices; everyone is a voice"),
    ("10.30", "Lanterns out", "The last tram waits for us"),
)
SUPPER = (
    ("Smoked perch on rye", "horseradish, dill"),
    ("Barley and wild garlic broth", "kept hot in the workshop"),
    ("Blackberry fool", "with oat biscuits"),
)


def programme() -> bytes:
    """Draw the programme: outside (back cover, front cover), then inside (two panels)."""
    art = Artwork(11 * IN, 8.5 * IN, title="Programme")
    define_monogram(art, SUITE)
    _back_cover(art)
    _front_cover(art)
    _fold_ticks(art)
    art.next_page()
    _foot(art)
    _evening(art, 0.0)
    _supper(art, art.width / 2)
    _fold_ticks(art)
    return art.finish()


def _fold_ticks(art: Artwork) -> None:
    """Mark the fold outside the bleed, where no vendor prints."""
    canvas = art.canvas
    canvas.saveState()
    canvas.setStrokeColor(black())
    canvas.setLineWidth(HAIRLINE)
    canvas.setDash(3, 2)
    for start in (-SLUG + 4, art.height + BLEED + 4):
        canvas.line(art.width / 2, start, art.width / 2, start + SLUG - BLEED - 8)
    canvas.restoreState()


def _front_cover(art: Artwork) -> None:
    fold, right, top = art.width / 2 - 0.2, art.width + BLEED, art.height + BLEED
    middle, canvas = art.width * 0.75, art.canvas
    canvas.setFillColor(kelp())
    canvas.rect(fold, -BLEED, right - fold, top + BLEED, stroke=0, fill=1)
    for x, y, size in (
        (452, 540, 4),
        (498, 482, 2.6),
        (560, 566, 3),
        (655, 566, 2.4),
        (748, 476, 3.4),
        (742, 548, 2.6),
        (436, 430, 2.4),
        (752, 420, 2.4),
    ):
        star(art, x, y, size, lantern())
    art.type(
        "THE BOATHOUSE MUSEUM",
        middle,
        508,
        size=9.5,
        ink=lantern(),
        face=SANS_BOLD,
        align="centre",
        track=210,
    )
    art.type(
        "Members’", middle, 446, size=56, ink=paper(), face=SERIF_LIGHT_IT, align="centre", track=-6
    )
    art.type(
        "Evening", middle, 390, size=56, ink=paper(), face=SERIF_LIGHT_IT, align="centre", track=-6
    )
    wave_rule(art, middle - 60, middle + 60, 362, ink=lantern(), length=15, rise=3.2, weight=0.9)
    art.type(
        "The twenty-first of November",
        middle,
        334,
        size=15,
        ink=lantern(),
        align="centre",
    )
    shore = 168.0
    scaled(art, middle, shore - 2, 1.55, lambda: boathouse(art, NIGHT))
    water(art, fold, right, shore, -BLEED, ink=kelp(40), length=81, rise=3, shift=20)
    water(art, fold, right, shore - 18, -BLEED, ink=slate(35), length=67.5, rise=5, shift=44)
    water(art, fold, right, shore - 46, -BLEED, ink=slate(), length=81, rise=6, shift=9)
    reflection(art, middle, shore - 8, 66, 32, (lantern(), lantern(30)))
    for x, y, size in ((462, 92, 0.62), (520, 118, 0.42), (668, 112, 0.44), (730, 88, 0.66)):
        _afloat(art, x, y, size)
    water(art, fold, right, 52, -BLEED, ink=kelp(), length=101.25, rise=10, shift=70)


def _afloat(art: Artwork, x: float, y: float, size: float) -> None:
    scaled(
        art, x, y, size, lambda: lantern_lamp(art, kelp(), lantern(), lit=(lantern(), lantern(30)))
    )
    reflection(art, x, y - 3, y - 26 * size, 24 * size, (lantern(), lantern(30)))


def _back_cover(art: Artwork) -> None:
    left, fold, middle = -BLEED, art.width / 2, art.width / 4
    place_monogram(art, middle, 420, 84)
    art.type(
        "Come again by daylight",
        middle,
        336,
        size=21,
        ink=kelp(),
        face=SERIF_LIGHT_IT,
        align="centre",
    )
    for row, words in enumerate(
        (
            "The workshop, the long gallery and the slipway",
            "are open to members every day but Monday,",
            "from ten until the light goes.",
        )
    ):
        art.type(words, middle, 306 - 16 * row, size=11.5, ink=black(), align="centre")
    wave_rule(art, middle - 42, middle + 42, 250, ink=slate(), length=12, rise=2.6, weight=0.7)
    art.type(
        "3 SLIPWAY LANE · HALVERN LAKE · HL0 0ZZ",
        middle,
        226,
        size=7.5,
        ink=slate(),
        face=SANS_BOLD,
        align="centre",
        track=150,
    )
    water(art, left, fold, 76, -BLEED, ink=kelp(40), length=81, rise=4, shift=60)
    water(art, left, fold, 60, -BLEED, ink=slate(35), length=67.5, rise=5, shift=10)
    water(art, left, fold, 44, -BLEED, ink=slate(), length=81, rise=5, shift=30)
    water(art, left, fold, 26, -BLEED, ink=kelp(), length=101.25, rise=8, shift=70)


def _evening(art: Artwork, x: float) -> None:
    left, right = x + 40, x + art.width / 2 - 36
    art.type("The evening", left, 536, size=30, ink=kelp(), face=SERIF_LIGHT_IT, track=-4)
    wave_rule(art, left, left + 60, 516, ink=slate(), length=12, rise=2.6, weight=0.7)
    for row, (clock, what, more) in enumerate(EVENING):
        y = 478 - 54.5 * row
        art.type(clock, left + 34, y, size=14, ink=kelp(), face=SERIF_BOLD, align="right")
        art.type(what, left + 54, y, size=14, ink=black())
        art.type(more, left + 54, y - 16.5, size=10.5, ink=black(), face=SERIF_IT)
        if row < len(EVENING) - 1:
            art.rule(left + 54, right, y - 30.5, ink=slate(60), weight=FINE)


def _supper(art: Artwork, x: float) -> None:
    left, right, canvas = x + 36, x + art.width / 2 - 40, art.canvas
    middle = (left + right) / 2
    art.type("In the loft, supper", left, 536, size=30, ink=kelp(), face=SERIF_LIGHT_IT, track=-4)
    wave_rule(art, left, left + 60, 516, ink=slate(), length=12, rise=2.6, weight=0.7)
    for row, (what, more) in enumerate(SUPPER):
        y = 478 - 44 * row
        art.type(what, left, y, size=14, ink=black())
        art.type(more, left, y - 16.5, size=10.5, ink=black(), face=SERIF_IT)
    top, bottom = 330.0, 164.0
    canvas.setFillColor(kelp(40))
    canvas.roundRect(left, bottom, right - left, top - bottom, 6, stroke=0, fill=1)
    crest(art, left + 66, (top + bottom) / 2, 100, SUITE)
    art.type("Your lantern", left + 130, 292, size=19, ink=kelp(), face=SERIF_LIGHT_IT)
    for row, words in enumerate(
        (
            "carries a number. Hang it",
            "on the bow hook, keep the",
            "glass upright, and give it",
            "back to the keeper when",
            "you step ashore.",
        )
    ):
        art.type(words, left + 130, 268 - 16 * row, size=11.5, ink=black())
    art.type(
        "With thanks to every hand that pulled a rope this year.",
        middle,
        132,
        size=10.5,
        ink=black(),
        face=SERIF_IT,
        align="centre",
    )


def _foot(art: Artwork) -> None:
    left, right, canvas = -BLEED, art.width + BLEED, art.canvas
    canvas.saveState()
    frame = canvas.beginPath()
    frame.rect(left, 64, right - left, 4)
    canvas.clipPath(frame, stroke=0, fill=0)
    canvas.linearGradient(left, 0, right, 0, (lantern(), lantern(30)), extend=True)
    canvas.restoreState()
    water(art, left, right, 42, -BLEED, ink=slate(), length=81, rise=5, shift=9)
    water(art, left, right, 26, -BLEED, ink=kelp(), length=101.25, rise=8, shift=30)
