"""Which drivers in RGB are said to change colours by themselves, and whether that is true.

    python tests/benchmarks/enhancing.py [--swatches N] [--quick] [SEED…]

Drivers drawn by these numbers (``drawn_drivers.py``) and those with names (``rgb_drivers.py``) in
front of Debian's three profiles, one sheet each. 'vivid' and 'enhanced' ones do it, all others do
not. Where the line lies was chosen on seeds 3, 4 and 6 and on the drivers with names.
"""

import argparse
import os
import sys
import zlib

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("OMP_NUM_THREADS", "1")

import numpy as np
import practices as do
from drawn_drivers import drawn_pairs
from rgb_drivers import rgb_pairs
from virtual_pairs import INSTALLED

DO_IT = ("vivid", "enhanced")
SEED = 20262


def is_said(pair, swatches: int) -> bool:
    """Tell whether a sheet of so many swatches makes the model say it."""
    rng = np.random.default_rng([SEED, zlib.crc32(pair.name.encode())])
    model = do.fit(do.read(pair, do.scouting(pair, swatches), rng))
    return any(finding.code == "driver-enhances" for finding in model.findings)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("seeds", nargs="*", type=int, default=[7])
    parser.add_argument("--swatches", type=int, default=40, help="on the sheet (%(default)s)")
    parser.add_argument("--quick", action="store_true", help="one profile, no names: a smoke test")
    asked = parser.parse_args()
    files = [path for path in INSTALLED if path.exists()][: 1 if asked.quick else None]
    if not files:
        sys.exit("none of the Debian packages' profiles is installed")
    found: dict[str, list[bool]] = {}
    for path in files:
        pairs = [] if asked.quick else rgb_pairs(path)
        pairs += [pair for seed in asked.seeds for pair in drawn_pairs(path, seed)]
        for pair in pairs:
            kind = pair.name.partition(": ")[2].partition(",")[0]
            drawn = "drawn" if ", drawn" in pair.name else "with names"
            does = "enhancing" if kind in DO_IT else "others"
            found.setdefault(f"{drawn}, {does}", []).append(is_said(pair, asked.swatches))
    for kind, said in found.items():
        print(f"{kind:24} said of {sum(said):3} of {len(said)}")


if __name__ == "__main__":
    main()
