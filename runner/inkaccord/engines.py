"""Engines: where the tasks of a run are done, here or in worker processes.

A task is a call of a function of a module whose result follows from its arguments alone: it opens
no shelf and writes no file. So where a task is done, beside which others and how often changes
nothing but time, and one that was lost with its worker is simply done again.
"""

import contextlib
import os
import sys
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import BrokenExecutor, CancelledError, Executor, Future
from dataclasses import dataclass
from typing import Any, Generic, Protocol, TypeVar, runtime_checkable

from inkaccord.errors import InkaccordError

R = TypeVar("R")
Call = tuple[Any, ...]
"""The arguments of one task."""

_TRIES = 3
"""How often tasks are handed out whose workers died; then all is left to whoever asks."""
WORTH_IT = 24
"""Tasks at hand from which on starting workers, a second of processor time each, pays."""


@dataclass(frozen=True)
class Connected:
    """An executor, and how many tasks it does at once."""

    executor: Executor
    workers: int


@runtime_checkable
class Executors(Protocol):
    """A kind of executor that a run can be told to use: ``run --cluster ADDRESS``."""

    name: str
    """Short and unique: ``dask``."""

    def recognises(self, address: str) -> bool:
        """Tell from an address whether it is of this kind."""

    def connect(self, address: str) -> Connected:
        """Make ready for tasks. Raises InkaccordError when nobody answers.

        The executor does calls of functions of inkaccord's and of installed plugins, whose
        arguments and results can be pickled. Where the results could differ from ours, as on a
        worker with another program (``program_here``), its futures raise InkaccordError, which
        stops the run; for a task that was lost they raise ``concurrent.futures.BrokenExecutor``,
        and it is handed out again. ``shutdown(wait=False)`` returns at once.
        """


class Engine:
    """Hands tasks to an executor, which is made when it is first needed, and anew when it broke.

    Parameters
    ----------
    make
        Makes the executor.
    workers
        How many tasks it does at once.
    least
        With fewer tasks at hand it is not made: whoever asks does them.
    executor
        The first one, where it is there already.
    """

    def __init__(
        self,
        make: Callable[[], Executor],
        workers: int,
        least: int = 2,
        executor: Executor | None = None,
    ) -> None:
        self.workers = workers
        self._make = make
        self._least = least
        self._executor = executor

    def takes(self, tasks: int) -> bool:
        """Tell whether so many tasks are worth handing out."""
        return tasks >= self._least

    def results(self, task: Callable[..., R], calls: Sequence[Call]) -> list[R | None]:
        """Return what a task gives for each call, in their order.

        None for one that failed, or that no worker lived to end: whoever asked does it alone, and
        then hears what is wrong with it. Raises InkaccordError where a worker must not be used.
        """
        found: dict[int, R] = {}
        left: Mapping[int, Call] = dict(enumerate(calls))
        for _ in range(_TRIES):
            if left and self._is_there():
                left = self._tried(task, left, found)
        if left:
            self._least = sys.maxsize  # no worker lives here
        return [found.get(at) for at in range(len(calls))]

    def hand_out(self, task: Callable[..., R], *call: Any) -> "Handed[R]":
        """Hand out one task that is waited for later."""
        return Handed(self, task, call)

    def submitted(self, task: Callable[..., R], call: Call) -> tuple[Executor, "Future[R]"] | None:
        """Hand a task to the executor; None where there is none, or it broke at once."""
        if self._is_there():
            assert self._executor is not None  # noqa: S101 - it is there
            with contextlib.suppress(BrokenExecutor):
                return self._executor, self._executor.submit(task, *call)
            self.close()
        return None

    def _tried(
        self, task: Callable[..., R], calls: Mapping[int, Call], found: dict[int, R]
    ) -> dict[int, Call]:
        """Hand out calls, add what they give to ``found``, and return those that were lost."""
        assert self._executor is not None  # noqa: S101 - it is there
        lost = dict(calls)
        with contextlib.suppress(BrokenExecutor):
            futures = {at: self._executor.submit(task, *call) for at, call in calls.items()}
            for at, future in futures.items():
                try:
                    found[at] = future.result()
                except (BrokenExecutor, CancelledError):
                    continue
                except InkaccordError:
                    raise
                except Exception:  # noqa: BLE001, S110 - it fails again where it is asked for
                    pass
                del lost[at]
        if lost:
            self.close()
        return lost

    def _is_there(self) -> bool:
        """Make the executor unless it is there; tell whether that could be done."""
        if self._executor is None:
            with contextlib.suppress(Exception):  # what stands in the way costs time, no result
                self._executor = self._make()
                self._least = min(self._least, 2)
        return self._executor is not None

    def close(self, only: Executor | None = None) -> None:
        """End the workers, whatever they are doing; of one executor ``only``, where it is named."""
        if self._executor is not None and only in {None, self._executor}:
            self._executor.shutdown(wait=False, cancel_futures=True)
            self._executor = None


class Handed(Generic[R]):
    """A task that was handed out, to be waited for later."""

    def __init__(self, engine: Engine, task: Callable[..., R], call: Call) -> None:
        self._engine, self._task, self._call = engine, task, call
        self._left = _TRIES
        self._at: tuple[Executor, Future[R]] | None = None
        self._begin()

    def go_on(self) -> None:
        """Hand it out again where its worker died meanwhile."""
        if self._at is not None and self._at[1].done() and self._is_lost(self._at[1]):
            self._engine.close(self._at[0])
            self._begin()

    def result(self) -> R | None:
        """Wait for what it gives; None for a task that failed, or that no worker lived to end.

        Raises InkaccordError where a worker must not be used.
        """
        while self._at is not None:
            executor, future = self._at
            try:
                return future.result()
            except (BrokenExecutor, CancelledError):
                self._engine.close(executor)
                self._begin()
            except InkaccordError:
                raise
            except Exception:  # noqa: BLE001 - it fails again where it is asked for
                return None
        return None

    def _begin(self) -> None:
        self._at = None
        while self._at is None and self._left:
            self._left -= 1
            self._at = self._engine.submitted(self._task, self._call)

    @staticmethod
    def _is_lost(future: "Future[R]") -> bool:
        return future.cancelled() or isinstance(future.exception(), BrokenExecutor)


def processors() -> int:
    """Return how many processors this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def engine_at(kind: Executors, address: str) -> Engine:
    """Return what does tasks at an address. Raises InkaccordError when nobody answers there."""
    first = kind.connect(address)
    return Engine(lambda: kind.connect(address).executor, first.workers, executor=first.executor)


def own_processes(workers: int | None) -> Engine | None:
    """Return worker processes of this machine: so many, or as many as are worth it.

    None for one worker: that is ourselves.
    """
    number = processors() if workers is None else workers
    if number < 2:
        return None

    def make() -> Executor:
        from inkaccord.processes import Processes  # noqa: PLC0415 - slow to load

        return Processes(number)

    return Engine(make, number, WORTH_IT if workers is None else 2)
