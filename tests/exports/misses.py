"""Exports that come out wrong today, each with the reason. What is mended leaves this list."""

MISSES: dict[str, dict[str, str]] = {}
"""By export and by what is asked of it."""
