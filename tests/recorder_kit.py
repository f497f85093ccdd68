"""Processes that record readings on one shelf, to run at once or to be killed.

They fork from one process that has imported what they need, so that each starts in milliseconds.
"""

import multiprocessing
import os
import signal
import time
from contextlib import suppress
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess

from inkaccord.shelf.place import ShelfPlace
from inkaccord.shelf.store import Shelf
from recording_kit import readings_of, sheet_of

_FORKS = multiprocessing.get_context("forkserver")
_FORKS.set_forkserver_preload([__name__])


@dataclass
class Recorder:
    """A process that says for every record that it has kept how long that took, in seconds."""

    process: BaseProcess
    said: Connection
    waited: list[float] = field(default_factory=list)

    @property
    def told(self) -> int:
        """How many records it has said to have kept."""
        return len(self.waited)

    def wait_for(self, count: int) -> None:
        """Wait until it has kept so many more."""
        for _ in range(count):
            self.waited.append(self.said.recv())

    def end(self) -> int | None:
        """Hear it out, and return its exit code."""
        with suppress(EOFError):
            while True:
                self.wait_for(1)
        self.said.close()
        self.process.join(timeout=30)
        return self.process.exitcode

    def kill(self) -> None:
        """Kill it as a crash would, and hear what it had said."""
        assert self.process.pid is not None
        os.kill(self.process.pid, signal.SIGKILL)
        self.end()


def start_recorder(place: ShelfPlace, start: int, count: int, *, opens_for: int = 1) -> Recorder:
    """Start a process that keeps ``count`` records of seven sheets.

    It opens the shelf anew for each, or for every ``opens_for`` of them.
    """
    ours, theirs = _FORKS.Pipe(duplex=False)
    password = os.environ.get("PGPASSWORD", "")  # it has the environment of the first one
    numbers = range(start, start + count)
    opened = [numbers[at : at + opens_for] for at in range(0, count, opens_for)]
    process = _FORKS.Process(target=_record, args=(place, opened, theirs, password))
    process.start()
    theirs.close()
    return Recorder(process, ours)


def _record(place: ShelfPlace, opened: list[range], tell: Connection, password: str) -> None:
    os.environ["PGPASSWORD"] = password
    for numbers in opened:
        with Shelf.open(place, by=f"run {opened[0].start}") as shelf:
            for number in numbers:
                began = time.perf_counter()
                sheet = sheet_of(24, name=f"S{number % 7}")
                shelf.add_sheet(sheet)
                shelf.record_readings(readings_of(sheet, seed=number))
                tell.send(time.perf_counter() - began)


def eight_seats(place: ShelfPlace, count: int) -> list[float]:
    """Let eight seats keep ``count`` records each, and kill every second one to begin it again.

    Each has the shelf open all the time, as the page has it. Returns how long those who went on
    to their end waited, in seconds for each record.
    """
    starts = range(0, 8 * count, count)
    seats = {it: start_recorder(place, it, count, opens_for=count) for it in starts}
    for start in starts[::2]:
        seats[start].wait_for(1)
        time.sleep(0.05)
        seats[start].kill()
        assert seats[start].told < count
        seats[start] = start_recorder(place, start, count, opens_for=count)
    assert [it.end() for it in seats.values()] == [0] * 8
    return [seconds for it in seats.values() for seconds in it.waited]
