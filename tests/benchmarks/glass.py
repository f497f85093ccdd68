"""How near a thing on a scanner's glass comes: simulated scanners, lamps and measured things.

    python tests/benchmarks/glass.py [--json] [--quick]

Press: the 2,376 measured spectra of the characterisation target in cmyk.icm of Debian's krita-data
(tag 'targ'), a smooth surface laid through them where a build lies between. Things: measured
spectra that colour-science carries: the 99 colour samples of CIE 224:2017 (plants, skin, textiles,
paints, plastics, prints) and three colour charts. Scanners: the sensitivities of the two sensors of
colour-science's MSDS_CAMERA_SENSITIVITIES under the CIE's fluorescent and LED lamps; neither meets
the Luther condition. Each thing is looked for on one sheet, the swatches for the eye and the
controls round a guess that lies 5 ΔE00 off, root mean square.

What is seen is simulated swatch by swatch, not pixel by pixel: noise, light that is left uneven,
stray light, gloss on the thing, the driver's matrix. How pictures are read is tested in
tests/sheets/scan/test_on_glass.py. METAMERISM and LIKE_INKS of colour/glass.py were set by the rows
'tuned on' alone.
"""

import argparse
import gzip
import json
import sys
import warnings
import zlib
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np
import practices as do
from scipy.interpolate import RBFInterpolator
from virtual_pairs import KRITA, raw_set

from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000, delta_e_2000_metric
from inkaccord.colour.glass import (
    LIKE_INKS,
    METAMERISM,
    SwatchesSeen,
    assumed_lab,
    assumed_xyz,
    like_on_glass,
    press_as_seen,
)
from inkaccord.colour.sampling.eye_set import eye_set
from inkaccord.colour.spaces import lab_to_xyz
from inkaccord.colour.spectra import colour_science, spectra_to_lab, spectra_to_xyz
from inkaccord.sheets.controls import control_builds

SEED = 20262
NM = np.arange(380.0, 731.0, 10.0)
GUESS_OFF = 5.0
"""Root mean square ΔE00 of the guess that the sheet lies round."""
IN_REACH = 1.5
"""ΔE00 within which the press must print a thing's colour for it to be looked for."""
NOISE, LEFT_UNEVEN = 0.002, 0.003
"""Standard deviations of what is seen of a swatch, as a share: of each channel, and of its light
(the drawn scans of the tests have 0.15 ΔE00 of both together)."""
STRAY, GLOSS = 0.006, 0.004
"""Light from elsewhere on all, and mirrored by the thing, at most: share of white."""
TUNED = (("charts", 0, "FL10"), ("charts", 0, "FL8"), ("charts", 0, "LED-B4"))
REPORTED = tuple(
    ("samples", sensor, lamp) for sensor in (0, 1) for lamp in ("FL7", "FL11", "LED-B3", "LED-B5")
)
"""Things, sensor (by its place in colour-science's list) and lamp."""
CHARTS = ("BabelColor Average", "PMC", "ISO 17321-1")
SAMPLES = "tcs_cfi2017_5_nm.csv.gz"


@dataclass(frozen=True)
class Trial:
    """How far the print of the build found lies from the thing, and what was said of it."""

    error: float
    bound: float
    nearest: float
    """The same of the swatch that looked most like it to the scanner."""


class Press:
    """A press that prints measured spectra."""

    channels = 4
    name = "krita-data"

    def __init__(self):
        readings = raw_set(KRITA)
        builds, rows = np.unique(readings.builds, axis=0, return_inverse=True)
        spectra = np.zeros((len(builds), readings.spectra.shape[1]))
        np.add.at(spectra, rows.ravel(), readings.spectra)
        spectra /= np.bincount(rows.ravel())[:, None]
        self._surface = RBFInterpolator(
            builds / 100, np.log(np.maximum(spectra, 1e-3)), neighbors=60, smoothing=1e-4, degree=1
        )

    def spectra(self, builds):
        """Return reflectance (n, w) of builds (n, 4)."""
        return np.exp(self._surface(np.asarray(builds, dtype=np.float64) / 100))

    def lab(self, builds):
        return spectra_to_lab(self.spectra(builds), NM)

    def xyz(self, builds):
        return lab_to_xyz(self.lab(builds))

    @cached_property
    def table(self):
        """Builds as stationery uses them, and their CIELAB."""
        builds = np.rint(do.random_builds(self, 20_000, np.random.default_rng(SEED)))
        return builds, self.lab(builds)

    @cached_property
    def unread(self):
        """A model of the pair by its paper alone, as it is before anything is printed."""
        blank = np.zeros((1, 4))
        return do.fit(do.read(self, blank, np.random.default_rng(0), noise=2.0))

    def nearest(self, lab):
        """Return the build of the table that comes nearest with little black, and how near."""
        builds, labs = self.table
        apart = delta_e_2000(labs, lab)
        row = int(np.argmin(apart + 0.02 * builds[:, 3]))
        return builds[row], float(apart.min())


def things():
    """Return the spectra (n, w) of things by the name of their set."""
    colour = colour_science()
    charts = [
        np.interp(NM, one.wavelengths, one.values)
        for name in CHARTS
        for one in colour.SDS_COLOURCHECKERS[name].values()
    ]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour.quality.datasets as kept
    with gzip.open(Path(kept.__file__).parent / SAMPLES, "rt") as stream:
        rows = np.loadtxt(stream, delimiter=",")
    samples = [np.interp(NM, rows[:, 0], column) for column in rows[:, 1:].T]
    return {"charts": np.array(charts), "samples": np.array(samples)}


def scanner(sensor, lamp, charts):
    """Return the weights (w, 3) that turn a spectrum into a scanner's linear RGB.

    As drivers do, its raw numbers go through a matrix that brings ``charts`` nearest to sRGB; the
    errors that this leaves are what makes unlike materials part.
    """
    colour = colour_science()
    seen = list(colour.MSDS_CAMERA_SENSITIVITIES.values())[sensor]
    light = colour.SDS_ILLUMINANTS[lamp]
    weights = np.stack(
        [np.interp(NM, seen.wavelengths, column, left=0, right=0) for column in seen.values.T], -1
    )
    weights *= np.interp(NM, light.wavelengths, light.values)[:, None]
    weights /= weights.sum(axis=0)
    xyz = spectra_to_xyz(charts, NM) / 100
    wanted = xyz @ np.linalg.inv(assumed_xyz(np.eye(3)) / 100)
    raw = charts @ weights
    white = np.ones((1, 3))  # weighted so that white stays white
    matrix = np.linalg.lstsq(
        np.concatenate([raw, 100 * white]), np.concatenate([wanted, 100 * white]), rcond=None
    )[0]
    return weights, matrix


def scanned(spectra, seeing, rng, *, gloss=0.0):
    """Return what a scanner makes of spectra (n, w): raw light, noise, and its driver's matrix.

    Eight bits are no limit here: a swatch is the mean of thousands of pixels that are noisier.
    """
    weights, matrix = seeing
    raw = 0.88 * (spectra @ weights + gloss) + STRAY
    raw *= 1 + rng.normal(0, NOISE, raw.shape) + rng.normal(0, LEFT_UNEVEN, (len(raw), 1))
    return np.maximum(raw @ matrix, 1e-4)


def look_for(press, spectrum, seeing, rng, metamerism):
    """Look for one thing on one sheet; None where the press can't print its colour."""
    lab = spectra_to_lab(spectrum, NM)
    if press.nearest(lab)[1] > IN_REACH:
        return None
    root = np.linalg.cholesky(delta_e_2000_metric(lab))
    wanted = lab + np.linalg.solve(root.T, rng.normal(0, GUESS_OFF / np.sqrt(3.0), 3))
    policy = do.policy(whole=True)
    swatches = eye_set(press.unread, press.nearest(wanted)[0], policy)
    controls = np.array([build.values for build in control_builds(Drive.CMYK)])
    builds = np.concatenate([swatches, controls])
    seen = SwatchesSeen(
        drive=Drive.CMYK,
        builds=builds,
        linear=scanned(press.spectra(builds), seeing, rng),
        noise=np.full(len(builds), 0.3),
    )
    thing = scanned(spectrum[None], seeing, rng, gloss=rng.uniform(0, GLOSS))[0]
    found = like_on_glass(
        press_as_seen(seen), seen, assumed_lab(thing), policy, noise=0.3, metamerism=metamerism
    )
    missed = delta_e_2000(press.lab(np.stack([found.build, builds[found.nearest[0]]])), lab)
    return Trial(float(missed[0]), found.bound, float(missed[1]))


def prints(press, count, rng):
    """Return spectra of prints by other inks: the press's own with its inks' bands moved."""
    builds = press.table[0][rng.choice(len(press.table[0]), count, replace=False)]
    spectra = press.spectra(builds)
    return np.array(
        [
            np.interp(NM, NM + shift, row)
            for row, shift in zip(spectra, rng.choice([-8.0, -5.0, 5.0, 8.0], count), strict=True)
        ]
    )


def figures(trials):
    """Return the figures of trials in words."""
    errors, bounds, nearest = (
        np.array([getattr(it, name) for it in trials]) for name in ("error", "bound", "nearest")
    )
    return {
        "things": len(trials),
        "median": round(float(np.median(errors)), 2),
        "p95": round(float(np.percentile(errors, 95)), 2),
        "rms": round(float(np.sqrt(np.mean(errors**2))), 2),
        "within": round(float(np.mean(errors <= bounds)), 3),
        "bound": round(float(np.median(bounds)), 2),
        "nearest swatch": round(float(np.median(nearest)), 2),
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.add_argument("--quick", action="store_true", help="few things: a smoke test")
    asked = parser.parse_args()
    if not KRITA.exists():
        sys.exit("the Debian package krita-data is not installed")
    press, sets = Press(), things()
    sets["prints"] = prints(press, 60, np.random.default_rng(SEED))
    table = {}
    rows = [("tuned on", *row) for row in TUNED] + [("", *row) for row in REPORTED]
    rows += [("", "prints", 1, "LED-B3"), ("tuned on", "prints", 0, "LED-B4")]
    for use, kind, sensor, lamp in rows[-1:] if asked.quick else rows:
        rng = np.random.default_rng([SEED, sensor, zlib.crc32(f"{kind} {lamp}".encode())])
        spectra, seeing = sets[kind], scanner(sensor, lamp, sets["charts"])
        wanted = LIKE_INKS if kind == "prints" else METAMERISM
        trials = [
            trial
            for spectrum in (spectra[:4] if asked.quick else spectra)
            if (trial := look_for(press, spectrum, seeing, rng, wanted)) is not None
        ]
        name = f"{kind}, sensor {sensor + 1}, {lamp}" + (f" ({use})" if use else "")
        table[name] = figures(trials)
        if not asked.json:
            print(f"{name:44} {table[name]}", flush=True)
    if asked.json:
        print(json.dumps({"seed": SEED, "glass": table}, ensure_ascii=False, indent=1))


if __name__ == "__main__":
    main()
