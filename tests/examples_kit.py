"""How many examples a costly property is tried on: a few at hand, four times as many in CI.

CI runs ``pytest -m "slow or hypothesis" --hypothesis-profile=thorough`` besides.
"""

from hypothesis import settings


def few(examples: int) -> settings:
    """Return settings with so many examples, or with four times as many in the thorough profile."""
    return settings(max_examples=examples * settings.default.max_examples // 100, deadline=None)
