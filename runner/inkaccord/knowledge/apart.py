"""Whether one person's looks at a colour lie farther apart than an eye errs."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from inkaccord.colour.arrays import Array
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.looks import look_error
from inkaccord.colour.predictor import Predictor
from inkaccord.colour.press.model import fit
from inkaccord.colour.uncertainty import BEYOND_ERROR
from inkaccord.knowledge.evidence import joined
from inkaccord.knowledge.pairs import UNREAD_PAPER, paper_readings
from inkaccord.sheets.model import Pick, SampleSheet
from inkaccord.shelf.kept import KeptReadings


@dataclass(frozen=True)
class FarApart:
    """Two looks at one thing that can't both be right, and how far apart they lie, ΔE00."""

    one: Pick
    other: Pick
    apart: float


def look_of(sheet: SampleSheet, readings: Sequence[KeptReadings]) -> Predictor:
    """Return what the swatches of a sheet look like: by readings of its pair, or by experience."""
    read = joined(readings)
    paper = paper_readings(sheet.drive, sheet.paper_lab or UNREAD_PAPER)
    return fit(paper if read is None else read)


def far_apart(sheet: SampleSheet, looks: Sequence[Pick], look: Predictor) -> FarApart | None:
    """Return the two looks at one thing that lie farthest apart, if an eye does not err so far.

    Parameters
    ----------
    sheet
        The sheet that all of them are looks at.
    looks
        One person's looks at all swatches of one colour. What names no swatch is passed over.
    look
        What the sheet's pair prints, as far as anyone can say; only differences count.
    """
    told = [(it, _lab(sheet, it, look)) for it in looks if it.swatch is not None]
    found = [
        (float(delta_e_2000(here, there)), one, other)
        for (one, here), (other, there) in combinations(told, 2)
    ]
    beyond = [
        FarApart(one, other, apart)
        for apart, one, other in found
        if apart > BEYOND_ERROR * np.hypot(look_error(one.sure), look_error(other.sure))
    ]
    return max(beyond, key=lambda it: it.apart, default=None)


def _lab(sheet: SampleSheet, pick: Pick, look: Predictor) -> Array:
    """Return CIELAB (3,) of the swatch that was named, or of the middle of two."""
    swatches = [sheet.swatch(name) for name in (pick.swatch, pick.between) if name is not None]
    builds = np.array([it.build.values for it in swatches if it is not None])
    return np.asarray(look.predict_lab(builds).mean(axis=0))
