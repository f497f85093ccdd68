"""Invented printers: what the example's devices would print, and an instrument read.

Nothing here is measured. Each device is a handful of invented numbers put through textbook
formulas, so that the example has printers which differ as real ones do and can be asked for any
build. The program itself never sees this file; it sees the readings, as it would see real ones.

How a colour comes about, in the order of :func:`spectra`:

1. A device driven in RGB turns red, green and blue into inks in its driver (masking, black
   generation); the others take CMYK as they get it.
2. Above its ink limit a device scales cyan, magenta and yellow back and leaves black alone.
3. Each ink's tone curve gives the area that it covers; absorbent stock spreads dots further.
4. The sixteen Neugebauer primaries: ink densities add up (Beer and Lambert), less where ink
   prints on ink (trapping); a share of the pigment scatters and so covers brown stock a little;
   the surface adds a floor of plain reflected light.
5. Demichel's areas mix the primaries in the power of Yule and Nielsen: R = (Σ w R^(1/n))^n.

:func:`read_sheet` adds what a sheet and an instrument add: unsteady dots and reading noise, the
same for the same sheet id every time, and drift when the day of printing is given.
"""

import datetime
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from inkaccord.colour.builds import CHANNELS, FULL_SCALE, Drive
from inkaccord.colour.spectra import spectra_to_lab

Array = NDArray[np.float64]

WAVELENGTHS_NM: Array = np.arange(380.0, 731.0, 10.0)
_SUBSETS: NDArray[np.int_] = np.array(list(product((0, 1), repeat=4)))
"""(16, 4): which inks are in which Neugebauer primary."""


@dataclass(frozen=True)
class Ink:
    """A colorant: its density is ``flat`` plus bells of (middle nm, width nm, height)."""

    bells: tuple[tuple[float, float, float], ...]
    flat: float

    def density(self) -> Array:
        """Return the reflection density of a solid, (36,)."""
        total = np.full_like(WAVELENGTHS_NM, self.flat)
        for middle, width, height in self.bells:
            total += height * np.exp(-0.5 * ((WAVELENGTHS_NM - middle) / width) ** 2)
        return total


@dataclass(frozen=True)
class Stock:
    """A paper or envelope: its reflectance, and how it takes ink."""

    title: str
    reflectance: Array
    spread: float = 1.0
    """Dot gain is multiplied by this."""
    strength: float = 1.0
    """Ink density is multiplied by this: absorbent stock swallows ink."""
    floor: float = 0.008
    """Light that the surface reflects before it meets any ink."""


@dataclass(frozen=True)
class Device:
    """A machine. The four inks, gains and strengths are those of C, M, Y, K."""

    title: str
    inks: tuple[Ink, Ink, Ink, Ink]
    gains: tuple[float, float, float, float]
    """What a 50 % dot gains."""
    drive: Drive = Drive.CMYK
    skew: float = 0.0
    """Whether the gain leans to the light tones (above 0) or the dark ones."""
    strengths: tuple[float, float, float, float] = (1.0, 1.0, 1.0, 1.0)
    trapping: float = 0.95
    """How much of its density an ink keeps for each other ink that it prints on."""
    opacity: float = 0.0
    """The share of the pigment that scatters instead of letting the stock show."""
    n: float = 2.0
    """The Yule–Nielsen factor."""
    ink_limit: float = 400.0
    unsteady: float = 0.004
    """Standard deviation of a dot's area from swatch to swatch."""
    wander: float = 0.03
    """How far the ink strengths swing over the months."""


# --------------------------------------------------------------------------------- the stocks
def _white(level: float, warmth: float, glow: float) -> Array:
    """Return a paper: a level, less blue for warmth, a bump at 440 nm for brightener."""
    blue = 1 / (1 + np.exp((WAVELENGTHS_NM - 470) / 22))
    bump = np.exp(-0.5 * ((WAVELENGTHS_NM - 440) / 17) ** 2)
    deep = 1 / (1 + np.exp((WAVELENGTHS_NM - 402) / 7))  # brightener takes its light from here
    return np.asarray(level * (1 - warmth * blue) + glow * bump - 0.35 * deep * level)


def _kraft() -> Array:
    rise = 1 / (1 + np.exp(-(WAVELENGTHS_NM - 575) / 62))
    return np.asarray(0.14 + 0.47 * rise)


def _grey() -> Array:
    cool = np.exp(-0.5 * ((WAVELENGTHS_NM - 480) / 60) ** 2)
    return np.asarray(_white(0.70, 0.0, 0.0) + 0.02 * cool)


STOCKS: dict[str, Stock] = {
    "smooth-ivory": Stock("ivory card, smooth", _white(0.865, 0.15, 0.0), floor=0.006),
    "natural-cotton": Stock(
        "natural cotton card, uncoated",
        _white(0.86, 0.06, 0.012),
        spread=1.40,
        strength=0.90,
        floor=0.010,
    ),
    "kraft": Stock("brown kraft card", _kraft(), spread=1.3, strength=0.96, floor=0.006),
    "grey-felt": Stock("grey felt envelope", _grey(), spread=1.15, strength=0.98, floor=0.008),
}

# -------------------------------------------------------------------------------- the devices
_OFFSET_INKS = (
    Ink(((628, 52, 1.12), (690, 48, 0.72), (560, 42, 0.28), (420, 30, 0.12)), 0.05),
    Ink(((548, 30, 1.08), (512, 30, 0.72), (440, 44, 0.52)), 0.04),
    Ink(((432, 36, 1.12), (474, 20, 0.46), (392, 30, 0.20)), 0.02),
    Ink(((480, 160, 0.10),), 1.52),
)
_TONERS = (
    Ink(((622, 50, 1.14), (686, 50, 0.80), (552, 42, 0.24), (415, 32, 0.16)), 0.04),
    Ink(((553, 31, 1.10), (516, 32, 0.76), (438, 44, 0.46)), 0.04),
    Ink(((438, 38, 1.20), (482, 20, 0.52), (390, 30, 0.24)), 0.02),
    Ink(((470, 150, 0.06),), 1.62),
)
_LIQUID_TONERS = (
    Ink(((634, 50, 1.20), (694, 46, 0.74), (566, 40, 0.24), (420, 28, 0.10)), 0.04),
    Ink(((550, 28, 1.14), (516, 28, 0.74), (440, 42, 0.48)), 0.03),
    Ink(((430, 36, 1.18), (470, 20, 0.48), (392, 30, 0.18)), 0.02),
    Ink(((500, 160, 0.08),), 1.58),
)
_PIGMENT_INKS = (
    Ink(((626, 46, 1.38), (686, 48, 0.88), (562, 36, 0.24), (418, 28, 0.10)), 0.03),
    Ink(((552, 27, 1.30), (520, 27, 0.88), (436, 40, 0.44)), 0.03),
    Ink(((430, 38, 1.34), (474, 20, 0.54), (390, 30, 0.22)), 0.01),
    Ink(((460, 140, 0.05),), 1.70),
)

DEVICES: dict[str, Device] = {
    "laser": Device(
        "the studio's laser printer",
        _TONERS,
        gains=(0.150, 0.150, 0.125, 0.160),
        skew=0.30,
        opacity=0.06,
        trapping=0.93,
        n=2.0,
        ink_limit=260,
        unsteady=0.006,
        wander=0.05,
    ),
    "inkjet": Device(
        "the studio's inkjet printer, driven in RGB",
        _PIGMENT_INKS,
        gains=(0.0, 0.0, 0.0, 0.0),  # the driver has taken them out
        drive=Drive.RGB,
        trapping=0.97,
        n=1.7,
        ink_limit=300,
        unsteady=0.003,
        wander=0.02,
    ),
    "north-quay-press": Device(
        "north-quay's sheet-fed digital press",
        _LIQUID_TONERS,
        gains=(0.125, 0.130, 0.110, 0.140),
        trapping=0.95,
        opacity=0.04,
        n=1.9,
        ink_limit=300,
        unsteady=0.003,
    ),
    "north-quay-envelopes": Device(
        "north-quay's envelope press",
        _OFFSET_INKS,
        gains=(0.160, 0.185, 0.185, 0.215),
        skew=-0.25,
        strengths=(0.84, 1.02, 1.00, 0.98),
        trapping=0.90,
        n=2.1,
        ink_limit=280,
        unsteady=0.005,
        wander=0.04,
    ),
    "millrace-press": Device(
        "millrace's card press",
        _OFFSET_INKS,
        gains=(0.165, 0.120, 0.165, 0.150),
        skew=0.15,
        strengths=(1.02, 0.90, 1.10, 0.97),
        trapping=0.93,
        n=1.8,
        ink_limit=300,
    ),
}


# ------------------------------------------------------------------------------- the printing
def _dots(amounts: Array, device: Device, spread: float) -> Array:
    """Return the areas that the inks cover, from amounts 0 to 1."""
    room = 4 * amounts * (1 - amounts)
    lean = 1 + device.skew * (1 - 2 * amounts)
    return np.clip(amounts + np.array(device.gains) * spread * room * lean, 0, 1)


def _limited(amounts: Array, device: Device) -> Array:
    """Scale cyan, magenta and yellow back where the total is above the ink limit."""
    colours, black = amounts[:, :3], amounts[:, 3:]
    room = np.maximum(device.ink_limit / 100 - black, 0)
    total = np.maximum(colours.sum(axis=1, keepdims=True), 1e-9)
    return np.asarray(np.hstack([colours * np.minimum(1, room / total), black]))


def _driver(rgb: Array) -> Array:
    """Return the inks, 0 to 1, that the inkjet's driver mixes for RGB 0 to 1.

    sRGB's own curve, then colour masking on densities (each ink also stops some of its
    neighbours' light), then black generation from what the three have in common.
    """
    linear = np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)
    density = -np.log10(np.maximum(linear, 0.006))
    masking = np.array([[1.00, -0.10, -0.03], [-0.20, 1.02, -0.07], [-0.06, -0.26, 1.00]])
    wanted = np.maximum(density @ masking.T, 0)
    wanted = wanted**2 / (wanted + 0.02)  # no kink where an ink begins
    full = np.array([1.55, 1.45, 1.40])
    areas = np.minimum((1 - 10 ** (-wanted / 1.7)) / (1 - 10 ** (-full / 1.7)), 1)
    black = 0.8 * areas.prod(axis=1, keepdims=True) ** 1.3
    return np.asarray(np.hstack([areas * (1 - 0.45 * black), black]))


def _primaries(device: Device, stock: Stock, strengths: Array) -> Array:
    """Return the reflectances of the sixteen Neugebauer primaries, (16, 36)."""
    solids = np.stack([ink.density() for ink in device.inks])
    solids = solids * (strengths * stock.strength)[:, None]
    inks = _SUBSETS.sum(axis=1)
    trapped = device.trapping ** np.maximum(inks - 1, 0)
    passes = 10 ** -((_SUBSETS @ solids) * trapped[:, None])
    veil = np.where(inks > 0, device.opacity, 0.0)[:, None]
    body = (1 - veil) * stock.reflectance * passes + veil * 0.85 * passes
    return np.asarray(np.where(inks[:, None] > 0, stock.floor + (1 - stock.floor) * body, body))


def _strengths(device: Device, day: datetime.date | None) -> Array:
    """Return the inks' strengths on a day; without a day, as they were set up."""
    if day is None:
        return np.array(device.strengths)
    phases = np.array([0.3, 1.7, 3.4, 4.6]) + len(device.title)
    turn = 2 * np.pi * day.toordinal() / np.array([190.0, 233.0, 161.0, 307.0])
    swing = 1 + device.wander * np.sin(turn + phases)
    return np.asarray(np.array(device.strengths) * swing)


def inks_for(device: Device, builds: Array) -> Array:
    """Return the inks, (n, 4) from 0 to 1, that a device lays down for builds as they are sent."""
    amounts = np.asarray(builds, dtype=np.float64) / FULL_SCALE[device.drive]
    if amounts.ndim != 2 or amounts.shape[1] != len(CHANNELS[device.drive]):
        raise ValueError(f"{device.title} takes builds of {' '.join(CHANNELS[device.drive])}")
    return _limited(_driver(amounts) if device.drive is Drive.RGB else amounts, device)


def spectra(
    device: Device,
    stock: Stock,
    builds: Array,
    *,
    day: datetime.date | None = None,
    jitter: Array | None = None,
) -> Array:
    """Return the reflectances, (n, 36), of builds on a device and a stock, without reading noise.

    Parameters
    ----------
    builds
        (n, 4) CMYK in percent, or (n, 3) RGB 0 to 255 for a device driven in RGB.
    day
        The day of printing, for drift.
    jitter
        (n, 4) how far each dot's area is off, 0 to 1; clean paper stays clean.
    """
    areas = _dots(inks_for(device, builds), device, stock.spread)
    if jitter is not None:
        areas = np.clip(areas + jitter * np.minimum(1, 4 * areas), 0, 1)
    weights = np.prod(
        np.where(_SUBSETS[None] == 1, areas[:, None, :], 1 - areas[:, None, :]), axis=2
    )
    roots = _primaries(device, stock, _strengths(device, day)) ** (1 / device.n)
    return np.asarray((weights @ roots) ** device.n)


def true_lab(device: Device, stock: Stock, builds: Array) -> Array:
    """Return CIELAB, (n, 3), of builds as printed on a day like any other, without noise."""
    return spectra_to_lab(spectra(device, stock, builds), WAVELENGTHS_NM)


def read_sheet(
    device: Device,
    stock: Stock,
    builds: Array,
    *,
    sheet_id: str,
    swatch_ids: Sequence[str],
    day: datetime.date | None = None,
) -> Array:
    """Print swatches and read them: reflectances, (n, 36), with a sheet's and a reading's noise.

    The noise of a swatch depends on sheet id, device, stock and swatch id alone, so that reading
    a sheet again gives the same file.
    """
    dice = [
        np.random.default_rng(
            int.from_bytes(
                hashlib.sha256(
                    "\n".join((sheet_id, device.title, stock.title, name)).encode()
                ).digest()[:8],
                "big",
            )
        )
        for name in swatch_ids
    ]
    jitter = np.array([die.normal(0, device.unsteady, 4) for die in dice])
    clean = spectra(device, stock, builds, day=day, jitter=jitter)
    level = np.array([die.normal(0, 0.0015, 1) for die in dice])
    grain = np.array([die.normal(0, 0.0006, WAVELENGTHS_NM.size) for die in dice])
    return np.asarray(np.clip(clean * (1 + level) + grain, 0.0005, None))
