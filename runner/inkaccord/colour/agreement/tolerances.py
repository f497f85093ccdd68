"""How small a difference between colours may be and still be a difference."""

JUST_SEEN = 1.0
"""ΔE00 that is just seen side by side (common practice, no source; disputed)."""
