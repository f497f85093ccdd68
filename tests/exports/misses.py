"""Exports that come out wrong today, each with the reason. What is mended leaves this list."""

_AS_PICTURE = "the program wrote a pattern as a picture of two colours, and pictures keep theirs"
_PROFILED = (
    "its one see-through colour has a profile, while all others are plain CMYK; said, not held"
)
_PATTERN = "the program wrote the colour of a pattern in RGB, by a formula of its own"

MISSES: dict[str, dict[str, str]] = {
    "office-svg-map": {
        "colours": _AS_PICTURE,
        "same kind": _AS_PICTURE,
        "order, RGB driver": _AS_PICTURE,
    },
    "typst-cmyk-map": {"same kind": _PROFILED},
    "tikz-cmyk-map": {"same kind": _PATTERN},
}
"""By export and by what is asked of it."""
