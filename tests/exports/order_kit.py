"""A whole order of exports for two vendors: a press takes CMYK, a driver takes RGB."""

import re
import shutil
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from exports.designs import Flat
from exports.harness import FILES, Numbers, design_of, misprinted
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
  quay: {title: Quay Press, delivers: pieces, bleed: 3mm, marks: false, devices: {press: {}}}
  studio: {title: Studio, delivers: pieces, bleed: 3mm, marks: false,
           devices: {inkjet: {drive: rgb}}}
accept_by_eye: true
tolerances: {between_pieces: 30, to_aim: 30}
pieces:
"""
DEVICES = {"press": "cmyk", "inkjet": "rgb"}
"""Each device with the kind of colour that it takes."""


def _press(builds: NDArray[Any]) -> NDArray[Any]:
    """Print CMYK as the plain press; RGB as that does without black."""
    if builds.shape[1] == 4:
        return plain_press(builds)
    inks = 100 * (1 - builds / 255)
    return plain_press(np.column_stack([inks, np.zeros(len(inks))]))


def write_order(folder: Path, names: Iterable[str]) -> None:
    """Write an order in which every export is a piece of both vendors."""
    lines = [HEAD]
    for name in names:
        design = design_of(name)
        shutil.copy(FILES / f"{name}.pdf", folder)
        lines += [
            f"  {name}-{device}: {{artwork: {name}.pdf, device: {device}, stock: card,"
            f" trim: {design.width:g}mm x {design.height:g}mm}}\n"
            for device in DEVICES
        ]
    (folder / "order.yaml").write_text("".join(lines), "utf-8")


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


def builds_of(run: dict[str, Any], device: str) -> Callable[[Flat], Numbers]:
    """Return what a run says that each brand colour and tint becomes on a device."""
    table = {one["colour"]: one for one in run["translations"] if one["device"] == device}

    def becomes(flat: Flat) -> Numbers:
        one = table[flat.colour.name]
        share = round(100 * flat.tint)
        written = one["build"]
        if share < 100:
            written = next(step["build"] for step in one["tints"] if round(step["tint"]) == share)
        return tuple(float(part) for part in written.split()[1:])

    return becomes


def ordered(folder: Path, names: Iterable[str]) -> dict[str, dict[str, str]]:
    """Put exports through a whole order; return by export and device what became of the piece.

    'exact' is a file for printing with every colour as the run says; 'refused: codes' a piece that
    was not delivered, with the codes of its errors; anything else starts with 'wrong: '. Under
    'said' stand the codes of notes and warnings about the press's piece.
    """
    names = list(names)
    write_order(folder, names)
    run_to_the_end(folder)
    run = run_of(folder)
    answers: dict[str, dict[str, str]] = {name: {} for name in names}
    for name in names:
        answers[name]["said"] = ", ".join(_codes(run, f"{name}-press", "note", "warning"))
        for device, kind in DEVICES.items():
            piece = f"{name}-{device}"
            made = print_file(folder, piece)
            if made is None:
                codes = ", ".join(_codes(run, piece, "error")) or "no code"
                answers[name][device] = f"refused: {codes}"
            else:
                wrong = misprinted(name, made, kind, builds_of(run, device))
                answers[name][device] = f"wrong: {wrong}" if wrong else "exact"
    return answers


def _codes(run: dict[str, Any], piece: str, *severities: str) -> list[str]:
    """Return the codes of the findings that name a piece."""
    return sorted(
        {
            one["code"]
            for one in run["findings"]
            if one["severity"] in severities
            and re.search(rf"\b{piece}\b", f"{one['place']} {one['message']}")
        }
    )
