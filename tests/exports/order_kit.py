"""A whole order of exports for two vendors: a press takes CMYK, a driver takes RGB."""

import re
import shutil
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from exports.areas import is_said
from exports.designs import BRANDS, Flat
from exports.harness import (
    FILES,
    Becomes,
    Numbers,
    design_of,
    misprinted,
)
from inkaccord.colour.spaces import srgb_to_lab
from inkaccord.testing import plain_press
from recording_kit import fill_in
from run_kit import inkaccord, run_of

HEAD = """
order: exports
title: Ten designs as programs write them
date: 2026-11-28
suites: 10
shelf: shelf.sqlite
colours:
  kelp: {aim: {lab: [40, -18, 12]}, in_artwork: [cmyk 85 20 60 30, rgb 20 92 78]}
  lantern: {aim: {lab: [62, 26, 52]}, in_artwork: [cmyk 0 38 88 2, rgb 240 158 40]}
  slate: {aim: {lab: [42, -4, -8]}, in_artwork: [cmyk 55 30 25 45, rgb 74 88 97, spot Slate]}
keep:
  - cmyk 0 0 0 100
  - gray 100
  - rgb 0 0 0
  - cmyk 0 0 0 0
  - gray 0
  - rgb 255 255 255
  - cmyk 60 40 40 100
  - rgb 10 8 8
  - cmyk 40 5 0 0
  - rgb 150 205 235
stocks:
  card: {size: a3, colour: [95, 0, -2]}
vendors:
  quay: {title: Quay Press, delivers: pieces, bleed: 3mm, marks: false, devices: {press: {}},
         levels: {image-half-resolution: warning}}
  studio: {title: Studio, delivers: pieces, bleed: 3mm, marks: false,
           devices: {inkjet: {drive: rgb}}, levels: {image-half-resolution: warning}}
accept_by_eye: true
tolerances: {between_pieces: 30, to_aim: 30}
pieces:
"""
DEVICES = {"press": "cmyk", "inkjet": "rgb"}
"""Each device with the kind of colour that it takes."""
Piece = tuple[str, str]
"""An export, and the device that prints it."""
ROUNDS = 3
"""So often what a run's findings ask for is pasted into an order."""
_LINE = re.compile(r"(colours|pieces|photographs|photographs_from|neutrals|profiled)[^ ]*: .+")


def _press(builds: NDArray[Any]) -> NDArray[Any]:
    """Print CMYK as the plain press; RGB as that does without black."""
    if builds.shape[1] == 4:
        return plain_press(builds)
    inks = 100 * (1 - builds / 255)
    return plain_press(np.column_stack([inks, np.zeros(len(inks))]))


def write_order(folder: Path, pieces: Iterable[Piece], pasted: Iterable[str] = ()) -> None:
    """Write an order of exports as pieces, with lines pasted at its end."""
    lines = [HEAD]
    for name, device in pieces:
        design = design_of(name)
        shutil.copy(FILES / f"{name}.pdf", folder)
        lines.append(
            f"  {name}-{device}: {{artwork: {name}.pdf, device: {device}, stock: card,"
            f" trim: {design.width:g}mm x {design.height:g}mm}}\n"
        )
    (folder / "order.yaml").write_text("".join([*lines, *(f"{it}\n" for it in pasted)]), "utf-8")


def run_to_the_end(folder: Path) -> str:
    """Run, record what is asked for, until nothing is; return what the last run said."""
    for _ in range(3):
        code, out, err = inkaccord("run", folder)
        waiting = sorted((folder / "out" / "samples").glob("*.txt"))
        if not waiting:
            break
        for table in waiting:
            read = folder / f"read-{table.name}"
            fill_in(table, read, _press)
            said = inkaccord("record", table.stem, read, "--order", folder)
            assert said[0] == 0, said
    return f"{code}\n{out}\n{err}"


def print_file(folder: Path, piece: str) -> bytes | None:
    """Return the file for printing of a piece, None where it was not delivered."""
    vendor = "quay" if piece.endswith("-press") else "studio"
    path = folder / "out" / vendor / f"exports-{piece}.pdf"
    return path.read_bytes() if path.exists() else None


def builds_of(run: dict[str, Any], device: str, pasted: Iterable[str] = ()) -> Becomes:
    """Return what a run says that each colour of the order, and each tint, becomes on a device."""
    table = {one["colour"]: one for one in run["translations"] if one["device"] == device}
    taken_up = [re.fullmatch(r"colours\.([^:]+): .*in_artwork: \[(.*)\]}", it) for it in pasted]
    names = {found[2]: found[1] for found in taken_up if found}

    def named(flat: Flat) -> tuple[str, int] | None:
        """Return the order's name of a colour, and the tint of that."""
        if flat.colour in BRANDS:
            return flat.colour.name, round(100 * flat.tint)
        for share in dict.fromkeys([flat.tint, 1.0]):
            for text, name in names.items():
                if is_said(Flat(flat.colour, share), text) or _looks(
                    Flat(flat.colour, share), text
                ):
                    return name, round(100 * flat.tint / share)
        return None

    def becomes(flat: Flat) -> Numbers | None:
        name = named(flat)
        if name is None or name[0] not in table:
            return None
        one = table[name[0]]
        build = one["build"]
        if name[1] < 100:
            build = next(step["build"] for step in one["tints"] if round(step["tint"]) == name[1])
        return tuple(float(part) for part in build.split()[1:])

    return becomes


def _looks(flat: Flat, text: str) -> bool:
    """Tell whether a colour in CIELAB is how a flat colour looks where RGB is sRGB."""
    found = re.fullmatch(r"lab ([-\d.]+) ([-\d.]+) ([-\d.]+)", text)
    if found is None:
        return False
    lab = srgb_to_lab([part / 255 for part in flat.rgb])
    return bool(np.abs(lab - [float(part) for part in found.groups()]).max() < 0.5)


def ordered(folder: Path, names: Iterable[str]) -> dict[str, dict[str, str]]:
    """Put exports through a whole order; return by export and device what became of the piece.

    'exact' is a file for printing with every colour as the run says; 'refused: codes' a piece that
    was not delivered, with the codes of its errors; anything else starts with 'wrong: '. Under
    'said' stand the codes of notes and warnings about the press's piece.
    """
    pieces = [(name, device) for name in names for device in DEVICES]
    write_order(folder, pieces)
    run_to_the_end(folder)
    run = run_of(folder)
    answers: dict[str, dict[str, str]] = {name: {} for name, _ in pieces}
    for name, device in pieces:
        answers[name][device] = _outcome(folder, run, name, device)
    for name, said in answers.items():
        said["said"] = ", ".join(_codes(run, f"{name}-press", "note", "warning"))
    return answers


def answered(folder: Path, refused: Iterable[Piece]) -> dict[Piece, str]:
    """Return what becomes of pieces once their findings are answered; ``folder`` is of the order.

    The lines that the findings of a piece ask for are pasted into an order of it, and of others
    that ask for the same of the whole order; again, while its next run asks for more.
    """
    run = run_of(folder)
    waiting = {piece: tuple(_asked(run, piece)) for piece in refused}
    outcomes = {
        piece: "to be changed in the program" for piece, lines in waiting.items() if not lines
    }
    for count in range(ROUNDS):
        groups: dict[tuple[str, ...], list[Piece]] = {}
        for piece, lines in waiting.items():
            shared = tuple(line for line in lines if not line.startswith("pieces."))
            if lines:
                groups.setdefault(shared, []).append(piece)
        waiting_next: dict[Piece, tuple[str, ...]] = {}
        for number, pieces in enumerate(groups.values()):
            below = folder.parent / f"{folder.name}-{count}-{number}"
            below.mkdir()
            shutil.copy(folder / "shelf.sqlite", below)
            pasted = tuple(dict.fromkeys(line for piece in pieces for line in waiting[piece]))
            write_order(below, pieces, pasted)
            run_to_the_end(below)
            run = run_of(below)
            for piece in pieces:
                outcomes[piece] = _outcome(below, run, *piece, pasted)
                more = [line for line in _asked(run, piece) if line not in pasted]
                if outcomes[piece].startswith("refused") and more:
                    waiting_next[piece] = (*waiting[piece], *more)
        waiting = waiting_next
    return outcomes


def _outcome(
    folder: Path, run: dict[str, Any], name: str, device: str, pasted: Iterable[str] = ()
) -> str:
    piece = f"{name}-{device}"
    made = print_file(folder, piece)
    if made is None:
        return f"refused: {', '.join(_codes(run, piece, 'error')) or 'no code'}"
    wrong = misprinted(name, made, DEVICES[device], builds_of(run, device, pasted))
    return f"wrong: {wrong}" if wrong else "exact"


def _asked(run: dict[str, Any], piece: Piece) -> list[str]:
    """Return the lines that the errors of a piece say are to be pasted, each once."""
    hints = (one["hint"] or "" for one in _about(run, "-".join(piece), "error"))
    lines = (line for hint in hints for line in hint.splitlines() if _LINE.fullmatch(line))
    return list(dict.fromkeys(line for line in lines if ".waive." not in line))


def _codes(run: dict[str, Any], piece: str, *severities: str) -> list[str]:
    """Return the codes of the findings that name a piece."""
    return sorted({one["code"] for one in _about(run, piece, *severities)})


def _about(run: dict[str, Any], piece: str, *severities: str) -> list[dict[str, Any]]:
    """Return the findings that name a piece."""
    return [
        one
        for one in run["findings"]
        if one["severity"] in severities
        and re.search(rf"\b{piece}\b", f"{one['place']} {one['message']}")
    ]
