"""Files made to harm, through every command that reads artwork: each ends soon, in few bytes."""

import os
import resource
import subprocess
import sys
from pathlib import Path

import pytest

from hostile_kit import HARMLESS, HOSTILE, shadings
from structure_kit import OPENED, REFUSED

ORDER = """
order: hostile
date: 2026-10-05
suites: 20
shelf: shelf.sqlite
colours: {leaf: {aim: {lab: [52, -28, 22]}, in_artwork: [cmyk 85 20 60 30]}}
stocks: {white: {size: letter}}
vendors: {studio: {delivers: sheets, devices: {press: {sheets: [letter], ink_limit: 300}}}}
pieces: {card: {artwork: card.pdf, trim: 200pt x 200pt, device: press, stock: white}}
tolerances: {between_pieces: 3, to_aim: 4}
"""
FILES = {
    **HOSTILE, **HARMLESS, **REFUSED, **OPENED, "a page of 3,511 gradients": lambda: shadings(3511)
}  # fmt: skip
SECONDS, MIB = 60, 1536
"""Processor time and address space: some 20 s and 1 GB on a machine with nothing else to do."""


def within_limits() -> None:
    resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS + 1))
    resource.setrlimit(resource.RLIMIT_AS, (MIB << 20, MIB << 20))


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="Windows limits no process")
@pytest.mark.parametrize("name", FILES)
def test_every_command_ends_in_a_result_or_an_error(name: str, tmp_path: Path) -> None:
    (tmp_path / "order.yaml").write_text(ORDER)
    (tmp_path / "card.pdf").write_bytes(FILES[name]())
    swap = ["--swap", "cmyk 85 20 60 30 = cmyk 78 12 55 41"]
    for words in (
        ["colours", "card.pdf"], ["recolour", "card.pdf", "out.pdf", *swap], ["check", "."],
        ["run", "."],
    ):  # fmt: skip
        done = subprocess.run(
            [sys.executable, "-m", "inkaccord.cli.main", *words],
            cwd=tmp_path, capture_output=True, text=True, check=False, preexec_fn=within_limits,
        )  # fmt: skip
        assert done.returncode in {0, 2, 3, 4, 5}, (words, done.returncode, done.stderr[-2000:])
        assert "Traceback" not in done.stderr
        if name in HOSTILE or name in REFUSED:
            assert done.returncode != 0, words
