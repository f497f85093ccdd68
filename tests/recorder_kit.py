"""Processes that record readings on one shelf, to run at once or to be killed.

They fork from one process that has imported what they need, so that each starts in milliseconds.
"""

import multiprocessing
import os
import signal
from contextlib import suppress
from dataclasses import dataclass
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path

from inkaccord.shelf.store import Shelf
from recording_kit import readings_of, sheet_of

_FORKS = multiprocessing.get_context("forkserver")
_FORKS.set_forkserver_preload([__name__])


@dataclass
class Recorder:
    """A process that says a number for every record that it has kept."""

    process: BaseProcess
    said: Connection
    told: int = 0

    def wait_for(self, count: int) -> None:
        """Wait until it has said so many numbers more."""
        for _ in range(count):
            self.said.recv()
            self.told += 1

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


def start_recorder(path: Path, start: int, count: int) -> Recorder:
    """Start a process that keeps ``count`` records of seven sheets, opening the shelf for each."""
    ours, theirs = _FORKS.Pipe(duplex=False)
    process = _FORKS.Process(target=_record, args=(path, start, count, theirs))
    process.start()
    theirs.close()
    return Recorder(process, ours)


def _record(path: Path, start: int, count: int, tell: Connection) -> None:
    for number in range(start, start + count):
        with Shelf.open(path, by=f"run {start}") as shelf:
            sheet = sheet_of(24, name=f"S{number % 7}")
            shelf.add_sheet(sheet)
            shelf.record_readings(readings_of(sheet, seed=number))
        tell.send(number)
