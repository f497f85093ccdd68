"""Files as strangers may send them: ``python tests/fuzz.py KIND [--seconds N]``, by hand.

Bytes of kept files are changed at random and handed to what reads such files. Nothing may come of
it but a result or an error in a designer's words: no traceback, no case of more than 30 s of
processor time, no more memory than --mib. What breaks that is written to a file, and tried again by
``--again FILE``. With ``--guided`` atheris does the changing, led by which lines of ours are
reached (``pip install atheris``, which has wheels for some systems only).
"""

import faulthandler
import random
import re
import resource
import signal
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import click

KINDS = ("pdf", "order", "evidence", "readings", "scan")
LONGEST_CASE = 30
"""Seconds of processor time."""
_HANGS = 300
"""Seconds by the clock after which a case that can't be interrupted ends the program."""
_NUMBERS = (b"0", b"-1", b"1", b"65536", b"2147483648", b"1e308", b"0.000001", b"9" * 400, b"nan")
_NUMBER = re.compile(rb"-?\d+(?:\.\d+)?")
_LONGEST = 1 << 18


class HangError(Exception):
    """A case that took too long."""


def changed(data: bytes, others: list[bytes], dice: random.Random) -> bytes:
    """Return bytes changed in one to six places."""
    found = bytearray(data)
    for _ in range(dice.randint(1, 6)):
        dice.choice(_CHANGES)(found, others, dice)
    return bytes(found[:_LONGEST])


def _flip(data: bytearray, _: list[bytes], dice: random.Random) -> None:
    if data:
        data[dice.randrange(len(data))] = dice.randrange(256)


def _cut(data: bytearray, _: list[bytes], dice: random.Random) -> None:
    start = dice.randrange(len(data) + 1)
    del data[start : start + dice.choice((1, 4, 40, 4000))]


def _repeat(data: bytearray, _: list[bytes], dice: random.Random) -> None:
    start = dice.randrange(len(data) + 1)
    part = data[start : start + dice.choice((1, 8, 80))]
    data[start:start] = part * dice.choice((1, 2, 50))


def _number(data: bytearray, _: list[bytes], dice: random.Random) -> None:
    start = dice.randrange(len(data) + 1)
    match = _NUMBER.search(data, start)
    if match:
        data[slice(*match.span())] = dice.choice(_NUMBERS)


def _borrow(data: bytearray, others: list[bytes], dice: random.Random) -> None:
    other = dice.choice(others)
    start, at = dice.randrange(len(other) + 1), dice.randrange(len(data) + 1)
    data[at:at] = other[start : start + dice.choice((8, 80, 800))]


def _swap_words(data: bytearray, _: list[bytes], dice: random.Random) -> None:
    start = dice.randrange(len(data) + 1)
    words = re.findall(rb"[A-Za-z]{2,}", data)
    match = re.compile(rb"[A-Za-z]{2,}").search(data, start)
    if match and words:
        data[slice(*match.span())] = dice.choice(words)


_CHANGES: tuple[Callable[[bytearray, list[bytes], random.Random], None], ...] = (
    _flip, _cut, _repeat, _number, _borrow, _swap_words,
)  # fmt: skip


def tried(one: Callable[[bytes], None], data: bytes) -> None:
    """Try a case; raises HangError, or what came of it that may not be."""
    faulthandler.dump_traceback_later(_HANGS, exit=True)
    signal.setitimer(signal.ITIMER_VIRTUAL, LONGEST_CASE)
    try:
        one(data)
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)
        faulthandler.cancel_dump_traceback_later()


def _too_long(*_: object) -> None:
    raise HangError(f"more than {LONGEST_CASE} s of processor time")


@click.command()
@click.argument("kind", type=click.Choice(KINDS))
@click.option("--seconds", default=60.0, help="How long, by the clock.")
@click.option("--seed", default=0, help="Another number tries other cases.")
@click.option("--mib", default=3072, help="Address space.")
@click.option("--again", type=click.Path(path_type=Path, exists=True), help="Try this file alone.")
@click.option("--guided", is_flag=True, help="Let atheris choose the cases.")
def main(kind: str, seconds: float, seed: int, mib: int, again: Path | None, guided: bool) -> None:
    """Fuzz what reads files of a KIND."""
    resource.setrlimit(resource.RLIMIT_AS, (mib << 20, resource.RLIM_INFINITY))
    signal.signal(signal.SIGVTALRM, _too_long)
    if guided:
        _guided(kind, seconds)
    from fuzz_targets import TARGETS

    target = TARGETS[kind]
    if again is not None:
        tried(target.one, again.read_bytes())
        return
    seeds, dice, count = list(target.seeds()), random.Random(seed), 0
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        data = changed(dice.choice(seeds), seeds, dice) if count else seeds[0]
        count += 1
        try:
            tried(target.one, data)
        except BaseException as problem:
            path = Path(tempfile.gettempdir()) / f"fuzz-{kind}-{seed}-{count}"
            path.write_bytes(data)
            click.echo(f"{kind}: {type(problem).__name__} in case {count}, kept in {path}")
            raise
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    click.echo(f"{kind}: {count} cases, nothing but results and known errors; {peak:.0f} MiB")


def _guided(kind: str, seconds: float) -> None:
    import atheris

    with atheris.instrument_imports(include=["inkaccord"]):
        from fuzz_targets import TARGETS
    target = TARGETS[kind]
    with tempfile.TemporaryDirectory() as folder:
        for number, data in enumerate(target.seeds()):
            (Path(folder) / str(number)).write_bytes(data)
        options = [f"-max_total_time={seconds:.0f}", f"-max_len={_LONGEST}", "-rss_limit_mb=0"]
        atheris.Setup([sys.argv[0], *options, folder], lambda data: tried(target.one, data))
        atheris.Fuzz()


if __name__ == "__main__":
    main()
