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
from dataclasses import dataclass, fields
from functools import cached_property
from pathlib import Path

import numpy as np
import practices as do
from scipy.interpolate import RBFInterpolator
from simulated_person import in_all_directions
from virtual_pairs import KRITA, raw_set

from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000, delta_e_2000_metric
from inkaccord.colour.glass import (
    LIKE_INKS,
    SwatchesSeen,
    assumed_lab,
    assumed_xyz,
    like_on_glass,
    press_as_seen,
    print_like,
)
from inkaccord.colour.looks import Look
from inkaccord.colour.picks import offered_on, picked_build
from inkaccord.colour.sampling.eye_set import eye_set
from inkaccord.colour.seeing import seeing_of
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
EYE = 1.2
"""Root mean square error of a look, ΔE00."""
STRAY, GLOSS = 0.006, 0.004
"""Light from elsewhere on all, and mirrored by the thing, at most: share of white."""
FREE = (("charts", 0, "FL10"), ("charts", 0, "FL8"), ("charts", 0, "LED-B4"))
REPORTED = (
    *(("samples", None, lamp) for lamp in ("LED-RGB1", "3-LED-3 (465/546/614)")),
    *(("samples", at, lamp) for at in (0, 1) for lamp in ("FL7", "FL11", "LED-B3", "LED-B5")),
)
"""Things, sensor (by its place in colour-science's list, None for bare silicon) and lamp."""
CHARTS = ("BabelColor Average", "PMC", "ISO 17321-1")
LED_CUTS = {"LED-RGB1": (585.0, 490.0), "3-LED-3 (465/546/614)": (585.0, 500.0)}
"""Where the light of one LED ends and that of the next begins, nm."""
SAMPLES = "tcs_cfi2017_5_nm.csv.gz"


@dataclass(frozen=True)
class Trial:
    """How far the print of the build found lies from the thing, and what was said of it."""

    error: float
    bound: float
    nearest: float
    """The same of the swatch that was named as the nearest."""
    looked: float
    """The same after one look of an eye at the three that were named; NaN where nobody looked."""
    looked_bound: float


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

    ``sensor`` is the place of a camera's sensor in colour-science's list; None for a bar of bare
    silicon, lit by the three LEDs of the lamp one after the other.
    """
    colour = colour_science()
    lamps = colour.SDS_ILLUMINANTS if lamp in colour.SDS_ILLUMINANTS else colour.SDS_LIGHT_SOURCES
    light = np.interp(NM, lamps[lamp].wavelengths, lamps[lamp].values)
    if sensor is None:
        red, blue = (cut < NM for cut in LED_CUTS[lamp])
        weights = np.stack([red, blue & ~red, ~blue], -1) * light[:, None]
    else:
        seen = list(colour.MSDS_CAMERA_SENSITIVITIES.values())[sensor]
        filters = [np.interp(NM, seen.wavelengths, one, left=0, right=0) for one in seen.values.T]
        weights = np.stack(filters, -1) * light[:, None]
    weights /= weights.sum(axis=0)
    return weights, matrix_of(weights, charts)


def matrix_of(weights, charts):
    """Return a driver's matrix (3, 3): it brings ``charts`` nearest to sRGB.

    The errors that this leaves are what makes unlike materials part.
    """
    xyz = spectra_to_xyz(charts, NM) / 100
    wanted = xyz @ np.linalg.inv(assumed_xyz(np.eye(3)) / 100)
    white = np.ones((1, 3))  # weighted so that white stays white
    return np.linalg.lstsq(
        np.concatenate([charts @ weights, 100 * white]),
        np.concatenate([wanted, 100 * white]),
        rcond=None,
    )[0]


def scanned(spectra, seeing, rng, *, gloss=0.0):
    """Return what a scanner makes of spectra (n, w): raw light, noise, and its driver's matrix.

    Eight bits are no limit here: a swatch is the mean of thousands of pixels that are noisier.
    """
    weights, matrix = seeing
    raw = 0.88 * (spectra @ weights + gloss) + STRAY
    raw *= 1 + rng.normal(0, NOISE, raw.shape) + rng.normal(0, LEFT_UNEVEN, (len(raw), 1))
    return np.maximum(raw @ matrix, 1e-4)


def look_for(press, spectrum, seeing, rng, *, is_print=False, looks=False):
    """Look for one thing on one sheet; None where the press can't print its colour.

    ``is_print``: as ``compare`` looks, which knows that both are prints.
    """
    lab = spectra_to_lab(spectrum, NM)
    if press.nearest(lab)[1] > IN_REACH:
        return None
    root = np.linalg.cholesky(delta_e_2000_metric(lab))
    wanted = lab + np.linalg.solve(root.T, rng.normal(0, GUESS_OFF / np.sqrt(3.0), 3))
    policy = do.policy(whole=True)
    swatches = eye_set(press.unread, press.nearest(wanted)[0], policy)
    controls = np.array([build.values for build in control_builds(Drive.CMYK)])
    builds = np.concatenate([swatches, controls])
    linear = scanned(press.spectra(builds), seeing, rng)
    seen = SwatchesSeen(
        drive=Drive.CMYK,
        builds=builds,
        linear=linear,
        noise=np.full(len(builds), 0.3),
        seeing=seeing_of(linear[-len(controls) :]),
    )
    thing = scanned(spectrum[None], seeing, rng, gloss=rng.uniform(0, GLOSS))[0]
    model, thing = press_as_seen(seen), assumed_lab(thing)
    if is_print:
        found = print_like(model, seen, thing, policy, error=float(np.hypot(0.3, LIKE_INKS)))
    else:
        found = like_on_glass(model, seen, thing, policy, noise=0.3)
    missed = delta_e_2000(press.lab(np.stack([found.build, builds[found.nearest[0]]])), lab)
    after, bound = look_once(press, builds, found, lab, rng) if looks else (np.nan, np.nan)
    return Trial(float(missed[0]), found.bound, float(missed[1]), after, bound)


def look_once(press, builds, found, lab, rng):
    """Return how far off a look at the three swatches that a scan named leads, and its bound.

    Nobody has read the pair, so that all is weighed by a model of its paper alone.
    """
    offered, three = offered_on(press.unread, builds), found.nearest
    perceived = in_all_directions(lab[None], EYE, rng)[0]
    chosen = three[int(delta_e_2000(press.lab(builds[list(three)]), perceived).argmin())]
    thing = press.unread.predict_lab(found.build[None])[0]
    looks = [
        Look(offered, three[0], compared=(thing, found.error)),
        Look(offered, chosen, among=three, by="a person"),
    ]
    picked = picked_build(press.unread, looks, do.policy(whole=True))
    return float(delta_e_2000(press.lab(picked.build[None]), lab)[0]), picked.bound


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
    of = {it.name: np.array([getattr(trial, it.name) for trial in trials]) for it in fields(Trial)}
    eyes = ~np.isnan(of["looked"])
    return {
        "things": len(trials),
        **_figures(of["error"], of["bound"]),
        "nearest swatch": round(float(np.median(of["nearest"])), 2),
        "looked at": int(eyes.sum()),
        "before the look": _figures(of["error"][eyes], of["bound"][eyes]),
        "after it": _figures(of["looked"][eyes], of["looked_bound"][eyes]),
    }


def _figures(errors, bounds):
    return {
        "median": round(float(np.median(errors)), 2),
        "p95": round(float(np.percentile(errors, 95)), 2),
        "within": round(float(np.mean(errors <= bounds)), 3),
        "bound": round(float(np.median(bounds)), 2),
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    parser.add_argument("--only", metavar="TEXT", default="", help="rows whose name has this")
    parser.add_argument(
        "--look-every", type=int, default=4, help="look at each so many-th thing (this takes long)"
    )
    parser.add_argument("--quick", action="store_true", help="few things: a smoke test")
    asked = parser.parse_args()
    if not KRITA.exists():
        sys.exit("the Debian package krita-data is not installed")
    press, sets = Press(), things()
    sets["prints"] = prints(press, 60, np.random.default_rng(SEED))
    table = {}
    rows = [("looked at while it was made", *row) for row in FREE]
    rows += [("", *row) for row in REPORTED]
    rows += [(use, "prints", 1, "LED-B3") for use in ("", "compared")]
    rows += [(use, "prints", None, "LED-RGB1") for use in ("", "compared")]
    for use, kind, sensor, lamp in rows[-1:] if asked.quick else rows:
        rng = np.random.default_rng([SEED, sensor or 0, zlib.crc32(f"{kind} {lamp}".encode())])
        seen_by = "three LEDs" if sensor is None else f"sensor {sensor + 1}"
        name = f"{kind}, {seen_by}, {lamp}" + (f" ({use})" if use else "")
        if asked.only not in name:
            continue
        spectra, seeing = sets[kind], scanner(sensor, lamp, sets["charts"])
        trials = [
            trial
            for at, spectrum in enumerate(spectra[:4] if asked.quick else spectra)
            if (
                trial := look_for(
                    press,
                    spectrum,
                    seeing,
                    rng,
                    is_print=use == "compared",
                    looks=at % asked.look_every == 0,
                )
            )
            is not None
        ]
        table[name] = figures(trials)
        if not asked.json:
            print(f"{name:60} {table[name]}", flush=True)
    if asked.json:
        print(json.dumps({"seed": SEED, "glass": table}, ensure_ascii=False, indent=1))


if __name__ == "__main__":
    main()
