"""Play the person who prints a sample sheet and reads it with an instrument.

    python jobs_example/print_and_read.py SHEET.txt [SHEET.txt …] --into FOLDER

takes the text files that lie beside the sample sheets and writes them again with CIELAB filled
in: what `inkaccord record` takes. The printers are invented, see printers.py.
"""

import argparse
import datetime
import sys
from pathlib import Path

from printers import WAVELENGTHS_NM, read_sheet
from sheet_text import SheetText, add_printer_options, load

from inkaccord.colour.spectra import spectra_to_lab
from inkaccord.errors import InkaccordError
from inkaccord.files import write_if_changed
from inkaccord.sheets.reading.columns import BUILD_COLUMNS, LAB_COLUMNS, SAMPLE_ID, SPECTRAL_NM


def read_text(sheet: SheetText, *, spectral: bool = False, day: datetime.date | None = None) -> str:
    """Return the sheet's file as the instrument hands it over: ISO 28178 text with readings."""
    spectra = read_sheet(
        sheet.device,
        sheet.stock,
        sheet.builds,
        sheet_id=sheet.sheet_id,
        swatch_ids=sheet.swatch_ids,
        day=day,
    )
    lab = spectra_to_lab(spectra, WAVELENGTHS_NM)
    columns = [SAMPLE_ID, *BUILD_COLUMNS[sheet.device.drive], *LAB_COLUMNS]
    if spectral:
        columns += [f"{SPECTRAL_NM}{nm:.0f}" for nm in WAVELENGTHS_NM]
    lines = [
        "CGATS.17",
        'ORIGINATOR "print_and_read.py"',
        f'FILE_DESCRIPTOR "Invented readings of sheet {sheet.sheet_id}"',
        f'CREATED "{sheet.table.keyword("CREATED") or ""}"',
        f'KEYWORD "SHEET_ID"\nSHEET_ID "{sheet.sheet_id}"',
        f'KEYWORD "PAIR"\nPAIR "{sheet.pair}"',
        'INSTRUMENTATION "invented spectrophotometer"',
        'MEASUREMENT_SOURCE "MEASUREMENT_CONDITION=M1"',
        'SAMPLE_BACKING "white"',
        'WEIGHTING_FUNCTION "ILLUMINANT, D50"',
        'WEIGHTING_FUNCTION "OBSERVER, 2 degree"',
        *([f'KEYWORD "READ_ON"\nREAD_ON "{day}"'] if day else []),
        f"NUMBER_OF_FIELDS {len(columns)}",
        "BEGIN_DATA_FORMAT",
        " ".join(columns),
        "END_DATA_FORMAT",
        f"NUMBER_OF_SETS {len(sheet.swatch_ids)}",
        "BEGIN_DATA",
    ]
    for row, name in enumerate(sheet.swatch_ids):
        values = [f"{value:g}" for value in sheet.builds[row]]
        values += [f"{value:.2f}" for value in lab[row]]
        if spectral:
            values += [f"{value:.4f}" for value in spectra[row]]
        lines.append(" ".join([name, *values]))
    return "\n".join([*lines, "END_DATA", ""])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("sheets", nargs="+", type=Path, metavar="SHEET.txt")
    parser.add_argument("--into", type=Path, metavar="FOLDER", help="write there, same names")
    parser.add_argument("-o", "--out", type=Path, metavar="OUT.txt", help="for one sheet")
    parser.add_argument("--spectra", action="store_true", help="spectra beside CIELAB")
    parser.add_argument(
        "--printed-on",
        type=datetime.date.fromisoformat,
        metavar="YYYY-MM-DD",
        help="the day of printing; the devices drift over the months",
    )
    add_printer_options(parser)
    given = parser.parse_args()
    if given.out and (given.into or len(given.sheets) > 1):
        parser.error("-o takes one sheet and no --into")
    for path in given.sheets:
        try:
            sheet = load(path, given.device, given.stock)
            text = read_text(sheet, spectral=given.spectra, day=given.printed_on)
            target = given.out or (given.into / path.name if given.into else None)
            if target is None:
                sys.stdout.write(text)
            else:
                write_if_changed(target, text.encode())
                print(f"{target}: {len(sheet.swatch_ids)} swatches on {sheet.pair}")
        except InkaccordError as problem:
            raise SystemExit(str(problem)) from problem


if __name__ == "__main__":
    main()
