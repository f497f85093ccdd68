"""What a scanner sees on one glass: which build would look to it like a thing that lies there.

No calibration: a press model is fitted to the numbers that the scanner itself gave for the printed
swatches, as if they were colours, and matched to the numbers that it gave for the thing. So the
model carries all that the scanner sees otherwise than people do, and only what it sees otherwise of
the *thing* than of ink is left (metamerism). Of that, the controls tell the part in which things at
large differ from ink (:mod:`~inkaccord.colour.seeing`); the rest no scan can tell.
"""

from dataclasses import dataclass

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.ink_policy import Black, InkPolicy
from inkaccord.colour.matching.match import match
from inkaccord.colour.press.model import PressModel, fit
from inkaccord.colour.readings import Readings
from inkaccord.colour.seeing import Seeing
from inkaccord.colour.spaces import D50_WHITE, xyz_to_lab
from inkaccord.colour.uncertainty import BOUND

METAMERISM = 4.5
"""Root mean square ΔE00 between a thing and a print that a scanner sees alike of which nothing is
known: its bound holds in 95 of 100 with drawn scanners (``tests/benchmarks/seeing.py``)."""
LIKE_INKS = 1.9
"""The same between two prints of unlike inks."""
_LEAST_NOISE = 0.3
"""ΔE00 that no scanner's swatch is taken to be surer than."""

# Linear sRGB to XYZ, adapted to D50 by Bradford (the matrix of ICC.1's sRGB profiles).
_SRGB_TO_XYZ = np.array(
    [
        [0.4360747, 0.3850649, 0.1430804],
        [0.2225045, 0.7168786, 0.0606169],
        [0.0139322, 0.0971045, 0.7141733],
    ]
)


def assumed_xyz(linear: Array) -> Array:
    """Return XYZ (white Y = 100) of linear RGB (..., 3), were it sRGB."""
    return np.asarray(np.maximum(linear, 0.0) @ _SRGB_TO_XYZ.T * 100.0)


def assumed_lab(linear: Array) -> Array:
    """Return CIELAB of linear RGB, were it sRGB: a start, and good enough to compare by."""
    return xyz_to_lab(assumed_xyz(linear), D50_WHITE)


@dataclass(frozen=True, eq=False)
class SwatchesSeen:
    """What a scanner saw of printed swatches.

    Attributes
    ----------
    drive
        How the device that printed them is driven.
    builds
        (n, k) in device units.
    linear
        (n, 3) linear RGB, evenly lit.
    noise
        (n,) root mean square error, ΔE00, of what was seen.
    seeing
        How the scanner sees, as the controls tell; None where they don't.
    """

    drive: Drive
    builds: Array
    linear: Array
    noise: Array
    seeing: Seeing | None = None


@dataclass(frozen=True, eq=False)
class Likeness:
    """The build whose print would look like a thing to the scanner.

    Attributes
    ----------
    build
        (k,) in device units.
    error
        Its root mean square error, ΔE00: what the scanner can't tell, noise and fit included.
    nearest
        Rows of the swatches that should look most like the thing to a person, the nearest first.
    distances
        How far they lie from it, ΔE00 as the scanner sees prints.
    short
        How far the build itself stays from it, ΔE00 as the scanner sees prints.
    """

    build: Array
    error: float
    nearest: tuple[int, ...]
    distances: tuple[float, ...]
    short: float

    @property
    def bound(self) -> float:
        """The ΔE00 within which the thing lies in 95 of 100 cases."""
        return BOUND * self.error


def press_as_seen(seen: SwatchesSeen) -> PressModel:
    """Return a model of what a scanner sees of the prints of a pair, by the swatches that it saw.

    Its CIELAB is the scanner's (:func:`assumed_lab`), and no person's.
    """
    return fit(
        Readings(
            drive=seen.drive,
            builds=seen.builds,
            xyz=assumed_xyz(seen.linear),
            sheet=np.zeros(len(seen.builds), dtype=np.int_),
            noise=np.maximum(seen.noise, _LEAST_NOISE),
        )
    )


def like_on_glass(
    model: PressModel, seen: SwatchesSeen, thing: Array, policy: InkPolicy, *, noise: float
) -> Likeness:
    """Return the build that looks like a thing.

    Parameters
    ----------
    model, seen
        :func:`press_as_seen`, and the swatches on the same glass that it was fitted to.
    thing
        (3,) its colour to the scanner (:func:`assumed_lab`), lit as they are.
    policy
        The pair's limits.
    noise
        Root mean square error, ΔE00, of what was seen of the thing.
    """
    wanted, unlike = thing, METAMERISM
    if seen.seeing is not None:
        wanted, unlike = seen.seeing.as_print(thing[None])[0], seen.seeing.error(thing)
    return print_like(model, seen, wanted, policy, error=float(np.hypot(noise, unlike)))


def print_like(
    model: PressModel, seen: SwatchesSeen, wanted: Array, policy: InkPolicy, *, error: float
) -> Likeness:
    """Return the build whose print looks like another print to the scanner.

    Black is kept near that of the nearest swatch: a scanner sees black otherwise than the same grey
    of three inks, so that it can tell little of how much of either is right.

    Parameters
    ----------
    model, seen, policy
        As for :func:`like_on_glass`.
    wanted
        (3,) the colour of that print to the scanner.
    error
        Root mean square ΔE00 by which that may be wrong.
    """
    apart = delta_e_2000(assumed_lab(seen.linear), wanted)
    nearest = np.argsort(apart, kind="stable")[:3]
    near = policy.model_copy(
        update={"black": Black.NEAR, "black_free_above": None, "spare_ink_within": 0.0}
    )
    found = match(model, wanted[None], near, near=seen.builds[nearest[0]])
    short = float(found.delta_e_00[0])
    local = float(found.bound[0]) / BOUND
    return Likeness(
        build=found.builds[0],
        error=float(np.sqrt(local**2 + short**2 + error**2)),
        nearest=tuple(int(at) for at in nearest),
        distances=tuple(float(apart[at]) for at in nearest),
        short=short,
    )
