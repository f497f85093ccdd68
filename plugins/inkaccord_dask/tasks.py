"""Tasks as bytes: artwork apart from the rest, by its content, and the worker's side."""

import hashlib
import io
import pickle
import socket
from collections.abc import Callable, Mapping
from typing import Any

from inkaccord.plugin import program_here

LARGE = 16_384
"""Bytes from which on a value travels by its content, once for each worker."""

Done = tuple[str, Any]
"""``done`` with what came out, ``failed`` with why, or ``other`` with the worker's machine."""


class _Packer(pickle.Pickler):
    """Puts the digest of large bytes where they stood."""

    def __init__(self, file: io.BytesIO) -> None:
        super().__init__(file, pickle.HIGHEST_PROTOCOL)
        self.large: dict[str, bytes] = {}

    def persistent_id(self, obj: object) -> str | None:
        if not isinstance(obj, bytes) or len(obj) < LARGE:
            return None
        digest = hashlib.sha256(obj).hexdigest()
        self.large[digest] = obj
        return digest


class _Unpacker(pickle.Unpickler):
    """Takes large bytes by their digests."""

    def __init__(self, file: io.BytesIO, large: Mapping[str, bytes]) -> None:
        super().__init__(file)
        self._large = large

    def persistent_load(self, pid: str) -> bytes:
        return self._large[pid]


def packed(
    function: Callable[..., Any], arguments: tuple[Any, ...]
) -> tuple[bytes, dict[str, bytes]]:
    """Return a task as bytes, and the large values that belong to it, by their digests."""
    file = io.BytesIO()
    packer = _Packer(file)
    packer.dump((function, arguments))
    return file.getvalue(), packer.large


def do(program: str, task: bytes, digests: tuple[str, ...], *large: bytes) -> Done:
    """Do a task on a worker, if the worker runs the same program as whoever asks.

    That is looked at first: another program may not even know the task's values.
    """
    if program_here() != program:
        return "other", socket.gethostname()
    try:
        given = dict(zip(digests, large, strict=True))
        function, arguments = _Unpacker(io.BytesIO(task), given).load()
        return "done", function(*arguments)
    except Exception as problem:  # noqa: BLE001 - it is told to whoever asked
        return "failed", f"{type(problem).__name__}: {problem}"
