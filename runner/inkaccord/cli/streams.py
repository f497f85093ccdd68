"""What stands between a command and the streams that it speaks through.

They may be closed, full, broken off by their reader, or know few characters; and the process may be
asked to end. None of it shows a traceback, and the exit code tells of it.
"""

import codecs
import contextlib
import io
import os
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from types import FrameType

from inkaccord.errors import ExitCode

READER_GONE = 141
"""The reader of the output has gone, as after ``| head -1``: what a shell has for SIGPIPE."""
ENDED = 143
"""Asked to end, by SIGTERM or by a terminal that closes."""

_PLAIN = {
    "Δ": "d", "–": "-", "—": "-", "−": "-", "×": "x", "±": "+-", "…": "...", "°": " deg",
    "‘": "'", "’": "'", "“": '"', "”": '"', "\u202f": " ", "\u00a0": " ", "²": "2", "·": "-",
    "√": "ok", "✓": "ok", "→": "->", "─": "-", "≤": "<=", "≥": ">=",
}  # fmt: skip
"""Our own characters that a terminal may lack, and what it shows instead."""


def guarded(command: Callable[[list[str]], int], arguments: Sequence[str]) -> int:
    """Call a command that speaks through the process's own streams; return its exit code."""
    _open_what_is_closed()
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors=_PLAINER)
    ended = _end_when_asked()
    try:
        code = command(list(arguments))
        sys.stdout.flush()
    except BrokenPipeError:
        _speak_no_more(sys.stdout)
        code = READER_GONE
    except SystemExit as exited:
        # With 0 where a shell was told what can be typed, else where the reader has gone.
        code = READER_GONE if exited.code else 0
        if exited.code:
            _speak_no_more(sys.stdout)
    except OSError as problem:
        _speak_no_more(sys.stdout)
        code = int(ExitCode.FILES)
        with contextlib.suppress(OSError):
            print(f"error the output can't be written: {problem.strerror}", file=sys.stderr)  # noqa: T201
    try:
        sys.stderr.flush()
    except OSError:
        _speak_no_more(sys.stderr)
    return ENDED if ended else code


def _end_when_asked() -> list[int]:
    """Let the requests to end do what Ctrl-C does; return the list that holds those that came."""
    came: list[int] = []

    def end(number: int, _frame: FrameType | None) -> None:
        if not came:  # a second one while files are put away would leave them lying
            came.append(number)
            raise KeyboardInterrupt

    for name in ("SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)
        if number is not None and signal.getsignal(number) == signal.SIG_DFL:
            signal.signal(number, end)
    return came


@contextlib.contextmanager
def end_asked_later() -> Iterator[None]:
    """Let a request to end wait, Ctrl-C too: what it raises in a finaliser would be lost."""
    came: list[int] = []
    numbers = [getattr(signal, name, None) for name in ("SIGINT", "SIGTERM", "SIGHUP")]
    heeded = {it: way for it in numbers if it is not None and callable(way := signal.getsignal(it))}
    for number in heeded:
        signal.signal(number, lambda it, _frame: came.append(it))
    try:
        yield
    finally:
        for number, way in heeded.items():
            signal.signal(number, way)
        for number in came[:1]:
            signal.raise_signal(number)


def _open_what_is_closed() -> None:
    """Give streams that are closed a place to go: else the next file would get their numbers."""
    for number in (0, 1, 2):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)  # the lowest number that is free: this one
    sys.stdin = sys.stdin or open(0, encoding="utf-8", closefd=False)  # noqa: SIM115
    sys.stdout = sys.stdout or open(1, "w", encoding="utf-8", closefd=False)  # noqa: SIM115
    sys.stderr = sys.stderr or open(2, "w", encoding="utf-8", closefd=False)  # noqa: SIM115


def _speak_no_more(stream: object) -> None:
    """Let a stream that can't be written to lead nowhere, so that nothing is said at the end."""
    with contextlib.suppress(OSError, AttributeError, io.UnsupportedOperation):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())  # type: ignore[attr-defined]
        os.close(nowhere)


def _plainer(problem: UnicodeError) -> tuple[str, int]:
    """Return what stands for characters that a stream's encoding lacks."""
    if not isinstance(problem, UnicodeEncodeError):
        raise problem
    lacking = problem.object[problem.start : problem.end]
    return "".join(_PLAIN.get(it) or _escaped(it) for it in lacking), problem.end


def _escaped(character: str) -> str:
    return character.encode("ascii", "backslashreplace").decode("ascii")


_PLAINER = "inkaccord-plainer"
codecs.register_error(_PLAINER, _plainer)
