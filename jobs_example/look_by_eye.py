"""Play the person who answers `inkaccord look SHEET`, one question after the other.

    python jobs_example/look_by_eye.py SHEET.txt slate=41,-4,-10 --who studio

starts the command and answers all that it asks of the colours, by the thing that the person holds
beside the sheet (its CIELAB). The eye is wrong in two parts: one that is the person's own, and one
that is new at every look; both are the same for the same sheet, question and person every time.
Options that it does not know go to the command.
"""

import argparse
import re
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import IO

import numpy as np
from pick_by_eye import parse_aim, pick, seen_as
from printers import Array
from sheet_text import SheetText, add_printer_options, load

from inkaccord.errors import InkaccordError

_ASKED = re.compile(r"\d+/\d+  .*\? $")
_ROW = re.compile(r"Along row ([A-Z]+),")
_TWO = re.compile(r"Look at (\w+) and (\w+) alone")
_FOR_EYE = "TO_HOLD_AGAINST_THE_THING"


def look(
    sheet: SheetText,
    colour: str,
    thing: Array,
    *,
    error: float = 0.7,
    who: str = "studio",
    options: Sequence[str] = (),
) -> list[str]:
    """Look at the swatches for a colour, and return what was answered.

    ``error`` is the standard deviation, in ΔE00 for each of three directions, of a single look.
    """
    command = ["-m", "inkaccord.cli.main", "look", sheet.sheet_id, "--colour", colour]
    own = seen_as(thing, error / np.sqrt(2.0), colour, who)
    given: list[str] = []
    with subprocess.Popen(
        [sys.executable, *command, "--by", who, *options],
        stdin=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
    ) as talk:
        assert talk.stdin is not None  # noqa: S101 -- pipes were asked for
        assert talk.stderr is not None  # noqa: S101
        said: list[str] = []
        while question := _next_question(talk.stderr, said):
            among = _among(sheet, colour, question)
            seed = f"{who}\n{question}"
            given.append(
                pick(sheet, colour, own, error=error / np.sqrt(2.0), who=seed, among=among)
            )
            print(given[-1], file=talk.stdin, flush=True)
    if talk.returncode:
        raise SystemExit("".join(said))
    return given


def _next_question(told: IO[str], said: list[str]) -> str:
    """Return the next question, past all else that is said; nothing at the end."""
    line = ""
    while letter := told.read(1):
        said.append(letter)
        line = "" if letter == "\n" else line + letter
        if _ASKED.fullmatch(line):
            return line
    return ""


def _among(sheet: SheetText, colour: str, question: str) -> Sequence[str]:
    """Return the swatches that a question is about."""
    if two := _TWO.search(question):
        return two.groups()
    groups = (group.partition(": ") for group in (sheet.table.keyword(_FOR_EYE) or "").split("; "))
    own = {name: ids.split() for name, _, ids in groups}.get(colour, list(sheet.swatch_ids))
    if row := _ROW.search(question):
        return [name for name in own if name.rstrip("0123456789") == row[1]]
    return own


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("sheet", type=Path, metavar="SHEET.txt")
    parser.add_argument("aims", nargs="+", type=parse_aim, metavar="COLOUR=L,a,b")
    parser.add_argument("--error", type=float, default=0.7, help="of a look, in ΔE00 (%(default)s)")
    parser.add_argument("--who", default="studio", help="whose eye it is (%(default)s)")
    add_printer_options(parser)
    given, options = parser.parse_known_args()
    try:
        sheet = load(given.sheet, given.device, given.stock)
    except InkaccordError as problem:
        raise SystemExit(str(problem)) from problem
    for name, thing in given.aims:
        told = look(sheet, name, thing, error=given.error, who=given.who, options=options)
        print(f"{name}: {' '.join(told)}")


if __name__ == "__main__":
    main()
