"""Drivers in RGB to put in front of a press: by an ICC table, or by rule, in many kinds.

A driver turns RGB, 0 to 1, into inks in percent; the press then prints them as its profile says.
None of them is a copy of a real one. They differ in what real ones differ in: which RGB they take
the numbers for, how they bring it into the reach of the inks, what they add to please, and when
they set in black.
"""

from pathlib import Path

import numpy as np
from virtual_pairs import VirtualPair, other_stock, profile_pair, separation

from inkaccord.colour.spaces import D50_WHITE, srgb_to_lab, xyz_to_lab

_PERCEPTUAL, _COLORIMETRIC, _SATURATION = 0, 1, 2


def _wide_to_lab(rgb):
    """CIELAB of a wide RGB: primaries and gamma of IEC 61966-2-5, opRGB (from memory)."""
    primaries = np.array([[0.64, 0.33], [0.21, 0.71], [0.15, 0.06], [0.3127, 0.3290]])
    columns = np.column_stack([primaries, 1.0 - primaries.sum(axis=1)]) / primaries[:, 1:]
    white = columns[3]
    matrix = (columns[:3] * np.linalg.solve(columns[:3].T, white)[:, None]).T
    # Adaptation to D50 by scaling XYZ: a driver need not do it well.
    return xyz_to_lab((rgb ** (563 / 256) @ matrix.T) / white * D50_WHITE)


def _livelier(rgb):
    """An 'enhancement': more contrast round the middle, three tenths more colour."""
    curved = rgb - 0.04 * np.sin(2 * np.pi * rgb)
    grey = curved.mean(axis=1, keepdims=True)
    return np.clip(grey + 1.3 * (curved - grey), 0.0, 1.0)


def _late_black(rgb):
    """Complements; black sets in late, with a knee, and takes seven tenths of itself away."""
    inks = 1.0 - rgb
    black = np.clip((inks.min(axis=1, keepdims=True) - 0.4) / 0.6, 0.0, 1.0) ** 1.5
    return 100.0 * np.hstack([np.clip(inks - 0.7 * black, 0.0, 1.0), black])


def _three_inks(rgb):
    """Cyan, magenta and yellow by density, each told to spare its neighbours; no black at all."""
    density = -np.log10(np.maximum(rgb**2.0, 0.03)) / -np.log10(0.03)
    masking = np.array([[1.0, -0.08, 0.0], [-0.15, 1.0, -0.05], [0.0, -0.2, 1.0]])
    inks = np.clip(density @ masking.T, 0.0, 1.0)
    return 95.0 * np.hstack([inks, np.zeros((len(inks), 1))])


def _masking(rgb):
    """Colour masking on densities, black from the product of the three, all ink limited."""
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    density = -np.log10(np.maximum(linear, 0.006))
    masking = np.array([[1.00, -0.10, -0.03], [-0.20, 1.02, -0.07], [-0.06, -0.26, 1.00]])
    wanted = np.maximum(density @ masking.T, 0)
    areas = np.minimum(wanted / [1.8, 1.7, 1.6], 1.0)
    black = 0.8 * areas.prod(axis=1, keepdims=True) ** 1.3
    inks = np.hstack([areas * (1 - 0.45 * black), black])
    colours = inks[:, :3].sum(axis=1, keepdims=True)
    inks[:, :3] *= np.minimum(1.0, (2.6 - black) / np.maximum(colours, 1e-9))
    return 100.0 * inks


def drivers(path: Path) -> dict:
    """Return the drivers by name; each a function of RGB, 0 to 1, (n, 3)."""
    perceptual = separation(path, _PERCEPTUAL)
    clipped = separation(path, _COLORIMETRIC)
    scaled = separation(path, _COLORIMETRIC, black_point=True)
    lively = separation(path, _SATURATION, black_point=True)
    return {
        "sRGB, perceptual": lambda rgb: perceptual(srgb_to_lab(rgb)),
        "sRGB, clipped": lambda rgb: clipped(srgb_to_lab(rgb)),
        "sRGB, black point scaled": lambda rgb: scaled(srgb_to_lab(rgb)),
        "sRGB, saturation": lambda rgb: lively(srgb_to_lab(rgb)),
        "wide RGB, perceptual": lambda rgb: perceptual(_wide_to_lab(rgb)),
        "enhanced": lambda rgb: perceptual(srgb_to_lab(_livelier(rgb))),
        "darkened": lambda rgb: scaled(srgb_to_lab(rgb**1.25)),
        "complements, late black": _late_black,
        "three inks": _three_inks,
        "masking": _masking,
    }


def rgb_pairs(path: Path) -> list[VirtualPair]:
    """Return a profile's press behind every driver, and once more on a glossy, strong stock."""
    press = profile_pair(path)
    photo = other_stock(press, (96.0, 0.0, -4.0), strength=1.25, gain=0.0)
    found = drivers(path)
    pairs = [_behind(press, path.name, name, found[name]) for name in found]
    glossy = [_behind(photo, path.name, name, found[name]) for name in ("enhanced", "masking")]
    for pair in glossy:
        pair.name += ", photo stock"
    return pairs + glossy


def _behind(press: VirtualPair, press_name: str, name: str, driver) -> VirtualPair:
    def to_lab(builds):
        return press.lab(driver(np.clip(builds / 255.0, 0.0, 1.0)))

    return VirtualPair(f"{press_name}: {name}", to_lab, channels=3)
