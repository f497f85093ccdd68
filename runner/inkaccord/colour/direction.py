"""The words in which a person says how a wanted colour lies from what is seen."""

from enum import StrEnum


class Direction(StrEnum):
    """How the wanted colour lies from a swatch, or from all that were offered."""

    DARKER = "darker"
    LIGHTER = "lighter"
    STRONGER = "stronger"
    """More colour: away from the paper's own."""
    WEAKER = "weaker"
    YELLOWER = "yellower"
    BLUER = "bluer"
    REDDER = "redder"
    GREENER = "greener"
