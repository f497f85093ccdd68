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
from dataclasses import dataclass, fields, replace
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
from inkaccord.sheets.scan.on_glass import PHOTOGRAPHED

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
BENT = 1.25
"""Root mean square ΔE00 by which a photograph itself errs (drawn ones: ``docs/readings.md``)."""
TELEPHONES = {"photographed in D65 too": (0, "D65"), "photographed under LED-B3 too": (0, "LED-B3")}
"""What takes a photograph of the same, sensor and lamp."""
CAUSES = {"noise": ["NOISE"], "uneven": ["LEFT_UNEVEN"], "stray": ["STRAY", "GLOSS"], "unlike": []}
"""What makes a scan err, by the figures here that it goes with."""
CONTROLS = np.array([build.values for build in control_builds(Drive.CMYK)])
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
    then: float
    """The same after more was seen; NaN where nothing was."""
    then_bound: float


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


def look_for(press, spectrum, seeing, rng, *, is_print=False, then=None):
    """Look for one thing on one sheet; None where the press can't print its colour.

    ``is_print``: as ``compare`` looks, which knows that both are prints. ``then``: gives another
    :class:`Look` of what was seen next, as :func:`eye` does.
    """
    lab = spectra_to_lab(spectrum, NM)
    if press.nearest(lab)[1] > IN_REACH:
        return None
    root = np.linalg.cholesky(delta_e_2000_metric(lab))
    wanted = lab + np.linalg.solve(root.T, rng.normal(0, GUESS_OFF / np.sqrt(3.0), 3))
    policy = do.policy(whole=True)
    swatches = eye_set(press.unread, press.nearest(wanted)[0], policy)
    builds = np.concatenate([swatches, CONTROLS])
    found = likeness(press, builds, spectrum, seeing, rng, is_print=is_print)
    missed = delta_e_2000(press.lab(np.stack([found.build, builds[found.nearest[0]]])), lab)
    end = np.nan, np.nan
    if then is not None:
        offered = offered_on(press.unread, builds)
        looks = compared(press, offered, found, "a scanner"), then(press, offered, found, spectrum)
        # nobody has read the pair, so that all is weighed by a model of its paper alone
        picked = picked_build(press.unread, looks, policy)
        end = float(delta_e_2000(press.lab(picked.build[None]), lab)[0]), picked.bound
    return Trial(float(missed[0]), found.bound, float(missed[1]), *end)


def likeness(press, builds, spectrum, seeing, rng, *, is_print=False, photographed=False):
    """Return what is found for a thing of a spectrum beside prints of builds, controls last."""
    linear = scanned(press.spectra(builds), seeing, rng)
    told = None if photographed else seeing_of(linear[-len(CONTROLS) :])
    noise = np.full(len(builds), 0.3)
    seen = SwatchesSeen(drive=Drive.CMYK, builds=builds, linear=linear, noise=noise, seeing=told)
    model, policy = press_as_seen(seen), do.policy(whole=True)
    thing = assumed_lab(scanned(spectrum[None], seeing, rng, gloss=rng.uniform(0, GLOSS)))
    if photographed:
        thing = in_all_directions(thing, BENT, rng)
    if is_print:
        error = float(np.hypot(0.3, LIKE_INKS))
        return print_like(model, seen, thing[0], policy, error=error)
    found = like_on_glass(model, seen, thing[0], policy, noise=0.3)
    return replace(found, error=float(np.hypot(found.error, PHOTOGRAPHED * photographed)))


def compared(press, offered, found, by):
    """Return what a scanner or a telephone found, as a look."""
    lab = press.unread.predict_lab(found.build[None])[0]
    return Look(offered, found.nearest[0], compared=(lab, found.error), by=by)


def eye(rng):
    """Return a look at the three swatches that a scan named, by an eye."""

    def look(press, offered, found, spectrum):
        perceived = in_all_directions(spectra_to_lab(spectrum, NM)[None], EYE, rng)[0]
        apart = delta_e_2000(press.lab(offered.builds[list(found.nearest)]), perceived)
        chosen = found.nearest[int(apart.argmin())]
        return Look(offered, chosen, among=found.nearest, by="a person")

    return look


def photograph(camera, rng):
    """Return what a photograph by a telephone that sees like ``camera`` finds."""

    def look(press, offered, _, spectrum):
        found = likeness(press, offered.builds, spectrum, camera, rng, photographed=True)
        return compared(press, offered, found, "a telephone")

    return look


def like_ink(press, spectra):
    """Return the prints (n, w) of the press that a person takes for things, as far as it can."""
    from seeing import matching_prints  # which imports from here

    builds = press.table[0][press.table[0][:, 3] <= 20]
    found = matching_prints(press, builds, spectra)
    return found[~np.isnan(found[:, 0])]


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
    some = ~np.isnan(of["then"])
    return {
        "things": len(trials),
        **_figures(of["error"], of["bound"]),
        "nearest swatch": round(float(np.median(of["nearest"])), 2),
        "seen again": int(some.sum()),
        "before that": _figures(of["error"][some], of["bound"][some]),
        "after it": _figures(of["then"][some], of["then_bound"][some]),
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
        "--again-every", type=int, default=4, help="see each so many-th thing again"
    )
    parser.add_argument(
        "--without", choices=CAUSES, nargs="+", default=(), help="causes of error to switch off"
    )
    parser.add_argument("--quick", action="store_true", help="few things: a smoke test")
    asked = parser.parse_args()
    if not KRITA.exists():
        sys.exit("the Debian package krita-data is not installed")
    for constant in (it for cause in asked.without for it in CAUSES[cause]):
        globals()[constant] = 0.0
    press, sets = Press(), things()
    if "unlike" in asked.without:
        sets["samples"] = like_ink(press, sets["samples"])
    sets["prints"] = prints(press, 60, np.random.default_rng(SEED))
    table = {}
    rows = [("looked at while it was made", *row) for row in FREE]
    rows += [("", *row) for row in REPORTED]
    rows += [(use, *REPORTED[at]) for use in TELEPHONES for at in (0, 1, 3)]
    rows += [(use, "prints", 1, "LED-B3") for use in ("", "compared")]
    rows += [(use, "prints", None, "LED-RGB1") for use in ("", "compared")]
    for use, kind, sensor, lamp in rows[-1:] if asked.quick else rows:
        rng = np.random.default_rng([SEED, sensor or 0, zlib.crc32(f"{kind} {lamp}".encode())])
        seen_by = "three LEDs" if sensor is None else f"sensor {sensor + 1}"
        name = f"{kind}, {seen_by}, {lamp}" + (f" ({use})" if use else "")
        if asked.only not in name:
            continue
        spectra, seeing = sets[kind], scanner(sensor, lamp, sets["charts"])
        again = np.random.default_rng([SEED, 1])
        then = eye(again)
        if use in TELEPHONES:
            then = photograph(scanner(*TELEPHONES[use], sets["charts"]), again)
        trials = []
        for at, spectrum in enumerate(spectra[:4] if asked.quick else spectra):
            is_print = use == "compared" or "unlike" in asked.without
            more = None if at % asked.again_every else then
            trial = look_for(press, spectrum, seeing, rng, is_print=is_print, then=more)
            trials += [] if trial is None else [trial]
        table[name] = figures(trials)
        if not asked.json:
            print(f"{name:60} {table[name]}", flush=True)
    if asked.json:
        print(json.dumps({"seed": SEED, "glass": table}, ensure_ascii=False, indent=1))


if __name__ == "__main__":
    main()
