"""What is on a piece beside colour: white, foil, varnish and such, and lines for the finisher."""

import re
from enum import StrEnum
from typing import Annotated

from pydantic import Field, field_validator

from inkaccord.colour.paints import Paint, PaintKind
from inkaccord.models import Frozen


class FinishKind(StrEnum):
    """What is done with a plate that is no colour."""

    WHITE = "white"
    """White ink, under other inks or by itself."""
    FOIL = "foil"
    LETTERPRESS = "letterpress"
    VARNISH = "varnish"
    DIE_LINE = "die-line"
    """Where a die cuts. Must not print."""
    SCORE = "score"
    """Where the stock is creased to be folded. Must not print."""
    PERFORATION = "perforation"
    """Where it is perforated. Must not print."""

    @property
    def prints(self) -> bool:
        """Whether anything is laid on the stock; else the plate only shows where to work."""
        return self not in {FinishKind.DIE_LINE, FinishKind.SCORE, FinishKind.PERFORATION}

    @property
    def words(self) -> str:
        """The kind as it is written in a sentence."""
        return self.value.replace("-", " ")


_NAMED = {
    "cut": FinishKind.DIE_LINE,
    "die": FinishKind.DIE_LINE,
    "dieline": FinishKind.DIE_LINE,
    "crease": FinishKind.SCORE,
    "perf": FinishKind.PERFORATION,
    **{it.value: it for it in FinishKind},
}
"""Words that plates of finishes are commonly named by (common practice, no source)."""


def finish_by_name(plate: str) -> FinishKind | None:
    """Return the finish that a plate's name speaks of: 'White' or 'Gold foil'; None for others."""
    return next(
        (_NAMED[it] for it in re.findall(r"[^\W\d_]+", plate.lower()) if it in _NAMED), None
    )


class OverprintRule(StrEnum):
    """How a finish's plate lies with what else is on the page."""

    OVERPRINT = "overprint"
    """Nothing is left out under it: all that it paints overprints."""
    KNOCK_OUT = "knock-out"
    """What lies under it is left out: nothing that it paints overprints."""
    AS_DRAWN = "as-drawn"
    """As the artwork has it."""


class Finish(Frozen):
    """A plate of the artwork that is no colour: never matched, never recoloured."""

    finish: FinishKind
    in_artwork: Annotated[
        tuple[Paint, ...],
        Field(description="the spots that the artwork draws it in: 'spot Gold'", min_length=1),
    ]
    overprint: Annotated[
        OverprintRule | None,
        Field(
            description="sets its plate so in every vendor's copy; left out, the plate stays as "
            "the artwork has it, and the checks say where a vendor wants it otherwise"
        ),
    ] = None
    note: Annotated[
        str,
        Field(description="what the vendor has to know: the foil's number, the depth of the press"),
    ] = ""

    @field_validator("in_artwork")
    @classmethod
    def _whole_spots(cls, paints: tuple[Paint, ...]) -> tuple[Paint, ...]:
        for paint in paints:
            if paint.kind is not PaintKind.SPOT or paint.values != (100.0,):
                raise ValueError(
                    f"a finish is drawn in a spot, with all its tints: 'spot Gold', not '{paint}'"
                )
        return paints

    @property
    def plates(self) -> tuple[str, ...]:
        """The names of its plates."""
        return tuple(paint.name or "" for paint in self.in_artwork)


FinishesTaken = Annotated[
    dict[FinishKind, OverprintRule],
    Field(
        description="the finishes that it does, and how it wants each one's plate: "
        "{foil: overprint, white: knock-out, score: as-drawn}",
    ),
]
"""What a vendor says of finishes."""
