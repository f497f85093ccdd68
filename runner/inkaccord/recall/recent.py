"""A recall of the last results, as long as the program runs."""

from collections import OrderedDict
from collections.abc import Callable, Iterable, Mapping
from copy import copy
from functools import partial
from threading import Lock
from typing import Any

from inkaccord.recall.digests import digest_of
from inkaccord.recall.recall import P, R, Recall, Together, computed


def key_of(function: Callable[..., Any], args: Iterable[Any], kwargs: Mapping[str, Any]) -> str:
    """Return what names a call: its function, and digests of its arguments."""
    told = [*map(digest_of, args), *(f"{name}={digest_of(it)}" for name, it in kwargs.items())]
    return " ".join((function.__module__, function.__qualname__, *told))


_NONE = object()
"""In the place of a result that is not known."""


class Recent:
    """A :class:`Recall` that remembers the results asked for last, and no file.

    Parameters
    ----------
    most
        How many.
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._known: OrderedDict[str, Any] = OrderedDict()
        self._lock = Lock()
        self._else: Recall = computed

    def before(self, other: Recall) -> "Recent":
        """Return the same memory, which asks another recall for what it does not know."""
        twin = copy(self)
        twin._else = other  # noqa: SLF001 - its own class
        return twin

    def __call__(self, function: Callable[P, R], /, *args: P.args, **kwargs: P.kwargs) -> R:
        """Return what ``function(*args, **kwargs)`` returns, computed once while it is recent."""
        key = key_of(function, args, kwargs)
        with self._lock:
            found = self._known.pop(key, _NONE)
        result: R = self._else(function, *args, **kwargs) if found is _NONE else found
        with self._lock:
            self._known[key] = result
            while len(self._known) > self._most:
                self._known.popitem(last=False)
        return result

    def ahead(self, calls: Iterable[partial[R]], together: Together[R] | None = None) -> None:
        """Compute nothing ahead: a look while one types asks for little."""

    def rehearse(self, way: Callable[..., object], calls: Iterable[tuple[Any, ...]]) -> None:
        """Go no way ahead either."""
