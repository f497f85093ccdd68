"""Learn what the halftone model leaves over on the usual press, from open characterisation data.

``python tests/benchmarks/usual_residual.py [--without NAME] [FILE…]``

prints what stands in ``runner/inkaccord/colour/press/usual_residual.txt``.

FILE is CGATS text with CMYK and colour columns, or an ICC profile with readings in its 'targ' tag;
without files, what the Debian packages icc-profiles-free and krita-data carry. Each set is fitted
with the table of the round before, and what is left over is averaged. ``--without NAME`` leaves a
set and its relations out, to judge the table on them.
"""

import argparse
import os
import sys

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("OMP_NUM_THREADS", "1")

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import numpy as np
from practices import NOISE
from virtual_pairs import KRITA, RawSet, raw_set

from inkaccord.colour.builds import Drive
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.press import model
from inkaccord.colour.press.kriging import Posterior
from inkaccord.colour.press.priors import Prior, press_prior
from inkaccord.colour.press.usual_residual import smoothed
from inkaccord.colour.readings import Readings
from inkaccord.colour.spaces import lab_to_xyz

OPEN = Path("/usr/share/color/icc")
ALIKE = 4.0
"""Sets whose solids lie within this mean ΔE00 of each other stem from one press or one standard."""
ROUNDS = 3
MOST = 700
LEVELS, MOST_INK = (0.0, 0.5, 1.0), 3.0


def places() -> np.ndarray:
    """The builds (n, 4) of the table, 0 to 1."""
    grid = np.stack(np.meshgrid(*[LEVELS] * 4, indexing="ij"), axis=-1).reshape(-1, 4)
    return grid[grid.sum(axis=1) <= MOST_INK]


def fitted(raw: RawSet, prior: Prior, most: int) -> Posterior:
    """What at most so many readings of a set leave of a prior."""
    chosen = np.random.default_rng(5).permutation(len(raw.builds))[:most]
    readings = Readings(
        drive=Drive.CMYK,
        builds=raw.builds[chosen],
        xyz=lab_to_xyz(raw.lab[chosen]),
        sheet=np.zeros(len(chosen), dtype=np.int_),
        noise=np.full(len(chosen), NOISE),
    )
    known = model.populations
    model.populations = lambda _: (prior,)
    try:
        return model.fit(readings).posterior
    finally:
        model.populations = known


def left_over(raw: RawSet, prior: Prior, most: int) -> np.ndarray:
    """What the halftone model leaves over at the builds of the table, (n, 3)."""
    return sum(process.mean(places()) for process in fitted(raw, prior, most).processes)


def solids(raw: RawSet) -> np.ndarray:
    """CIELAB (5, 3) of paper and solids."""
    wanted = np.concatenate([np.zeros((1, 4)), 100.0 * np.eye(4)])
    apart = np.abs(raw.builds[None] - wanted[:, None]).sum(axis=2)
    return raw.lab[apart.argmin(axis=1)]


def alike(raws: list[RawSet]) -> np.ndarray:
    """Which sets are relations, (n, n)."""
    colours = np.array([solids(raw) for raw in raws])
    apart = delta_e_2000(colours[:, None], colours[None]).mean(axis=2)
    return apart < ALIKE


def average(offsets: np.ndarray, related: np.ndarray) -> np.ndarray:
    """The average over sets (s, n, 3), weighted by one over how large, shared among relations."""
    weights = 1.0 / np.sqrt(np.mean(offsets**2, axis=(1, 2))) / related.sum(axis=1)
    return np.tensordot(weights / weights.sum(), offsets, axes=1)


def learn(raws: Iterable[RawSet], *, rounds: int = ROUNDS, most: int = MOST) -> np.ndarray:
    """The table's offsets (n, 3), from at most so many readings of each set."""
    raws = sorted(raws, key=lambda raw: raw.name)
    related = alike(raws)
    bare = replace(press_prior(), carried=())
    prior, offsets = bare, np.zeros((len(places()), 3))
    for _ in range(rounds):
        offsets = average(np.array([left_over(raw, prior, most) for raw in raws]), related)
        coverages, _ = bare.layout.places(bare.mean, places())
        prior = replace(
            bare, carried=(smoothed(bare.layout, bare.mean, coverages, offsets.round(2)),)
        )
    return offsets


def asked_sets(description: str, quick: str) -> tuple[list[RawSet], bool]:
    """The sets that the command line asks to learn from, one where it is to be quick."""
    parser = argparse.ArgumentParser(description=description.splitlines()[0])
    parser.add_argument("files", nargs="*", type=Path)
    parser.add_argument("--without", default="", help="a set, left out with its relations")
    parser.add_argument("--quick", action="store_true", help=f"{quick}: a smoke test")
    arguments = parser.parse_args()
    installed = [path for path in (*sorted(OPEN.glob("*.ti3")), KRITA) if path.exists()]
    paths = arguments.files or installed
    raws = [raw for path in paths if (raw := raw_set(path)) is not None]
    names = [Path(raw.name).stem for raw in raws]
    if arguments.without:
        related = alike(raws)[names.index(arguments.without)]
        raws = [raw for raw, out in zip(raws, related, strict=True) if not out]
    if not raws:
        sys.exit("no readings to learn from: install icc-profiles-free, or name files")
    return raws[:1] if arguments.quick else raws, arguments.quick


def main() -> None:
    raws, is_quick = asked_sets(__doc__, "one set, once")
    offsets = learn(raws, **({"rounds": 1, "most": 100} if is_quick else {}))
    lines = [
        "# What the halftone model leaves over on the usual press, in DIN99o.",
        "# Made by tests/benchmarks/usual_residual.py; C M Y K in percent, then the three offsets.",
    ]
    for build, offset in zip(places(), offsets, strict=True):
        inks = " ".join(f"{100 * share:3.0f}" for share in build)
        lines.append(f"{inks}  " + " ".join(f"{value + 0.0:6.2f}" for value in offset))
    print("\n".join(lines))


if __name__ == "__main__":
    main()
