"""Did a colour conversion take place on the way to the paper? What the controls tell of it.

A conversion builds each solid of several inks. A process ink takes away light mostly in one third
of the spectrum; what it takes away elsewhere the trade calls its hue error and greyness (F.
Preucil, TAGA Proceedings, 1953; from memory). Here the thirds are X, Y and Z, as densities over
the paper. The limits lie beyond the direct prints that we have: the published and invented
printers of ``tests/benchmarks/conversions.py``, which measures what is found and what is not.
"""

from collections.abc import Iterator, Mapping

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.spaces import lab_to_xyz, xyz_to_lab
from inkaccord.diagnostics import Diagnostic, warning
from inkaccord.sheets.model import SampleSheet

_X, _Y, _Z = range(3)
_FAINT = 0.25
"""Density over the paper below which noise decides: very dark stock, hardly any ink."""
_GREY_CHROMA = 6.0
"""CIELAB distance from the line between paper and black within which all solids are grey."""
_LEAST_RANGE = 30.0
"""CIELAB distance from paper to black below which a stock is too dark to tell grey from colour."""
_SIGNS = 2
"""How many of the signs must be seen together: one alone may be an odd ink."""
_SRGB_CYAN = 0.8
"""Least density of a driver's own cyan, as a share of its magenta's. In sRGB (IEC 61966-2-1) cyan
is a light colour, L* 91 beside 60 of magenta; as an ink it is as strong as magenta."""
_SRGB_GREYS = 3.5
"""Mean ΔE00 of two greys from those of sRGB on the same paper."""

_AS_SRGB = (
    "it came out in the colours of sRGB and not of the device's inks: cyan is pale beside magenta, "
    "and greys are as light as sRGB says; the program or the driver converted it"
)
_HINT = (
    "print the sheet again without colour conversion (docs/sample-sheets.md says how for each kind "
    "of program) and retire this one, or the pair is learned with the conversion in it; if every "
    "job file is sure to be converted just so, all is well"
)


def conversion_findings(sheet: SampleSheet, lab: Array) -> list[Diagnostic]:
    """Return a warning if the controls of a sheet show that its colours were converted.

    Parameters
    ----------
    lab
        (n, 3) readings of the sheet's swatches, in its order.

    What can't be seen is not said: a conversion between two like presses changes no control by
    more than presses differ.
    """
    read = {swatch.build.values: lab[at] for at, swatch in enumerate(sheet.swatches)}
    look = _CMYK if sheet.drive is Drive.CMYK else _RGB
    if not all(build in read for build in look.values()):
        return []
    seen = {name: read[build] for name, build in look.items()}
    if _is_grey(seen):
        return [_finding(sheet, "all swatches are grey: it was printed in black alone")]
    density = {name: _density(one, seen["paper"]) for name, one in seen.items()}
    if min(density["magenta"][_Y], density["yellow"][_Z]) < _FAINT:
        return []
    if sheet.drive is Drive.RGB:
        return [_finding(sheet, _AS_SRGB)] if _is_srgb(density, seen) else []
    signs = list(_cmyk_signs(density))
    if len(signs) < _SIGNS:
        return []
    return [_finding(sheet, f"its solids do not look like single inks: {'; '.join(signs)}")]


_CMYK: Mapping[str, tuple[float, ...]] = {
    "paper": (0.0, 0.0, 0.0, 0.0),
    "cyan": (100.0, 0.0, 0.0, 0.0),
    "magenta": (0.0, 100.0, 0.0, 0.0),
    "yellow": (0.0, 0.0, 100.0, 0.0),
    "black": (0.0, 0.0, 0.0, 100.0),
    "red": (0.0, 100.0, 100.0, 0.0),
    "green": (100.0, 0.0, 100.0, 0.0),
}
_RGB: Mapping[str, tuple[float, ...]] = {
    "paper": (255.0, 255.0, 255.0),
    "cyan": (0.0, 255.0, 255.0),
    "magenta": (255.0, 0.0, 255.0),
    "yellow": (255.0, 255.0, 0.0),
    "black": (0.0, 0.0, 0.0),
    "red": (255.0, 0.0, 0.0),
    "green": (0.0, 255.0, 0.0),
    "grey 128": (128.0, 128.0, 128.0),
    "grey 160": (160.0, 160.0, 160.0),
}


def _density(lab: Array, paper: Array) -> Array:
    """Return (3,) densities over the paper in X, Y and Z."""
    xyz = np.maximum(lab_to_xyz(np.array([lab, paper])), 1e-3)
    return np.asarray(np.log10(xyz[1] / xyz[0]))


def _is_grey(seen: Mapping[str, Array]) -> bool:
    """Tell whether every solid lies on the line between paper and black."""
    paper, black = seen["paper"], seen["black"]
    along = black - paper
    length = float(along @ along)
    if length < _LEAST_RANGE**2:
        return False
    for name in ("cyan", "magenta", "yellow", "red", "green"):
        apart = seen[name] - paper
        off = apart - (apart @ along) / length * along
        if np.linalg.norm(off) > _GREY_CHROMA:
            return False
    return True


def _cmyk_signs(density: Mapping[str, Array]) -> Iterator[str]:
    """Yield what the solids carry that single inks don't."""
    cyan, magenta, yellow = (density[name] for name in ("cyan", "magenta", "yellow"))
    if cyan[_Z] > 0.34 * cyan[_X] or cyan[_Y] > 0.98 * cyan[_X]:
        yield "cyan carries another ink"
    if cyan[_X] < 0.85 * magenta[_Y]:
        yield "cyan is weak beside magenta"
    if magenta[_X] > 0.67 * magenta[_Y]:
        yield "magenta carries another ink"
    if yellow[_X] > 0.125 * yellow[_Z] or yellow[_Y] > 0.12 * yellow[_Z]:
        yield "yellow carries another ink"
    # Two inks on each other take away about what both do alone, a little less for trapping.
    if magenta[_X] + yellow[_X] - density["red"][_X] > 0.12:
        yield "red is less than magenta and yellow together"
    if cyan[_Y] + yellow[_Y] - density["green"][_Y] > 0.05:
        yield "green is less than cyan and yellow together"


def _is_srgb(density: Mapping[str, Array], seen: Mapping[str, Array]) -> bool:
    """Tell whether cyan is pale beside magenta and the greys are those of sRGB on this paper."""
    if density["cyan"][_X] >= _SRGB_CYAN * density["magenta"][_Y]:
        return False
    paper = lab_to_xyz(seen["paper"])
    names = ("grey 128", "grey 160")
    light = [((_RGB[name][0] / 255 + 0.055) / 1.055) ** 2.4 for name in names]
    wanted = xyz_to_lab(np.array(light)[:, None] * paper)
    apart = delta_e_2000(wanted, np.array([seen[name] for name in names]))
    return bool(np.mean(apart) < _SRGB_GREYS)


def _finding(sheet: SampleSheet, what: str) -> Diagnostic:
    return warning(
        "converted", f"sheet {sheet.id} seems to have been converted: {what}", hint=_HINT
    )
