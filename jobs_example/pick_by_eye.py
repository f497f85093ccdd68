"""Play the person who looks for the swatch that matches a colour best.

    python jobs_example/pick_by_eye.py SHEET.txt kelp=33.9,-25.6,1.3 [COLOUR=L,a,b …]

prints what goes behind `inkaccord record SHEET`: `--pick kelp=B7`. The eye is a little wrong,
the same for the same sheet, colour and person every time.
"""

import argparse
import hashlib
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from printers import WAVELENGTHS_NM, Array, spectra
from sheet_text import SheetText, add_printer_options, load

from inkaccord.colour.delta_e import delta_e_2000, delta_e_2000_metric
from inkaccord.colour.spectra import spectra_to_lab
from inkaccord.errors import InkaccordError


def pick(
    sheet: SheetText,
    colour: str,
    aim: Array,
    *,
    error: float = 0.7,
    who: str = "studio",
    among: Sequence[str] | None = None,
) -> str:
    """Return the id of the swatch that looks nearest, of all or of those that are named.

    ``error`` is the standard deviation, in ΔE00 for each of three directions, of how the eye
    takes the aim: a person holds the thing to be matched beside the sheet, never on it.
    """
    seen = seen_as(aim, error, sheet.sheet_id, colour, who)
    lab = spectra_to_lab(spectra(sheet.device, sheet.stock, sheet.builds), WAVELENGTHS_NM)
    far = dict(zip(sheet.swatch_ids, delta_e_2000(lab, seen), strict=True))
    return min(sheet.swatch_ids if among is None else among, key=lambda name: far[name])


def seen_as(aim: Array, error: float, *seed: str) -> Array:
    """Return how an eye takes an aim that errs so far, the same for the same seed every time."""
    digest = hashlib.sha256("\n".join(seed).encode()).digest()[:8]
    die = np.random.default_rng(int.from_bytes(digest, "big"))
    # ΔE00² = dᵀ M d near the aim, so d = (Lᵀ)⁻¹ z with M = L Lᵀ is z steps of ΔE00 away.
    root = np.linalg.cholesky(delta_e_2000_metric(aim))
    return np.asarray(aim + np.linalg.solve(root.T, die.normal(0, error, 3)))


def parse_aim(text: str) -> tuple[str, Array]:
    """Read COLOUR=L,a,b."""
    name, sign, numbers = text.partition("=")
    try:
        lab = np.array([float(number) for number in numbers.split(",")])
    except ValueError:
        lab = np.empty(0)
    if not name or not sign or lab.shape != (3,):
        raise argparse.ArgumentTypeError(f"{text!r} is not COLOUR=L,a,b")
    return name, lab


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("sheet", type=Path, metavar="SHEET.txt")
    parser.add_argument("aims", nargs="+", type=parse_aim, metavar="COLOUR=L,a,b")
    parser.add_argument(
        "--error", type=float, default=0.7, help="of the eye, in ΔE00 (%(default)s)"
    )
    parser.add_argument("--who", default="studio", help="whose eye it is (%(default)s)")
    add_printer_options(parser)
    given = parser.parse_args()
    try:
        sheet = load(given.sheet, given.device, given.stock)
    except InkaccordError as problem:
        raise SystemExit(str(problem)) from problem
    picks = [
        f"--pick {name}={pick(sheet, name, lab, error=given.error, who=given.who)}"
        for name, lab in given.aims
    ]
    print(" ".join(picks))


if __name__ == "__main__":
    main()
