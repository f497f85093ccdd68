"""Tasks that behave badly. A worker loads this alone, so the standard library must do."""

import os
import signal
import subprocess
import time
from collections.abc import Iterator
from typing import Any


def count(up_to: int, data: bytes = b"") -> Iterator[dict[str, Any]]:
    """Yield numbers, and the bytes as they came."""
    for number in range(up_to):
        yield {"number": number, "process": os.getpid(), "data": bytes(data)}


def never_end() -> Iterator[dict[str, Any]]:
    """Work for ever."""
    while True:
        pass
    yield {}


def work(seconds: float) -> Iterator[dict[str, Any]]:
    """Work for some seconds of processor time."""
    until = time.process_time() + seconds
    while time.process_time() < until:
        pass
    yield {}


def sleep(seconds: float) -> Iterator[dict[str, Any]]:
    """Wait, without working."""
    time.sleep(seconds)
    yield {}


def grow() -> Iterator[dict[str, Any]]:
    """Fill the memory, as a library does."""
    held = []
    while True:
        held.append(bytearray(16 << 20))
    yield {}


def fall() -> Iterator[dict[str, Any]]:
    """End as a library that fell."""
    os.kill(os.getpid(), signal.SIGSEGV)
    yield {}


def refuse() -> Iterator[dict[str, Any]]:
    """Raise what a library may raise."""
    raise ValueError("no such page")
    yield {}


def print_much() -> Iterator[dict[str, Any]]:
    """Print where messages stand."""
    print("x" * 100_000, flush=True)
    subprocess.run(["echo", "y" * 1000], check=False)
    yield {"said": "done"}
