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
    """How many of each sample sheet are printed, and how they are kept then."""

    keep: Annotated[
        Keep,
        Field(
            description="'binder': guides for a punch at the left; 'cards': one hole at the head, "
            "for a ring"
        ),
    ] = Keep.LOOSE
    holes: Annotated[Holes, Field(description="of the binder")] = Holes.TWO
    copies: Annotated[
        int,
        Field(
            description="how many of each sheet are printed: one is read, others may be lent or "
            "hang beside the press",
            ge=1,
            le=20,
        ),
    ] = 1
