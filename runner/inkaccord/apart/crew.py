"""The asking side: workers are started when needed, kept for the next task, ended with us."""

import atexit
import contextlib
import os
import signal
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from inkaccord.apart import worker
from inkaccord.apart.worker import Values, receive, send
from inkaccord.errors import FileError, InkaccordError

Task = Callable[..., Iterator[Values]]

_PATIENCE = 20
"""Seconds by the clock for one of processor time: for what waits, or runs on a busy machine."""
_TIRED_MIB = 512
"""A worker that once needed more than this is not kept: what it freed, it may still hold."""


@dataclass(frozen=True)
class Allowance:
    """What a task may take.

    Attributes
    ----------
    who
        Whose work it is, for messages: ``PDFium``.
    seconds
        Processor time. Where a system has no limit for it (Windows), the same by the clock.
    mib
        Address space in MiB. macOS and Windows have no such limit: there it is not kept.
    in_program
        What a designer can do, in the program that made the file, where it does not suffice.
    """

    who: str
    seconds: int
    mib: int = 1024
    in_program: str = "simplify what is drawn, or turn it into a picture, and export again"


class TaskError(FileError):
    """A task that failed by its own account.

    Attributes
    ----------
    words
        What it said, in the words of the library.
    """

    words: str = ""


class TooMuchError(FileError):
    """A task that needed more than it may, or fell, and was ended."""


def answers(task: Task, allowance: Allowance, **values: Any) -> Iterator[Values]:
    """Have a worker do a task; yield what it yields, as it comes.

    Raises TaskError when the task raised, TooMuchError when its worker had to be ended.
    """
    module = sys.modules[task.__module__]
    order = [module.__file__, task.__name__, allowance.seconds, allowance.mib]
    one = _crew.take()
    kept = False
    try:
        one.send({**values, "": order})
        while True:
            said = one.receive(allowance.seconds * (_PATIENCE if worker.HAS_LIMITS else 1))
            what = said.pop("")
            if what == "answer":
                yield said
                continue
            kept = what != "memory" and said.get("peak_mib", 0.0) <= _TIRED_MIB
            if what == "failed":
                raise _failed(allowance, said["words"] or said["kind"])
            if what == "memory":
                raise too_much_memory(allowance)
            return
    except (EOFError, OSError) as problem:
        one.end()
        raise _ended(one, allowance) from problem
    finally:
        if kept:
            _crew.give_back(one)
        else:
            one.end()


def answer(task: Task, allowance: Allowance, **values: Any) -> Values:
    """Have a worker do a task that yields once; raises as :func:`answers` does."""
    (found,) = answers(task, allowance, **values)
    return found


def expect() -> None:
    """Start a worker for a task that will come, so that it is there by then."""
    _crew.give_back(_crew.take())


def run_program(command: list[str], folder: Path, allowance: Allowance) -> tuple[int, str]:
    """Run a program in a folder; return its exit status and its first words.

    It ends with this process, whatever that dies of: on Linux at once, elsewhere when its worker
    sees that nobody reads any more. Raises TooMuchError, or FileError when it can't be started.
    """
    try:
        done = answer(
            worker.run,
            # The worker itself only waits.
            Allowance(allowance.who, allowance.seconds, 1024),
            command=command,
            folder=str(folder),
            program_seconds=allowance.seconds,
            program_mib=allowance.mib,
        )
    except TaskError as problem:
        raise FileError.of(
            "cannot-start",
            f"{allowance.who} cannot be started: {problem.words}",
            hint="install it again",
        ) from problem
    status = int(done["status"])
    if status == -getattr(signal, "SIGXCPU", 0) and status:
        raise _too_long(allowance)
    if status < 0:
        raise _fell(allowance)
    return status, str(done["words"])


# -- what is said -----------------------------------------------------------------------------


def too_much_memory(allowance: Allowance) -> InkaccordError:
    """Return what is said of a task that needed more memory than it may."""
    return TooMuchError.of(
        "took-too-much-memory",
        f"{allowance.who} needed more than {allowance.mib} MiB of memory for this file, and was "
        "stopped",
        in_program=allowance.in_program,
    )


def _ended(one: "_Worker", allowance: Allowance) -> InkaccordError:
    if one.late or one.status == -getattr(signal, "SIGXCPU", 0):
        return _too_long(allowance)
    return _fell(allowance)


def _failed(allowance: Allowance, words: str) -> TaskError:
    problem = TaskError.of(
        "cannot-read-further",
        f"{allowance.who} can't read this file: {words}",
        in_program="save it again, and look at it in another program",
    )
    problem.words = words
    return problem


def _too_long(allowance: Allowance) -> InkaccordError:
    return TooMuchError.of(
        "took-too-long",
        f"{allowance.who} was not done with this file after {allowance.seconds} s of processor "
        "time, and was stopped",
        in_program=allowance.in_program,
    )


def _fell(allowance: Allowance) -> InkaccordError:
    return TooMuchError.of(
        "program-fell",
        f"{allowance.who} fell over this file, or needed more than {allowance.mib} MiB of memory "
        "for it",
        in_program=allowance.in_program,
    )


# -- workers ----------------------------------------------------------------------------------


class _Worker:
    """One worker process, and the two pipes to it."""

    def __init__(self) -> None:
        # No site packages are looked for: it is told our path, which is quicker, and the same.
        self._process = subprocess.Popen(  # noqa: S603 - ourselves, and no shell
            [sys.executable, "-S", str(Path(worker.__file__))],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            start_new_session=True,  # Ctrl-C is ours to hear
        )
        self.late = False
        self.send({"path": sys.path})

    @property
    def status(self) -> int | None:
        """How it ended; None while it runs."""
        return self._process.returncode

    def is_there(self) -> bool:
        """Tell whether it still runs."""
        return self._process.poll() is None

    def send(self, values: Values) -> None:
        """Send a message. Raises OSError when it has ended."""
        assert self._process.stdin is not None  # noqa: S101 - it is a pipe
        send(self._process.stdin, values)

    def receive(self, seconds: float) -> Values:
        """Return its next message; raises EOFError when it has ended, by us after some seconds."""
        assert self._process.stdout is not None  # noqa: S101 - it is a pipe
        clock = threading.Timer(seconds, self._give_up)
        clock.daemon = True
        clock.start()
        try:
            return receive(self._process.stdout)
        finally:
            clock.cancel()

    def _give_up(self) -> None:
        self.late = True
        self._kill()

    def _kill(self) -> None:
        with contextlib.suppress(OSError):
            if hasattr(os, "killpg"):
                os.killpg(self._process.pid, signal.SIGKILL)  # with a program that it runs
            else:
                self._process.kill()

    def end(self) -> None:
        """End it, and wait until it has ended."""
        if self._process.returncode is None:
            self._kill()
        self._close()
        self._process.wait()

    def disown(self) -> None:
        """Let go of what is the worker of another process."""
        self._process.returncode = 0  # else it is waited for, which only its parent can
        self._close()

    def _close(self) -> None:
        for pipe in (self._process.stdin, self._process.stdout):
            if pipe is not None:
                with contextlib.suppress(OSError):
                    pipe.close()


class _Crew:
    """The workers that have nothing to do just now."""

    def __init__(self) -> None:
        self._idle: list[_Worker] = []

    def take(self) -> _Worker:
        """Return a worker that nobody else has, a new one if need be."""
        with contextlib.suppress(IndexError):  # two threads may ask at once
            while True:
                one = self._idle.pop()
                if one.is_there():
                    return one
                one.end()
        return _Worker()

    def give_back(self, one: _Worker) -> None:
        """Keep a worker for the next task."""
        self._idle.append(one)

    def end(self) -> None:
        """End all that are kept."""
        while self._idle:
            self._idle.pop().end()

    def forget(self) -> None:
        """Leave all that are kept to the process that this one was forked from."""
        while self._idle:
            self._idle.pop().disown()


_crew = _Crew()
atexit.register(_crew.end)
if hasattr(os, "register_at_fork"):
    os.register_at_fork(after_in_child=_crew.forget)
