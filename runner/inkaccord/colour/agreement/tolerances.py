"""How far apart colours may be: settings, each with where it comes from. None is a law."""

from typing import Annotated

from pydantic import Field

from inkaccord.models import Frozen


class Tolerance(Frozen):
    """A limit in ΔE00 and its source."""

    name: str
    delta_e_00: Annotated[float, Field(gt=0)]
    source: str


CLOSE = Tolerance(
    name="close match",
    delta_e_00=2.0,
    source="common practice, no source: about 2 is a close match side by side; disputed",
)
JUST_SEEN = Tolerance(
    name="just seen",
    delta_e_00=1.0,
    source="common practice, no source: about 1 is just seen side by side; disputed",
)
SOLID_CMY = Tolerance(
    name="solid, C M Y",
    delta_e_00=3.5,
    source="ISO 12647-2:2013, solids (via Rochester Institute of Technology, scholarworks 854)",
)
SOLID_K = Tolerance(
    name="solid, K",
    delta_e_00=5.0,
    source="ISO 12647-2:2013, solids (via Rochester Institute of Technology, scholarworks 854)",
)
PROOF_PAPER = Tolerance(name="proof, paper", delta_e_00=3.0, source="ISO 12647-7:2016, from memory")
PROOF_MEAN = Tolerance(name="proof, mean", delta_e_00=2.5, source="ISO 12647-7:2016, from memory")
PROOF_LARGEST = Tolerance(
    name="proof, largest", delta_e_00=5.0, source="ISO 12647-7:2016, from memory"
)
PROOF_SPOT = Tolerance(
    name="proof, spot colour", delta_e_00=2.5, source="ISO 12647-7:2016, from memory"
)

PUBLISHED: tuple[Tolerance, ...] = (
    JUST_SEEN,
    CLOSE,
    SOLID_CMY,
    SOLID_K,
    PROOF_PAPER,
    PROOF_MEAN,
    PROOF_LARGEST,
    PROOF_SPOT,
)

INSTRUMENTS_APART = 1.5
"""ΔE00 by which two instruments of one kind may differ on the same tile: 1 to 2 (Nussbaum; Wyble
and Rich, both second-hand). Readings of different instruments are as uncertain as that."""
INSTRUMENT_REPEAT = 0.3
"""ΔE00 by which one instrument repeats itself at worst: 0.1 to 0.3 (from memory)."""
