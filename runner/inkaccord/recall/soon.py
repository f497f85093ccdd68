"""A recall for whoever does not wait: what takes long is found out beside, and is had later."""

from collections import OrderedDict
from collections.abc import Callable, Collection, Iterable
from concurrent.futures import Future, ThreadPoolExecutor
from functools import partial
from threading import Lock
from typing import Any

from inkaccord.recall.recall import NotYet, P, R, Recall, Together
from inkaccord.recall.recent import key_of


class Soon:
    """Calls functions as a :class:`Recall`, but raises :class:`NotYet` for what is not known yet.

    Parameters
    ----------
    recall
        Finds all else at once.
    slow
        The functions that take long. What one raises is remembered like a result.
    most
        How many of their results are remembered.
    """

    def __init__(self, recall: Recall, slow: Collection[Callable[..., Any]], most: int) -> None:
        self._recall, self._slow, self._most = recall, slow, most
        self._tasks: OrderedDict[str, Future[Any]] = OrderedDict()
        self._lock = Lock()
        self._worker = ThreadPoolExecutor(1, "soon")  # one, so that whoever types comes first

    def __call__(self, function: Callable[P, R], /, *args: P.args, **kwargs: P.kwargs) -> R:
        """Return what ``function(*args, **kwargs)`` returns, or raise NotYet until it is known."""
        if function not in self._slow:
            return self._recall(function, *args, **kwargs)
        key = key_of(function, args, kwargs)
        with self._lock:
            task = self._tasks.pop(key, None)
            if task is None or task.cancelled():
                task = self._worker.submit(function, *args, **kwargs)
            self._tasks[key] = task
            while len(self._tasks) > self._most:
                self._tasks.popitem(last=False)[1].cancel()
        if not task.done() or task.cancelled():
            raise NotYet
        result: R = task.result()
        return result

    def glance(self) -> "Glance":
        """Return a look at what is known by now; what was asked for and not begun is dropped."""
        with self._lock:
            for task in self._tasks.values():
                task.cancel()
        return Glance(self)

    def close(self) -> None:
        """End; what was not begun is dropped."""
        self._worker.shutdown(wait=False, cancel_futures=True)


class Glance:
    """A :class:`Recall` of one look, which knows whether something was missing to it."""

    def __init__(self, soon: Soon) -> None:
        self._soon, self.is_short = soon, False

    def __call__(self, function: Callable[P, R], /, *args: P.args, **kwargs: P.kwargs) -> R:
        """Return what ``function(*args, **kwargs)`` returns, or raise NotYet until it is known."""
        try:
            return self._soon(function, *args, **kwargs)
        except NotYet:
            self.is_short = True
            raise

    def ahead(self, calls: Iterable[partial[R]], together: Together[R] | None = None) -> None:
        """Compute nothing ahead: it would be waited for."""

    def rehearse(self, way: Callable[..., object], calls: Iterable[tuple[Any, ...]]) -> None:
        """Go no way ahead either."""
