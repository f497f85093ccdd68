"""Asking for what a function gives: computed, or recalled from an earlier time."""

from collections.abc import Callable, Iterable, Sequence
from functools import partial
from typing import Any, ParamSpec, Protocol, TypeVar

P = ParamSpec("P")
R = TypeVar("R")
Together = Callable[[Sequence[tuple[Any, ...]]], Sequence[R | None]]
"""Does a function for many tuples of arguments; None for one that has to be done alone."""


class NotYet(Exception):  # noqa: N818 - no error, and it never reaches a person
    """What was asked for is still being found out."""


class Recall(Protocol):
    """Calls a function whose result follows from its arguments alone, or recalls the result."""

    def __call__(self, function: Callable[P, R], /, *args: P.args, **kwargs: P.kwargs) -> R:
        """Return what ``function(*args, **kwargs)`` returns."""
        ...

    def ahead(self, calls: Iterable[partial[R]], together: Together[R] | None = None) -> None:
        """Compute at once what is not known yet of many calls that are going to be asked for.

        Each is asked for later in the same form, such as ``recall(match, model, aims, policy)`` for
        ``partial(match, model, aims, policy)``. Those of one function may be done ``together``,
        where that takes less time, by their arguments by position. Without that, and without an
        engine to do them side by side, nothing is done ahead.
        """
        ...

    def rehearse(self, way: Callable[..., object], calls: Iterable[tuple[Any, ...]]) -> None:
        """Go a way at once that is going to be gone with many arguments: it asks for much.

        It is a function whose first argument is a recall, and each call has the others. What it
        asks for is then known; what it gives is left. Without an engine it is not gone.
        """
        ...


def ask(recall: Recall, call: partial[R]) -> R:
    """Return what a call gives, computed or recalled."""
    return recall(call.func, *call.args, **call.keywords)


class _Computed:
    """A :class:`Recall` without a memory."""

    def __call__(self, function: Callable[P, R], /, *args: P.args, **kwargs: P.kwargs) -> R:
        return function(*args, **kwargs)

    def ahead(self, calls: Iterable[partial[R]], together: Together[R] | None = None) -> None:
        """Compute nothing, since it would not be remembered."""

    def rehearse(self, way: Callable[..., object], calls: Iterable[tuple[Any, ...]]) -> None:
        """Go no way, since nothing of it would be remembered."""


computed: Recall = _Computed()
"""Gives what a function gives, computed."""
