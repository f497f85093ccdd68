"""Ranges of colour: by words such as 'deep greens', or round an aim.

A range in words is a part of what the pair at hand prints: its deep greens are the darker third of
the greens that it prints, so that kraft and newsprint have some as well.
"""

from typing import NamedTuple, Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from inkaccord.colour.arrays import Array
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.lab import Lab
from inkaccord.colour.spaces import lab_to_lch
from inkaccord.errors import OrderError
from inkaccord.models import Frozen

GREYS = "greys"
GREY_CHROMA = 8.0
"""Colours of a lower CIELAB chroma have hardly a hue. Common practice, no source."""
FIRST_HUE = 345.0
"""The hue angle at which hues are told from, between the purples and the reds."""
_STRONGEST = 200.0
"""A CIELAB chroma that nothing printed has."""

# Hue angles (CIELAB, degrees) up to which a word is used; from the looks of process inks and
# their overprints on white paper. Where one word ends is a matter of taste.
_HUES = (
    (15.0, "pinks"),
    (48.0, "reds"),
    (76.0, "oranges"),
    (102.0, "yellows"),
    (132.0, "yellow greens"),
    (175.0, "greens"),
    (222.0, "blue greens"),
    (278.0, "blues"),
    (318.0, "violets"),
    (345.0, "purples"),
    (360.0, "pinks"),
)
HUE_WORDS = tuple(dict.fromkeys(word for _, word in _HUES))
"""The words that share all hues out among themselves."""

Part = tuple[float, float]
"""A part of a span, from 0 at its lower end to 1 at its upper."""
_ALL: Part = (0.0, 1.0)
_LOWER: Part = (0.0, 1 / 3)
_UPPER: Part = (2 / 3, 1.0)

_PARTS = {
    "light": ("lightness_part", _UPPER),
    "deep": ("lightness_part", _LOWER),
    "greyed": ("chroma_part", _LOWER),
    "vivid": ("chroma_part", _UPPER),
}
"""What narrows a range, by a third of its lightness or its chroma. A third is common practice."""


class Region(Frozen):
    """A part of the colour space. Hues run upwards and may wrap."""

    lightness: tuple[float, float] = (0.0, 100.0)
    chroma: tuple[float, float] = (0.0, _STRONGEST)
    hue: tuple[float, float] = (0.0, 360.0)
    """CIELAB hue angles in degrees; (330, 30) goes through 0."""
    near: Lab | None = None
    """CIELAB of an aim, where only what is like it is wanted."""
    reach: float = np.inf
    """ΔE00 from ``near`` that still counts as like it."""

    def contains(self, lab: ArrayLike) -> NDArray[np.bool_]:
        """Return which of (..., 3) CIELAB colours lie inside."""
        lch = lab_to_lch(lab)
        inside = (lch[..., 0] >= self.lightness[0]) & (lch[..., 0] <= self.lightness[1])
        inside &= (lch[..., 1] >= self.chroma[0]) & (lch[..., 1] <= self.chroma[1])
        low, high = self.hue
        if high - low < 360.0:
            inside &= (lch[..., 2] - low) % 360.0 <= (high - low) % 360.0
        if self.near is not None:
            inside &= delta_e_2000(np.asarray(lab, dtype=np.float64), self.near) <= self.reach
        return np.asarray(inside)


class ColourRange(Frozen):
    """A range that a person asked for, by what it is called."""

    title: str
    region: Region
    lightness_part: Part = _ALL
    """The part of the lightness that the pair's colours in the region have."""
    chroma_part: Part = _ALL
    """The part of their chroma."""

    @classmethod
    def near(cls, what: str, lab: Lab, reach: float) -> Self:
        """Return the colours within ``reach`` ΔE00 of an aim, which ``what`` says in words."""
        return cls(title=f"Within {reach:g} ΔE00 of {what}", region=Region(near=lab, reach=reach))

    def among(self, lab: Array) -> Region:
        """Return the region that the range is among what a pair prints, (n, 3) CIELAB."""
        inside = lab_to_lch(lab[self.region.contains(lab)])
        if not len(inside):
            return self.region
        spans = (inside[:, :2].min(axis=0), inside[:, :2].max(axis=0))
        updates = {
            name: _part_of(float(low), float(high), part, getattr(self.region, name))
            for name, part, low, high in zip(
                ("lightness", "chroma"), (self.lightness_part, self.chroma_part), *spans,
                strict=True,
            )
        }  # fmt: skip
        return self.region.model_copy(update=updates)


def _part_of(
    low: float, high: float, part: Part, whole: tuple[float, float]
) -> tuple[float, float]:
    """Return a part of a span; an end that is not narrowed stays where it was."""
    start, end = part
    return (
        whole[0] if start <= 0.0 else low + start * (high - low),
        whole[1] if end >= 1.0 else low + end * (high - low),
    )


class _Further(NamedTuple):
    """A word that names a part of several hues."""

    hue: tuple[float, float]
    lightness: Part
    chroma: Part


# From everyday speech; where one of them ends is a matter of taste.
_FURTHER = {
    "browns": _Further((40.0, 88.0), (0.0, 0.5), (0.0, 0.8)),
    "olives": _Further((88.0, 128.0), (0.0, 0.55), (0.0, 0.8)),
    "teals": _Further((180.0, 235.0), (0.0, 0.6), _ALL),
    "navies": _Further((240.0, 305.0), (0.0, 0.35), _ALL),
    "maroons": _Further((345.0, 40.0), (0.0, 0.4), _ALL),
    "creams": _Further((65.0, 105.0), (0.7, 1.0), (0.0, 0.35)),
}
RANGE_WORDS = (GREYS, *HUE_WORDS, *_FURTHER)
"""The words that name a range."""
PART_WORDS = tuple(_PARTS)
"""The words that narrow it."""


def hue_word(hue: float) -> str:
    """Return what colours of a CIELAB hue angle in degrees are called."""
    # A hair's breadth below 0 leaves a remainder of 360 itself.
    return next((word for end, word in _HUES if hue % 360.0 < end), _HUES[-1][1])


def range_word(lab: Array) -> str:
    """Return what a CIELAB colour (3,) is called: greys, or by its hue."""
    if np.hypot(lab[1], lab[2]) < GREY_CHROMA:
        return GREYS
    return hue_word(float(np.degrees(np.arctan2(lab[2], lab[1]))))


def parse_range(text: str) -> ColourRange:
    """Return the range that words such as ``greens`` or ``deep greyed blues`` name.

    Raises OrderError ``unknown-range`` that lists the words.
    """
    words = text.lower().replace("-", " ").replace("gray", "grey").split()
    first = next((at for at, word in enumerate(words) if word not in _PARTS), len(words))
    narrowing, rest = words[:first], " ".join(words[first:])
    every = rest in {"", "colours", "colors"}
    named = ColourRange(title="colours", region=Region()) if every else _named(rest)
    if not words or named is None:
        raise _unknown(text)
    parts = dict(_PARTS[word] for word in narrowing)
    if len(parts) < len(narrowing):  # both light and deep, say
        raise _unknown(text)
    narrowed = {name: _within(getattr(named, name), part) for name, part in parts.items()}
    title = " ".join((*narrowing, named.title)).capitalize()
    return named.model_copy(update={"title": title, **narrowed})


def _within(outer: Part, inner: Part) -> Part:
    """Return a part of a part."""
    low, high = outer
    return low + inner[0] * (high - low), low + inner[1] * (high - low)


def _named(words: str) -> ColourRange | None:
    name = "navies" if words == "navy" else words.removesuffix("s") + "s"
    if name == GREYS:
        return ColourRange(title=name, region=Region(chroma=(0.0, GREY_CHROMA)))
    strong = (GREY_CHROMA, _STRONGEST)
    if name in _FURTHER:
        further = _FURTHER[name]
        return ColourRange(
            title=name,
            region=Region(hue=further.hue, chroma=strong),
            lightness_part=further.lightness,
            chroma_part=further.chroma,
        )
    ends = [end for end, word in _HUES if word == name]
    if not ends:
        return None
    starts = [0.0, *(end for end, _ in _HUES)]
    first = [starts[number] for number, (_, word) in enumerate(_HUES) if word == name]
    # Pinks stand at both ends of the list: they go through 0.
    return ColourRange(title=name, region=Region(chroma=strong, hue=(first[-1], ends[0])))


def _unknown(text: str) -> OrderError:
    return OrderError.of(
        "unknown-range",
        f"{text!r} names no range of colours",
        hint=f"choose one of {', '.join(RANGE_WORDS)}; before it may stand "
        f"{', '.join(PART_WORDS)}, as in 'deep greyed greens'",
    )
