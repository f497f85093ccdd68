"""Readers of strangers' files stand 20 s of random changes, and the fuzzer tells of a fault."""

import os
import random
import subprocess
import sys
from pathlib import Path

import pytest

from fuzz import KINDS, HangError, changed, tried
from fuzz_targets import TARGETS

PROGRAM = Path(__file__).parent / "fuzz.py"


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="Windows limits no process")
@pytest.mark.parametrize("kind", KINDS)
def test_nothing_comes_of_a_strangers_file_but_a_result_or_an_error(kind):
    command = [sys.executable, str(PROGRAM), kind, "--seconds", "20"]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "nothing but results and known errors" in done.stdout


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_has_files_to_start_from(kind):
    seeds = list(TARGETS[kind].seeds())
    assert seeds
    assert all(seeds)


def test_changes_are_the_same_for_the_same_number():
    data = b"order: lanterns 12.5\n" * 9
    one, two = (changed(data, [data], random.Random(4)) for _ in range(2))
    assert one == two != data


def test_what_a_reader_raises_comes_through():
    def falls(_data):
        raise KeyError("line")

    with pytest.raises(KeyError):
        tried(falls, b"")


def test_a_case_that_takes_too_long_is_told(monkeypatch):
    import signal

    import fuzz

    monkeypatch.setattr(fuzz, "LONGEST_CASE", 0.05)
    before = signal.signal(signal.SIGVTALRM, fuzz._too_long)
    try:
        with pytest.raises(HangError):
            tried(lambda _: [0 for _ in range(10**9)], b"")
    finally:
        signal.signal(signal.SIGVTALRM, before)
