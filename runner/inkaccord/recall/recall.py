"""Asking for what a function gives: computed, or recalled from an earlier time."""

from collections.abc import Callable, Sequence
from typing import Any, ParamSpec, Protocol, TypeVar

P = ParamSpec("P")
R = TypeVar("R")
Call = tuple[Any, ...]
"""The arguments of one call."""
Together = Callable[[Sequence[Call]], Sequence[R | None]]
"""Does many calls of a function at once; None for one that has to be done alone."""


class Recall(Protocol):
    """Calls a function whose result follows from its arguments alone, or recalls the result."""

    def __call__(self, function: Callable[P, R], /, *args: P.args, **kwargs: P.kwargs) -> R:
        """Return what ``function(*args, **kwargs)`` returns."""
        ...

    def ahead(
        self, function: Callable[..., R], together: Together[R], calls: Sequence[Call]
    ) -> None:
        """Compute in one go what is not known yet of many calls that are going to be asked for."""
        ...


class _Computed:
    """A :class:`Recall` without a memory."""

    def __call__(self, function: Callable[P, R], /, *args: P.args, **kwargs: P.kwargs) -> R:
        return function(*args, **kwargs)

    def ahead(
        self, function: Callable[..., R], together: Together[R], calls: Sequence[Call]
    ) -> None:
        """Compute nothing, since it would not be remembered."""


computed: Recall = _Computed()
"""Gives what a function gives, computed."""
