"""Asking for what a function gives: computed, or recalled from an earlier time."""

from collections.abc import Callable
from typing import ParamSpec, Protocol, TypeVar

P = ParamSpec("P")
R = TypeVar("R")


class Recall(Protocol):
    """Calls a function whose result follows from its arguments alone, or recalls the result."""

    def __call__(self, function: Callable[P, R], /, *args: P.args, **kwargs: P.kwargs) -> R:
        """Return what ``function(*args, **kwargs)`` returns."""


def computed(function: Callable[P, R], /, *args: P.args, **kwargs: P.kwargs) -> R:
    """Return what a function gives, computed: a :class:`Recall` without a memory."""
    return function(*args, **kwargs)
