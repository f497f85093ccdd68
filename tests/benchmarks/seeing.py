"""Learn what scanners see otherwise than people do, by how they see the controls of a sheet.

    python tests/benchmarks/seeing.py [--presses N] [--scanners N] [--check] [--read [FILE…]]

prints what stands in ``runner/inkaccord/colour/seeing.txt``. Everything is drawn at random: presses
(absorption bands of process inks, shapes from memory, kept if their solids lie near those of ISO
12647-2, from memory; halftones by the Yule-Nielsen modified Neugebauer equations) and scanners
(three LEDs one after the other and no filters; filters under white LEDs, three-band and broad-band
lamps). Things are the 190 measured patches that colour-science carries for raw conversion. Nothing
that ``glass.py`` judges by takes part: not its press, sensors or lamps, nor any patch that is
nearly one of its things. ``--check`` tells instead how near drawn scanners come on drawn presses
that were left out, and those of ``glass.py`` on its press and things (their spectra alone, without
noise and fit), and how often the bound holds. ``--floor FILE…`` tells how near these could come if
scanner and press were known: their own way from things to prints, learnt on spectra in files (CSV,
wavelengths in the first column) of which none is nearly a thing that is judged by. ``--read``
learns twice, and checks both: by how the controls look to the scanner, and by their CIELAB, as an
instrument reads it, besides; with such files it judges by their spectra too.
"""

import argparse
import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("OMP_NUM_THREADS", "1")

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from glass import NM, REPORTED, STRAY, Press, matrix_of, scanner, things

from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.glass import assumed_lab
from inkaccord.colour.seeing import Learnt, read_learnt, signs_of, terms
from inkaccord.colour.spectra import colour_science, spectra_to_lab, spectra_to_xyz
from inkaccord.colour.uncertainty import BOUND
from inkaccord.sheets.controls import control_builds

SEED = 20263
CONTROLS = np.array([build.values for build in control_builds(Drive.CMYK)])
NEARLY = 0.02
"""Root mean square of reflectance within which a patch counts as one of the things judged by."""
NOISE = 0.3
UNEXPLAINED = 0.03
"""Ridge of the weights, as a share of a sign's variance (0.01 to 0.1 do alike on ``--check``)."""
HELD_FOR = 85.0
"""Percent of scanners for which the bound is to hold in at least 95 of 100 things."""
SOLIDS = np.array([[1, 0, 0], [0, 1, 0], [0, 0, 1], [0, 1, 1], [1, 0, 1], [1, 1, 0]]) * 100.0
SOLIDS_LAB = np.array(
    [[56, -36, -51], [48, 75, -4], [89, -4, 93], [48, 68, 46], [50, -66, 26], [25, 20, -46]], float
)
OFF_SOLIDS = 9.0, 12.0
"""ΔE00 by which a drawn press's inks and overprints may lie from those."""
THREE_BAND = (
    "F32T8/TL830 (Triphosphor)",
    "F32T8/TL850 (Triphosphor)",
    "F32T8/TL865/PLUS (Triphosphor)",
    "Triphosphor FL",
)
BROAD = ("Cool White FL", "F40/C75 (Broadband FL)", "F40/C50 (Broadband FL)", "Daylight FL")
KINDS = ("three LEDs", "white LED", "three-band", "broad-band")


def peak(middle, width):
    return np.exp(-0.5 * ((NM - middle) / width) ** 2)


def edge(middle, width):
    return 1 / (1 + np.exp((NM - middle) / width))


class DrawnPress:
    """Four inks on a paper, drawn until their solids look like process inks."""

    def __init__(self, rng):
        while True:
            self._draw(rng.uniform)
            four = np.column_stack([SOLIDS, np.zeros(len(SOLIDS))])
            off = delta_e_2000(spectra_to_lab(self.spectra(four), NM), SOLIDS_LAB)
            if off[:3].max() < OFF_SOLIDS[0] and off[3:].max() < OFF_SOLIDS[1]:
                return

    def _draw(self, draw):
        absorbing = np.array([_cyan(draw), _magenta(draw), _yellow(draw), _black(draw)])
        paper = draw(0.80, 0.95) * (1 - draw(0, 0.8) * peak(370, draw(14, 30)))
        self._n, self._gain = draw(1.6, 2.6), draw(0.02, 0.16, 4)
        trapped, surface = draw(0.85, 1.0), draw(0.002, 0.012)
        self._on = np.array([[it >> ink & 1 for ink in range(4)] for it in range(16)])
        density = self._on @ absorbing * np.where(self._on.sum(axis=1) > 1, trapped, 1.0)[:, None]
        self._solid = np.maximum(paper * 10.0**-density + surface, 1e-3)

    def spectra(self, builds):
        """Return reflectance (n, w) of builds (n, 4)."""
        share = np.asarray(builds, dtype=np.float64) / 100
        share = np.clip(share + 4 * self._gain * share * (1 - share), 0, 1)[:, None]
        weights = np.where(self._on, share, 1 - share).prod(axis=2)
        return (weights @ self._solid ** (1 / self._n)) ** self._n


def _cyan(draw):
    top, wide = draw(610, 640), draw(42, 62)
    right = np.maximum(peak(625, draw(60, 130)), draw(0, 0.95))
    body = np.where(top > NM, peak(625, wide), right)
    return draw(1.1, 1.8) * body + draw(0.08, 0.3) * edge(draw(410, 435), draw(10, 25)) + 0.07


def _magenta(draw):
    return (
        draw(1.0, 1.5) * peak(draw(560, 572), draw(15, 24))
        + draw(0.8, 1.3) * peak(draw(525, 540), draw(20, 30))
        + draw(0.5, 0.95) * peak(draw(450, 495), draw(30, 50))
        + draw(0.0, 0.3) * edge(draw(410, 435), draw(8, 20))
        + draw(0.005, 0.04)
    )


def _yellow(draw):
    faint = 1 - draw(0.0, 0.6) * edge(draw(405, 425), 10)
    return draw(1.0, 1.5) * edge(draw(487, 500), draw(7, 11)) * faint + draw(0.0, 0.03)


def _black(draw):
    return draw(1.4, 1.85) * (1 + draw(-0.08, 0.12) * (550 - NM) / 180)


def drawn_scanner(kind, rng, charts):
    """Return the weights (w, 3) of a drawn scanner, and its driver's matrix."""
    draw = rng.uniform
    if kind == "three LEDs":
        red, green = peak(draw(612, 642), draw(6, 11)), peak(draw(513, 542), draw(11, 19))
        blue = peak(draw(448, 478), draw(8, 13))
        weights = np.stack([red, green, blue], -1) @ (np.eye(3) + draw(0, 0.03, (3, 3)))
    else:
        weights = _filters(draw) * _lamp(kind, rng)[:, None]
    weights = weights / weights.sum(axis=0)
    some = rng.choice(len(charts), 40, replace=False)
    return weights, matrix_of(weights, charts[some])


def _filters(draw):
    def one(low, high, narrow, wide):
        middle, sides = draw(low, high), np.exp(draw(np.log(narrow), np.log(wide), 2))
        return peak(middle, np.where(middle > NM, *sides))

    own = np.stack([one(585, 635, 20, 55), one(515, 555, 22, 55), one(435, 475, 17, 45)], -1)
    leak = draw(0, 0.12, (3, 3))
    np.fill_diagonal(leak, 1.0)
    return own @ leak


def _lamp(kind, rng):
    draw = rng.uniform
    if kind == "white LED":
        blue = draw(0.6, 1.4) * peak(draw(445, 465), draw(8, 12))
        return blue + 0.8 * peak(draw(545, 580), draw(40, 60))
    names = THREE_BAND if kind == "three-band" else BROAD
    light = colour_science().SDS_LIGHT_SOURCES[names[rng.integers(len(names))]]
    return np.interp(NM, light.wavelengths, light.values)


def measured_patches():
    """Return the spectra (n, w) of patches that ``glass.py`` does not judge by."""
    colour_science()
    from colour.characterisation import read_training_data_rawtoaces_v1

    kept = read_training_data_rawtoaces_v1()
    spectra = np.array([np.interp(NM, kept.wavelengths, column) for column in kept.values.T])
    return unlike_judged(spectra)


def unlike_judged(spectra):
    """Return those of spectra (n, w) that are possible and nearly none that is judged by."""
    judged = np.concatenate(list(things().values()))
    off = np.array([np.sqrt(((judged - it) ** 2).mean(axis=1)).min() for it in spectra])
    return spectra[(spectra.max(axis=1) < 1.0) & (off > NEARLY)]


def matching_prints(press, builds, spectra):
    """Return the prints (n, w) that a person takes for things (n, w); NaN where there is none."""
    prints = press.spectra(builds)
    lab, xyz = spectra_to_lab(prints, NM), spectra_to_xyz(prints, NM) / 100
    found = np.full(spectra.shape, np.nan)
    for row, wanted in enumerate(spectra):
        away = np.sqrt(((lab - spectra_to_lab(wanted, NM)) ** 2).sum(axis=1)) + 0.5
        near = np.argsort(away)[:30]
        if away[near[0]] > 3.5:
            continue
        # the nearest prints, mixed so that X, Y and Z are right
        rows = np.vstack([xyz[near].T, np.ones(len(near))])
        goal = np.append(spectra_to_xyz(wanted, NM) / 100, 1.0)
        pull = away[near] ** -2.0
        mix = np.linalg.lstsq(rows * pull @ rows.T + 1e-12 * np.eye(4), goal, rcond=None)[0]
        found[row] = pull * (rows.T @ mix) @ prints[near]
    return found


@dataclass(frozen=True)
class Seen:
    """What one scanner made of one press's controls, of things, and of prints that match them."""

    kind: str
    signs: np.ndarray
    thing: np.ndarray
    print: np.ndarray
    read: np.ndarray
    """(36,) CIELAB of the controls."""


def drawn(presses, scanners, seed):
    """Return what drawn scanners see of drawn presses."""
    rng = np.random.default_rng(seed)
    builds = rng.beta(0.6, 0.9, (4000, 4)) * 100
    builds[:, 3] *= (rng.random(len(builds)) < 0.4) * 0.3
    spectra, charts = measured_patches(), things()["charts"]
    rows = []
    for _ in range(presses):
        press = DrawnPress(rng)
        prints = matching_prints(press, builds, spectra)
        some = ~np.isnan(prints[:, 0])
        read = spectra_to_lab(press.spectra(CONTROLS), NM).ravel()
        for at in range(scanners):
            kind = KINDS[at % len(KINDS)]
            weights, matrix = drawn_scanner(kind, rng, charts)
            controls, thing, its_print = (
                np.maximum(values @ weights @ matrix, 1e-4)
                for values in (press.spectra(CONTROLS), spectra[some], prints[some])
            )
            signs = signs_of(controls) + rng.normal(0, NOISE, signs_of(controls).shape)
            rows.append(Seen(kind, signs, assumed_lab(thing), assumed_lab(its_print), read))
    return rows


def learn(rows):
    """Return what the rows tell of scanners at large."""
    signs = np.array([row.signs for row in rows])
    middle, scale = signs.mean(axis=0), signs.std(axis=0)
    own = np.array([_offsets(row) for row in rows]).reshape(len(rows), -1)
    told = np.column_stack([np.ones(len(rows)), (signs - middle) / scale])
    ridge = UNEXPLAINED * len(rows) * np.diag([0.0] + [1.0] * len(middle))
    weights = np.linalg.solve(told.T @ told + ridge, told.T @ own)
    learnt = Learnt(middle, scale, weights, np.zeros(len(middle) + 11))
    return _with_spread(learnt, rows)


def _offsets(row):
    """Return the weights (10, 3) of the way from a thing to its print, as this scanner sees it."""
    at = terms(row.thing)
    ridge = 2.0 * np.diag([0.2] + [1.0] * (at.shape[1] - 1))
    return np.linalg.solve(at.T @ at + ridge, at.T @ (row.print - row.thing))


def _with_spread(learnt, rows):
    """Return it with how far the rest strays: a log-linear fit of squared distances."""
    told, missed, sizes = [], [], []
    for row in rows:
        seeing = learnt.seeing(row.signs)
        missed.append(delta_e_2000(row.print, seeing.as_print(row.thing)))
        own = np.tile((row.signs - learnt.middle) / learnt.scale, (len(row.thing), 1))
        told.append(np.column_stack([seeing.spread_terms(row.thing), own]))
        sizes.append(len(row.thing))
    told, missed = np.concatenate(told), np.concatenate(missed)
    squared = missed**2 + 0.05
    spread = np.zeros(told.shape[1])
    spread[0] = np.log(squared.mean())
    ridge = 0.001 * len(told) * np.diag([0.0] + [1.0] * (len(spread) - 1))
    for _ in range(40):
        level = told @ spread
        aim = level + np.clip(squared * np.exp(-level) - 1, -1, 4)
        spread = np.linalg.solve(told.T @ told + ridge, told.T @ aim)
    shares = np.split(missed / np.exp(told @ spread / 2), np.cumsum(sizes)[:-1])
    needed = np.percentile([np.percentile(share, 95) for share in shares], HELD_FOR)
    spread[0] += 2 * np.log(needed / BOUND)
    return Learnt(learnt.middle, learnt.scale, learnt.weights, spread)


def judged(others=None):
    """Return what the scanners of ``glass.py`` see of its press and things, without noise.

    ``others`` are spectra (n, w) in place of its things.
    """
    press, sets = Press(), things()
    if others is not None:
        sets["samples"] = others
    builds = press.table[0][press.table[0][:, 3] <= 20]
    prints = {
        kind: matching_prints(press, builds, sets[kind]) for kind in {it[0] for it in REPORTED}
    }
    rows = []
    for kind, sensor, lamp in REPORTED:
        some = ~np.isnan(prints[kind][:, 0])
        weights, matrix = scanner(sensor, lamp, sets["charts"])
        controls, thing, its_print = (
            np.maximum((0.88 * values @ weights + STRAY) @ matrix, 1e-4)
            for values in (press.spectra(CONTROLS), sets[kind][some], prints[kind][some])
        )
        seen_by = "three LEDs" if sensor is None else f"sensor {sensor + 1}"
        name = f"{seen_by}, {lamp}, {some.sum()} things"
        told = signs_of(controls), assumed_lab(thing), assumed_lab(its_print)
        rows.append(Seen(name, *told, spectra_to_lab(press.spectra(CONTROLS), NM).ravel()))
    return rows


def check(learnt, rows):
    """Print how near scanners come, with what was learnt and without."""
    for kind in dict.fromkeys(row.kind for row in rows):
        figures = []
        for row in (row for row in rows if row.kind == kind):
            seeing = learnt.seeing(row.signs)
            left = delta_e_2000(row.print, seeing.as_print(row.thing))
            error = [seeing.error(each) for each in row.thing]
            figures.append((delta_e_2000(row.print, row.thing), left, BOUND * np.array(error)))
        before, left, bound = np.concatenate(figures, axis=1)
        held = float((left <= bound).mean())
        each = np.mean([np.mean(of <= its) >= 0.95 for _, of, its in figures])
        print(
            f"{kind:48} without {np.median(before):.2f} / {np.percentile(before, 95):.2f}, "
            f"with {np.median(left):.2f} / {np.percentile(left, 95):.2f}, "
            f"bound {np.median(bound):.1f} held {held:.3f}, in 95 of 100 for {each:.0%} of them"
        )


def spectra_in(files):
    """Return the spectra (n, w) in files, but for what is nearly judged by."""
    tables = [np.loadtxt(file, delimiter=",").T for file in files]
    return unlike_judged(np.array([np.interp(NM, nm, row) for nm, *rows in tables for row in rows]))


def by_readings(learning, judging):
    """Print how near scanners come that are told how the controls read, and that are not."""
    rng = np.random.default_rng(SEED)

    def told(rows):
        noisy = [row.read + rng.normal(0, NOISE, row.read.shape) for row in rows]
        return [
            replace(row, signs=np.append(row.signs, read))
            for row, read in zip(rows, noisy, strict=True)
        ]

    for name, rows in (("seen", lambda rows: rows), ("seen and read", told)):
        print(name)
        check(learn(rows(learning)), rows(judging))


def floor(files):
    """Print how near the scanners of ``glass.py`` would come if they and the press were known.

    And how near they come to the spectra in the files by what is kept.
    """
    others = judged(spectra_in(files))
    check(read_learnt(), others)
    for row, more in zip(judged(), others, strict=True):
        left = delta_e_2000(row.print, row.thing + terms(row.thing) @ _offsets(more))
        median, p95 = np.percentile(left, [50, 95])
        print(f"{row.kind:48} known by {len(more.thing)} things {median:.2f} / {p95:.2f}")


def two_prints(presses, scanners, seed):
    """Return ΔE00 to drawn scanners between prints of two drawn presses that people take as one."""
    rng = np.random.default_rng(seed)
    builds = rng.beta(0.6, 0.9, (4000, 4)) * 100
    builds[:, 3] *= (rng.random(len(builds)) < 0.4) * 0.3
    spectra, charts = measured_patches(), things()["charts"]
    found = [matching_prints(DrawnPress(rng), builds, spectra) for _ in range(presses)]
    apart = []
    for one, other in pairwise(found):
        some = ~np.isnan(one[:, 0] + other[:, 0])
        for at in range(scanners):
            weights, matrix = drawn_scanner(KINDS[at % len(KINDS)], rng, charts)
            looks = [np.maximum(it[some] @ weights @ matrix, 1e-4) for it in (one, other)]
            apart.append(delta_e_2000(*map(assumed_lab, looks)))
    return np.concatenate(apart)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--presses", type=int, default=200)
    parser.add_argument("--scanners", type=int, default=32)
    parser.add_argument("--check", action="store_true", help="judge what is kept")
    parser.add_argument("--floor", nargs="+", metavar="FILE", help="spectra of other things")
    parser.add_argument("--read", nargs="*", metavar="FILE", help="with readings of the controls")
    asked = parser.parse_args()
    if asked.read is not None:
        judging = drawn(asked.presses // 10, asked.scanners, SEED + 1) + judged()
        judging += judged(spectra_in(asked.read)) if asked.read else []
        by_readings(drawn(asked.presses, asked.scanners, SEED), judging)
        return
    if asked.floor:
        floor(asked.floor)
        return
    if asked.check:
        check(read_learnt(), drawn(asked.presses // 10, asked.scanners, SEED + 1) + judged())
        apart = two_prints(asked.presses // 10, asked.scanners, SEED + 2)
        print(f"{'two prints':48} {np.median(apart):.2f} / {np.percentile(apart, 95):.2f}")
        return
    learnt = learn(drawn(asked.presses, asked.scanners, SEED))
    print("# What scanners see otherwise than people: tests/benchmarks/seeing.py")
    for name in ("middle", "scale", "weights", "spread"):
        for row in np.atleast_2d(getattr(learnt, name)):
            print(name, *(f"{value:.4g}" for value in row))


if __name__ == "__main__":
    main()
