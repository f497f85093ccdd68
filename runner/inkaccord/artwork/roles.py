"""What colours are used for."""

from enum import StrEnum


class Role(StrEnum):
    """What a colour is used for."""

    FILL = "fill"
    STROKE = "stroke"
    TEXT = "text"
    MASK = "mask"
    """A stencil image, painted with the fill colour."""
    PATTERN = "pattern"
    """An uncoloured tiling pattern."""
    GRADIENT = "gradient"
    IMAGE = "image"
    FIELD = "field"
    """An entry of an annotation or form field, from which its look may be drawn anew."""
    UNUSED = "unused"
    """Set, or kept in the resources, but nothing is painted with it."""
