"""The control swatches: the same on every sheet, so that a later sheet tells of drift.

Paper, the solids of the inks, a mid tint of each, two overprints and a grey: the kinds of patch
that the trade's control strips carry (common practice, no source for this choice of twelve).
"""

from inkaccord.colour.builds import Build, Drive

CONTROL_PREFIX = "X"
"""Controls are X1, X2 …; no other swatch has an X in its id."""

FEWEST_CONTROLS = 5
"""The first of them, paper and the solids: fewer tell nothing."""

_CMYK = (
    (0, 0, 0, 0),
    (100, 0, 0, 0),
    (0, 100, 0, 0),
    (0, 0, 100, 0),
    (0, 0, 0, 100),
    (50, 0, 0, 0),
    (0, 50, 0, 0),
    (0, 0, 50, 0),
    (0, 0, 0, 50),
    (0, 100, 100, 0),
    (100, 0, 100, 0),
    (50, 40, 40, 0),
)
# The same twelve looks, as a driver that mixes the inks itself is asked for them.
_RGB = (
    (255, 255, 255),
    (0, 255, 255),
    (255, 0, 255),
    (255, 255, 0),
    (0, 0, 0),
    (128, 255, 255),
    (255, 128, 255),
    (255, 255, 128),
    (128, 128, 128),
    (255, 0, 0),
    (0, 255, 0),
    (160, 160, 160),
)


def control_builds(drive: Drive) -> tuple[Build, ...]:
    """Return the control builds of a drive, always in the same order; the first is bare paper."""
    rows = _CMYK if drive is Drive.CMYK else _RGB
    return tuple(Build(drive=drive, values=tuple(float(v) for v in row)) for row in rows)
