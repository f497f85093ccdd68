"""The worker's side: takes tasks from its standard input, does them under limits, answers.

Run as a script, it knows the standard library alone, so that it starts at once. A message, either
way, is a JSON object and the bytes that belong to it: nothing that is read can name code. A worker
ends with whoever started it, whatever that one died of, because its standard input ends then; a
program that it runs ends with it.
"""

import contextlib
import json
import os
import queue
import signal
import subprocess
import sys
import threading
import types
from collections.abc import Callable, Iterator, Mapping
from importlib.machinery import SourceFileLoader
from typing import IO, Any

try:
    import resource
except ImportError:  # Windows has no such limits: there whoever waits ends a worker by the clock
    HAS_LIMITS = False
else:
    HAS_LIMITS = True
"""Whether the system limits processor time."""

Values = dict[str, Any]
"""Numbers, texts, lists and dictionaries of them; bytes, or None, right under a key."""

_MIB = 1 << 20
_MOST_WORDS = 1 << 16
"""Bytes of what a program writes to its standard output and error that are kept."""
_MOST_FILE = 4 << 30
"""The largest file, in bytes, that a program may write."""
_KILL_WITH_PARENT = 1
"""``PR_SET_PDEATHSIG`` of Linux: a signal for when the parent has ended (prctl(2))."""


# -- messages ---------------------------------------------------------------------------------


def send(stream: IO[bytes], values: Mapping[str, Any]) -> None:
    """Write one message. Raises OSError when nobody reads."""
    blobs = {key: value for key, value in values.items() if isinstance(value, _BYTES)}
    plain = {key: value for key, value in values.items() if key not in blobs}
    sizes = {key: memoryview(blob).nbytes for key, blob in blobs.items()}
    head = json.dumps([plain, sizes]).encode()
    stream.write(len(head).to_bytes(8, "big") + head)
    for blob in blobs.values():
        stream.write(blob)
    stream.flush()


_BYTES = (bytes, bytearray, memoryview)


def receive(stream: IO[bytes]) -> Values:
    """Return the next message. Raises EOFError where there is none."""
    head = _exactly(stream, int.from_bytes(_exactly(stream, 8), "big"))
    values, sizes = json.loads(head)
    for key, size in sizes.items():
        values[key] = _exactly(stream, size)
    return dict(values)


def _exactly(stream: IO[bytes], size: int) -> bytearray:
    data = bytearray(size)
    view = memoryview(data)
    while view:
        count = stream.readinto(view)  # type: ignore[attr-defined]  # of every buffered stream
        if not count:
            raise EOFError
        view = view[count:]
    return data


# -- tasks ------------------------------------------------------------------------------------


def work() -> None:
    """Do tasks until nobody is there any more to ask for them."""
    # What libraries print must not stand between messages.
    answers = os.fdopen(os.dup(1), "wb")
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)
    requests: queue.SimpleQueue[Values] = queue.SimpleQueue()
    sys.path[:] = receive(sys.stdin.buffer)["path"]
    threading.Thread(target=_listen, args=(requests,), daemon=True).start()
    tasks: dict[str, types.ModuleType] = {__file__: sys.modules["__main__"]}
    while True:
        request = requests.get()
        try:
            file, name, seconds, mib = request.pop("")
            task = _task(tasks, file, name)
            _limit(seconds, mib)
            for values in task(**request):
                send(answers, {**values, "": "answer"})
            end: Values = {"": "end", "peak_mib": _peak_mib()}
        except MemoryError:
            end = {"": "memory"}
        except BrokenPipeError:
            return
        except Exception as problem:  # noqa: BLE001 -- it is told to whoever asked
            end = {"": "failed", "words": str(problem), "kind": type(problem).__name__}
        send(answers, end)


def _listen(requests: "queue.SimpleQueue[Values]") -> None:
    try:
        while True:
            requests.put(receive(sys.stdin.buffer))
    except (EOFError, OSError):
        if hasattr(os, "killpg"):
            os.killpg(0, signal.SIGKILL)  # a group of our own: this worker and its program
        for program in _running:
            program.kill()
        os._exit(1)


def _task(
    tasks: dict[str, types.ModuleType], file: str, name: str
) -> Callable[..., Iterator[Values]]:
    if file not in tasks:
        loader = SourceFileLoader(f"tasks_{len(tasks)}", file)
        tasks[file] = types.ModuleType(loader.name)
        loader.exec_module(tasks[file])
    found: Callable[..., Iterator[Values]] = getattr(tasks[file], name)
    return found


def _limit(seconds: float, mib: int) -> None:
    """Limit the memory of this process, and what more of processor time it may use."""
    if not HAS_LIMITS:
        return
    used = resource.getrusage(resource.RUSAGE_SELF)
    until = int(used.ru_utime + used.ru_stime + seconds) + 1
    for what, most in (("RLIMIT_CORE", 0), ("RLIMIT_AS", mib * _MIB), ("RLIMIT_CPU", until)):
        _lower(what, most)


def _lower(name: str, most: int) -> None:
    # The soft limit alone, which may be raised again for the next task.
    which = getattr(resource, name, None)
    if which is None:
        return
    _, hard = resource.getrlimit(which)
    if hard != resource.RLIM_INFINITY:
        most = min(most, hard)
    with contextlib.suppress(OSError, ValueError):  # macOS takes no limit of memory
        resource.setrlimit(which, (most, hard))


def _peak_mib() -> float:
    """Return the most memory that this process has needed.

    Linux counts what whoever started it had needed by then as its own (getrusage(2)), save here.
    """
    if not HAS_LIMITS:
        return 0.0
    path = "/proc/self/status"
    with contextlib.suppress(OSError), open(path, "rb") as status:  # noqa: PTH123 - starts at once
        for line in status:
            if line.startswith(b"VmHWM:"):
                return int(line.split()[1]) / 1024
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / (_MIB if sys.platform == "darwin" else 1024)


# -- programs ---------------------------------------------------------------------------------

_running: list["subprocess.Popen[bytes]"] = []


def run(
    command: list[str], folder: str, program_seconds: int, program_mib: int
) -> Iterator[Values]:
    """Run a program in a folder; yield its exit status and its first words.

    The status is that of ``subprocess``: minus the signal's number where one ended it.
    """
    prctl = _prctl()

    def within_limits() -> None:  # pragma: no cover - runs in the program's process
        for what, most in (
            ("RLIMIT_CORE", 0),
            ("RLIMIT_AS", program_mib * _MIB),
            ("RLIMIT_CPU", program_seconds),
            ("RLIMIT_FSIZE", _MOST_FILE),
        ):
            _lower(what, most)
        if prctl is not None:
            prctl(_KILL_WITH_PARENT, signal.SIGKILL)

    program = subprocess.Popen(  # noqa: S603 - what we put together ourselves, and no shell
        command,
        cwd=folder,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        # Safe here: this process has one thread that runs, and one that waits for messages.
        preexec_fn=within_limits if HAS_LIMITS else None,  # noqa: PLW1509
    )
    _running.append(program)
    with program:
        said = bytearray()
        assert program.stdout is not None  # noqa: S101 - it is a pipe
        while part := program.stdout.read(_MOST_WORDS):
            said += part[: _MOST_WORDS - len(said)]
    _running.remove(program)
    yield {"status": program.returncode, "words": said.decode("utf-8", "replace")}


def _prctl() -> Callable[[int, int], int] | None:
    """Return Linux's call that asks for a signal when the parent ends; None elsewhere."""
    if sys.platform != "linux":
        return None
    import ctypes  # noqa: PLC0415 - seldom needed

    found: Callable[[int, int], int] = ctypes.CDLL(None).prctl
    return found


if __name__ == "__main__":
    work()
