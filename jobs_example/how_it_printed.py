"""Print an order's builds on the invented printers, and see whether the run told the truth.

    python jobs_example/how_it_printed.py OUT/run.json [--thing slate=41,-4,-10]

gives, for every colour on every pair: what the run predicted, what really came out, and whether
the difference lies within the uncertainty that the run stated. With real printers nobody has
this; the invented ones can be asked. A colour that was only looked for is set beside the thing
itself, where that is told.
"""

import argparse
import json
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np
from pick_by_eye import parse_aim
from printers import DEVICES, STOCKS, Array, true_lab

from inkaccord.colour.builds import Build
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.errors import InkaccordError
from inkaccord.files import read_bytes

Lab = tuple[float, float, float]


@dataclass(frozen=True)
class Outcome:
    """One colour on one pair, as it really came out. Differences are ΔE00."""

    colour: str
    pair: str
    build: str
    lab: Lab
    to_aim: float | None
    """None where the aim is only known by eye."""
    off_prediction: float
    uncertainty: float

    @property
    def as_promised(self) -> bool:
        """Whether the true colour lies within the stated uncertainty of the predicted one."""
        return self.off_prediction <= self.uncertainty


def outcomes(run: Mapping[str, Any], things: Mapping[str, Array] | None = None) -> list[Outcome]:
    """Print every translation of a run's record. Raises KeyError for a printer not invented.

    ``things`` are the CIELAB of what people held beside the sheets, by colour; they go before the
    aim that the run made of it.
    """
    found = []
    for translation in run["translations"]:
        device, stock = DEVICES[translation["device"]], STOCKS[translation["stock"]]
        lab = true_lab(device, stock, np.array([Build.parse(translation["build"]).values]))[0]
        aim = (things or {}).get(translation["colour"], translation["aim_lab"])
        found.append(
            Outcome(
                colour=translation["colour"],
                pair=f"{translation['device']}@{translation['stock']}",
                build=translation["build"],
                lab=(float(lab[0]), float(lab[1]), float(lab[2])),
                to_aim=None if aim is None else float(delta_e_2000(lab, aim)),
                off_prediction=float(delta_e_2000(lab, translation["predicted_lab"])),
                uncertainty=translation["uncertainty"],
            )
        )
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("record", type=Path, metavar="run.json")
    parser.add_argument(
        "--thing",
        action="append",
        default=[],
        type=parse_aim,
        metavar="COLOUR=L,a,b",
        help="what people held beside the sheets",
    )
    given = parser.parse_args()
    try:
        found = outcomes(json.loads(read_bytes(given.record)), dict(given.thing))
    except InkaccordError as problem:
        raise SystemExit(str(problem)) from problem
    except KeyError as missing:
        raise SystemExit(f"{given.record}: no invented printer or stock {missing}") from missing
    head = ("colour", "on", "build", "to aim", "off", "stated")
    print("{:<9} {:<34} {:<20} {:>6} {:>5} {:>6}".format(*head))
    for told in found:
        aim = "by eye" if told.to_aim is None else f"{told.to_aim:.1f}"
        mark = "" if told.as_promised else "  outside"
        print(
            f"{told.colour:<9} {told.pair:<34} {told.build:<20} {aim:>6} "
            f"{told.off_prediction:>5.1f} {told.uncertainty:>6.1f}{mark}"
        )
    for colour in dict.fromkeys(it.colour for it in found):
        labs = [it.lab for it in found if it.colour == colour]
        apart = [float(delta_e_2000(one, other)) for one, other in combinations(labs, 2)]
        if apart:
            print(f"{colour}: the two furthest apart differ by {max(apart):.1f} ΔE00")
    kept = sum(it.as_promised for it in found)
    print(f"{kept} of {len(found)} within the stated uncertainty")


if __name__ == "__main__":
    main()
