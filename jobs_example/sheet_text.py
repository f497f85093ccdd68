"""The text file that lies beside every sample sheet, as the example's scripts read it."""

import argparse
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

import numpy as np
from printers import DEVICES, STOCKS, Array, Device, Stock

from inkaccord.colour.builds import Drive
from inkaccord.colour.pairs import Pair
from inkaccord.files import read_bytes
from inkaccord.sheets.reading.cgats import PAIR_KEYWORD, SHEET_KEYWORD, parse_cgats
from inkaccord.sheets.reading.columns import BUILD_COLUMNS, SAMPLE_ID, Table

_T = TypeVar("_T")


@dataclass(frozen=True)
class SheetText:
    """A sample sheet, and the invented device and stock that it is printed on."""

    sheet_id: str
    pair: Pair
    device: Device
    stock: Stock
    swatch_ids: tuple[str, ...]
    builds: Array
    """(n, 4) CMYK in percent or (n, 3) RGB 0 to 255."""
    table: Table


def add_printer_options(parser: argparse.ArgumentParser) -> None:
    """Let the caller name the invented device and stock when the order calls them otherwise."""
    parser.add_argument("--device", choices=sorted(DEVICES), help="print on this device instead")
    parser.add_argument("--stock", choices=sorted(STOCKS), help="print on this stock instead")


def load(path: Path, device: str | None = None, stock: str | None = None) -> SheetText:
    """Read a sheet's text file and find its printer. Exits with a message when there is none."""
    table = parse_cgats(read_bytes(path), file=str(path))[0]
    sheet_id, pair_text = table.keyword(SHEET_KEYWORD), table.keyword(PAIR_KEYWORD)
    ids = table.index(SAMPLE_ID)
    if sheet_id is None or pair_text is None or ids is None:
        raise SystemExit(f"{path}: no {SHEET_KEYWORD}, {PAIR_KEYWORD} or {SAMPLE_ID} in this file")
    pair = Pair.parse(pair_text)
    printer = _known(device or pair.device, DEVICES, f"{path}: --device")
    paper = _known(stock or pair.stock, STOCKS, f"{path}: --stock")
    columns = table.indices(BUILD_COLUMNS[printer.drive])
    if columns is None:
        other = Drive.RGB if printer.drive is Drive.CMYK else Drive.CMYK
        raise SystemExit(f"{path}: {printer.title} takes {printer.drive}, the file has {other}")
    return SheetText(
        sheet_id=sheet_id,
        pair=pair,
        device=printer,
        stock=paper,
        swatch_ids=tuple(row[ids].text for row in table.rows),
        builds=np.array([[float(row[i].text) for i in columns] for row in table.rows]),
        table=table,
    )


def _known(name: str, known: Mapping[str, _T], option: str) -> _T:
    if name not in known:
        raise SystemExit(f"{option} is needed: {name!r} is none of {', '.join(sorted(known))}")
    return known[name]
