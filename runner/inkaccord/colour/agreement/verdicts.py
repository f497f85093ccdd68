"""What may be said about a difference in colour and its tolerance."""

from enum import StrEnum


class Verdict(StrEnum):
    """Whether a difference keeps to its tolerance, as far as that is known."""

    INSIDE = "surely inside"
    OUTSIDE = "surely outside"
    UNCERTAIN = "too uncertain to say"
