"""Commands that take a while, each in a process of its own: it may be stopped, or die.

The process is the command itself, so that what is done from the page and from a terminal is one and
the same.
"""

import asyncio
import sys
import tempfile
from collections.abc import AsyncIterator, Sequence
from dataclasses import dataclass, field

from pydantic import ValidationError
from starlette.responses import Response, StreamingResponse

from inkaccord.diagnostics import Diagnostic
from inkaccord.errors import ExitCode
from inkaccord.models import Frozen

_HELD_BACK = 200
"""Lines that are kept of what a run says."""
_NOT_STARTED = -1
"""The exit code of what never ran."""


_WITHOUT_RESULT = {ExitCode.WRONG, ExitCode.FILES}
_MOST_TOLD = 1 << 20
"""Bytes that are read of what is wrong; a result that is kept is read whole, or it is none."""


class _Failure(Frozen):
    """What a run prints where it has no record to print."""

    exit_code: int
    findings: tuple[Diagnostic, ...]


@dataclass
class Running:
    """One run, and what it said so far."""

    lines: list[str] = field(default_factory=list)
    exit_code: int | None = None
    findings: tuple[Diagnostic, ...] = ()
    """What is wrong, where it ended without a result: with the order, with files or the disk."""
    keeps: bool = False
    """Whether what it prints in the end is kept; the record of a run lies in its folder."""
    printed: bytes = b""
    _process: asyncio.subprocess.Process | None = None
    _is_to_end: bool = False
    _news: asyncio.Condition = field(default_factory=asyncio.Condition)

    @property
    def goes_on(self) -> bool:
        """Whether it has not ended."""
        return self.exit_code is None

    @property
    def fell(self) -> bool:
        """Whether it ended without a result: it was stopped, or its process died."""
        return self.exit_code is not None and self.exit_code not in set(ExitCode)

    async def go(self, words: list[str]) -> None:
        """Start it, and hear it to its end."""
        code = _NOT_STARTED
        try:
            with tempfile.TemporaryFile() as result:
                process = self._process = await asyncio.create_subprocess_exec(
                    *words, stdout=result, stderr=asyncio.subprocess.PIPE
                )
                if self._is_to_end:  # before it had begun
                    process.terminate()
                assert process.stderr is not None  # noqa: S101 - asked for just above
                async for line in process.stderr:
                    await self._tell(line.decode(errors="replace").rstrip())
                code = await process.wait()
                result.seek(0)
                if code in _WITHOUT_RESULT:
                    self.findings = _findings_in(result.read(_MOST_TOLD))
                elif self.keeps:
                    self.printed = result.read()
        finally:
            self.stop()
            async with self._news:
                self.exit_code = code
                self._news.notify_all()

    def stop(self) -> None:
        """Ask it to end; what it has not written it leaves as it was."""
        self._is_to_end = True
        if self._process is not None and self._process.returncode is None:
            self._process.terminate()

    async def told(self, after: int = 0) -> AsyncIterator[str]:
        """Yield what it says, from a line on, until it ends."""
        while True:
            async with self._news:
                while len(self.lines) <= after and self.goes_on:
                    await self._news.wait()
                news, ended = self.lines[after:], not self.goes_on
            for line in news:
                yield line
            after += len(news)
            if ended:
                return

    async def _tell(self, line: str) -> None:
        async with self._news:
            if len(self.lines) < _HELD_BACK:
                self.lines.append(line)
            self._news.notify_all()


def _findings_in(printed: bytes) -> tuple[Diagnostic, ...]:
    """Return what a run says is wrong; nothing where it printed its record instead."""
    try:
        return _Failure.model_validate_json(printed).findings
    except ValidationError:
        return ()


def as_events(running: Running | None) -> Response:
    """Send what a command says, line by line, and that it has ended (server-sent events)."""

    async def events() -> AsyncIterator[str]:
        if running is not None:
            async for line in running.told():
                yield f"data: {line}\n\n"
        yield "event: end\ndata: \n\n"

    return StreamingResponse(events(), media_type="text/event-stream")


class Commands:
    """The commands of one start: at most one at a time about one thing, as an order."""

    def __init__(self, plugins: tuple[str, ...] = (), shelf: str | None = None) -> None:
        self._before = [word for name in plugins for word in ("--plugin", name)]
        self._after = ["--shelf", shelf] if shelf else []
        self._of: dict[str, Running] = {}
        self._tasks: set[asyncio.Task[None]] = set()

    def of(self, key: str) -> Running | None:
        """Return the last command about a thing since the start."""
        return self._of.get(key)

    def start(self, key: str, words: Sequence[str], *, keeps: bool = False) -> Running:
        """Start a command, unless one about the same goes on, and return it."""
        now = self._of.get(key)
        if now is not None and now.goes_on:
            return now
        running = self._of[key] = Running(keeps=keeps)
        # -P: nothing is taken for a part of the program because it lies in the current folder
        command = [sys.executable, "-P", "-m", "inkaccord.cli.main", *self._before]
        task = asyncio.create_task(
            running.go([*command, *words, "--json", "--verbose", *self._after])
        )
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)
        return running

    def forget(self, key: str) -> None:
        """End a command, and forget what it said."""
        if (running := self._of.pop(key, None)) is not None:
            running.stop()

    def stop_all(self) -> None:
        """End every command."""
        for running in self._of.values():
            running.stop()
