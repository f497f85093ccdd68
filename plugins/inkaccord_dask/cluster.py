"""A cluster as an executor."""

import contextlib
import logging
import threading
import warnings
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import BrokenExecutor, Executor, Future, InvalidStateError
from functools import partial
from typing import Any

import dask
from distributed import Client

from inkaccord.plugin import Connected, OrderError, program_here
from inkaccord_dask.tasks import Done, do, packed

WAIT_S = 20.0
"""How long a scheduler may take to answer, and a cluster to have a worker."""
_LOOK_S = 2.0
"""Seconds between two looks whether there is a worker."""
_TRIES = 3
"""Workers that may die on a task before it comes back to whoever asked."""
_MOST_HELD = 256 * 2**20
"""Bytes of artwork and the like that the cluster keeps for tasks to come."""


def connected(address: str) -> Connected:
    """Connect to a scheduler and wait for its first worker. Raises OrderError."""
    # What it says of workers that come and go is for those who run them: for us it costs time.
    logging.getLogger("distributed").setLevel(logging.CRITICAL)
    # It keeps the last thousand messages to look for its own faults in: a hundred MB and more.
    dask.config.set({"distributed.admin.low-level-log-length": 1})
    try:
        with warnings.catch_warnings(action="ignore"):
            client = Client(address, timeout=WAIT_S, set_as_default=False)
    except (OSError, ValueError) as problem:
        raise OrderError.of(
            "no-cluster",
            f"no scheduler answers at {address}: {problem}",
            hint="start one with 'dask scheduler', or correct the address",
        ) from problem
    try:
        client.wait_for_workers(1, timeout=WAIT_S)
    except TimeoutError as problem:
        client.close()
        raise OrderError.of(
            "no-workers",
            f"the cluster at {address} has no workers",
            hint=f"start some with 'dask worker {address} --nthreads 1', where inkaccord is "
            "installed",
        ) from problem
    return Connected(Cluster(client, address), sum(client.nthreads().values()))


class Cluster(Executor):
    """Does tasks on the workers of a cluster.

    What is the cluster's own fault, as workers that died or a connection that was lost, breaks it
    as it breaks a pool of processes: whoever asks connects anew, or does the tasks.
    """

    def __init__(self, client: Client, address: str) -> None:
        self._client = client
        self._address = address
        self._program = program_here()
        self._executor = client.get_executor(pure=False, retries=_TRIES)
        self._held: OrderedDict[str, tuple[int, Any]] = OrderedDict()
        self._waiting: set[Future[Any]] = set()
        self._ended = threading.Event()
        threading.Thread(target=self._watch, daemon=True).start()

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        """Hand out a task; its large values travel once to each worker that needs them."""
        task, large = packed(partial(fn, **kwargs) if kwargs else fn, args)
        given: Future[Any] = Future()
        given.set_running_or_notify_cancel()
        try:
            values = [self._sent(digest, value) for digest, value in large.items()]
            asked = self._executor.submit(do, self._program, task, tuple(large), *values)
        except Exception as problem:
            if self._client.status == "running":
                raise
            raise BrokenExecutor(f"the connection was lost: {problem}") from problem
        self._waiting.add(given)
        asked.add_done_callback(partial(self._came, given))
        return given

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        """Let go of the cluster; its workers go on without us."""
        del cancel_futures
        self._ended.set()
        with contextlib.suppress(Exception):  # of a lost connection, that it is lost
            self._executor.shutdown(wait=wait)
        self._held.clear()
        self._client.close()

    def _sent(self, digest: str, value: bytes) -> Any:
        """Return the cluster's own name for a value, which is sent unless it is there already."""
        if digest not in self._held:
            self._held[digest] = len(value), self._client.scatter(value)
        self._held.move_to_end(digest)
        while sum(size for size, _ in self._held.values()) > _MOST_HELD and len(self._held) > 1:
            self._held.popitem(last=False)
        return self._held[digest][1]

    def _came(self, given: Future[Any], asked: Future[Done]) -> None:
        problem = BrokenExecutor("the task was lost") if asked.cancelled() else asked.exception()
        if problem is not None:
            self._end(given, BrokenExecutor(f"{type(problem).__name__}: {problem}"))
            return
        what, result = asked.result()
        if what == "done":
            self._waiting.discard(given)
            with contextlib.suppress(InvalidStateError):  # it was given back before
                given.set_result(result)
        elif what == "other":
            self._end(given, _other_program(self._address, result))
        else:
            self._end(given, RuntimeError(result))

    def _end(self, given: Future[Any], problem: BaseException) -> None:
        self._waiting.discard(given)
        with contextlib.suppress(InvalidStateError):
            given.set_exception(problem)

    def _watch(self) -> None:
        """Give tasks back when there has been no worker to do them for a while."""
        without = 0.0
        while not self._ended.wait(_LOOK_S):
            try:
                there = bool(self._client.nthreads())
            except Exception:  # noqa: BLE001 - whatever it is, nobody answers
                there = False
            without = 0.0 if there else without + _LOOK_S
            if without >= WAIT_S:
                for given in tuple(self._waiting):
                    self._end(given, BrokenExecutor("no workers are left"))


def _other_program(address: str, machine: str) -> OrderError:
    return OrderError.of(
        "other-program",
        f"the worker on {machine}, of the cluster at {address}, has another version of inkaccord, "
        "of its libraries or of Ghostscript than this machine: it could give other bytes",
        hint="install the same on both, and start the worker again; or run without --cluster",
    )
