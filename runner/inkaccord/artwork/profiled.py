"""What colours that print through a profile are taken for: asked of an order and of a file."""

from enum import StrEnum


class Profiled(StrEnum):
    """What becomes of colours to which the artwork attaches a colour profile."""

    AS_PROFILED = "as-profiled"
    """The profile is meant: a brand colour is recognised by what that makes of the numbers, within
    1 ΔE00 (RGB is sRGB; CMYK means its numbers in a document whose CMYK has a profile), and gets
    its build. Any other keeps its profile and is reported."""
    PLAIN = "plain"
    """Their numbers count, and the profile goes: for artwork whose layout program attached one on
    export to colours that were chosen as plain numbers. Caution: numbers that were converted to
    the profile, and not typed, are another colour without it. Look at the report's pictures."""
