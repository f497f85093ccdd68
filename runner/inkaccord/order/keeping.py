"""How the studio keeps the sample sheets of an order."""

from enum import StrEnum
from typing import Annotated

from pydantic import Field

from inkaccord.layout.punching import Holes
from inkaccord.models import Frozen


class Keep(StrEnum):
    """What printed sample sheets are kept in."""

    LOOSE = "loose"
    BINDER = "binder"
    """Their left margin leaves room for holes, and guides show where to punch."""
    CARDS = "cards"
    """On a ring: their head leaves room for a hole."""


class Samples(Frozen):
    """How sample sheets are kept once they are printed."""

    keep: Annotated[
        Keep,
        Field(
            description="'binder': guides for a punch at the left; 'cards': one hole at the head, "
            "for a ring"
        ),
    ] = Keep.LOOSE
    holes: Annotated[Holes, Field(description="of the binder")] = Holes.TWO
