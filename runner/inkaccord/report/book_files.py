"""The studio's book for other programs: CxF, CGATS text and CSV, one file of each for a pair.

CxF3 by the core schema of ``http://colorexchangeformat.com/CxF3-core``. Where the spectrum of a
colour is known it is a spot colour's characterisation too (CxF/X-4, ISO 17972-4): its solid alone,
in the part that the standard adds to the core. That part's names are from memory and from programs
that write them; the standard's own schema of it was not at hand.
"""

import csv
import io
from collections.abc import Iterator, Sequence
from itertools import pairwise
from xml.etree import ElementTree as ET

from inkaccord.colour.builds import CHANNELS, Drive
from inkaccord.colour.lab import Lab
from inkaccord.colour.pairs import Pair
from inkaccord.files import safe_name
from inkaccord.knowledge.asking import PairAnswer
from inkaccord.knowledge.book import BookLine
from inkaccord.knowledge.values import Evidence
from inkaccord.run.files import OutFile
from inkaccord.sheets.reading.cgats import BOOK_KEYWORD, ORIGINATOR, PAIR_KEYWORD
from inkaccord.sheets.reading.cgats_written import own_entry, quoted_cell, with_table
from inkaccord.sheets.reading.columns import BUILD_COLUMNS, SAMPLE_ID, digits

CORE = "http://colorexchangeformat.com/CxF3-core"
SPOT_INK = "http://colorexchangeformat.com/CxF3-SpotInkCharacterisation"
FORMS = ("cxf", "cgats", "csv")
_ENDINGS = {"cxf": "cxf", "cgats": "txt", "csv": "csv"}
_SPEC, _SPECTRAL_SPEC = "D50-2-degree", "spectrum-{}"
_OWN = ("AIM_L", "AIM_A", "AIM_B", "PRINTS_L", "PRINTS_A", "PRINTS_B", "OFF", "SURE_TO", "KNOWN")
_WORDS = ("CLIENT", "NOTE", "REMARK")

Named = tuple[BookLine, PairAnswer]
"""A colour of the book, and its build on the pair at hand."""


def book_files(lines: Sequence[BookLine], pairs: Sequence[Pair], forms: Sequence[str]) -> tuple[
    OutFile, ...
]:  # fmt: skip
    """Return a file of each form for every pair that some colour has a build on."""
    made: list[OutFile] = []
    for pair in pairs:
        on = [(line, found) for line in lines if (found := line.on(pair)) is not None]
        if on:
            write = {"cxf": write_cxf, "cgats": write_book_cgats, "csv": write_book_csv}
            stem = safe_name(str(pair).replace("@", "-").replace("/", "-"))
            made += [
                OutFile(f"{stem}.{_ENDINGS[form]}", write[form](pair, on), "book") for form in forms
            ]
    return tuple(made)


def remark_on(found: PairAnswer) -> str:
    """Say in words how a build is known, and what it lacks."""
    parts = []
    if found.evidence is Evidence.ESTIMATED:
        parts.append(f"ESTIMATED, not for printing: {found.assumed}")
    elif found.evidence is Evidence.PICKED:
        parts.append("picked by eye")
    elif found.assumed:
        parts.append(found.assumed)
    if not found.reachable:
        near = "perhaps just out of reach" if found.perhaps_reachable else "out of reach"
        parts.append(f"{near}: {found.lost}" if found.lost else near)
    return "; ".join(parts)


def write_cxf(pair: Pair, named: Sequence[Named]) -> bytes:
    """Return a pair's colours as CxF3: names, aims, spectra, builds, and what is estimated."""
    ET.register_namespace("cc", CORE)
    ET.register_namespace("sic", SPOT_INK)
    root = ET.Element(f"{{{CORE}}}CxF")
    about = _add(root, "FileInformation")
    _add(about, "Creator", text=ORIGINATOR)
    _add(about, "CreationDate", text=max(line.since for line, _ in named).isoformat())
    _add(about, "Description", text=f"The studio's colours as builds for {pair}")
    resources = _add(root, "Resources")
    objects = _add(resources, "ObjectCollection")
    for number, (line, found) in enumerate(named, start=1):
        _cxf_object(objects, f"c{number}", line, found)
    specifications = _add(resources, "ColorSpecificationCollection")
    _specification(specifications, _SPEC)
    grids = dict.fromkeys(grid for line, _ in named if (grid := line.colour.wavelengths_nm))
    for grid in grids:
        if _is_cxf_grid(grid):
            _specification(specifications, _grid_name(grid), grid)
    _spot_inks(root, pair, named)
    ET.indent(root, " ")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{ET.tostring(root, "unicode")}\n'.encode()


def _cxf_object(parent: ET.Element, name: str, line: BookLine, found: PairAnswer) -> None:
    colour = line.colour
    one = _add(parent, "Object", ObjectType="Standard", Name=colour.name, Id=name)
    _add(one, "CreationDate", text=line.since.isoformat())
    if remark := remark_on(found):
        _add(one, "Comment", text=remark)
    values = _add(one, "ColorValues")
    if colour.spectrum and colour.wavelengths_nm and _is_cxf_grid(colour.wavelengths_nm):
        _add(
            values,
            "ReflectanceSpectrum",
            text=" ".join(f"{value:.6g}" for value in colour.spectrum),
            Name=_spectrum_name(name),
            StartWL=f"{colour.wavelengths_nm[0]:g}",
            ColorSpecification=_grid_name(colour.wavelengths_nm),
        )
    if line.lab is not None:
        _cxf_lab(values, "aim", line.lab)
    _cxf_lab(values, "as it prints", found.predicted_lab)
    _device_values(_add(one, "DeviceColorValues"), found)
    tags = _add(one, "TagCollection", Name=ORIGINATOR)
    for key, value in _tags(line, found):
        _add(tags, "Tag", Name=key, Value=value)


def _device_values(parent: ET.Element, found: PairAnswer) -> None:
    if found.build.drive is Drive.CMYK:
        cmyk = _add(parent, "ColorCMYK", ColorSpecification=_SPEC)
        names = ("Cyan", "Magenta", "Yellow", "Black")
        for word, value in zip(names, found.build.values, strict=True):
            _add(cmyk, word, text=f"{value:g}")
        return
    rgb = _add(parent, "ColorRGB", ColorSpecification=_SPEC)
    for word, value in zip(CHANNELS[Drive.RGB], found.build.values, strict=True):
        _add(rgb, word, text=str(round(value)))


def _tags(line: BookLine, found: PairAnswer) -> Iterator[tuple[str, str]]:
    yield "Pair", str(found.pair)
    yield "Build", str(found.build)
    yield "Aim", line.colour.aim.words
    yield "Edition", str(line.edition)
    yield "Known", found.evidence.value
    if found.evidence is not Evidence.ESTIMATED:
        yield "SureTo", f"{found.uncertainty:.2f}"
        if found.delta_e_00 is not None:
            yield "Off", f"{found.delta_e_00:.2f}"
    if line.colour.client:
        yield "Client", line.colour.client
    if line.colour.note:
        yield "Note", line.colour.note


def _cxf_lab(parent: ET.Element, name: str, lab: Lab) -> None:
    one = _add(parent, "ColorCIELab", Name=name, ColorSpecification=_SPEC)
    for word, value in zip(("L", "A", "B"), lab, strict=True):
        _add(one, word, text=f"{value:.4g}" if abs(value) < 1 else f"{value:.2f}")


def _specification(parent: ET.Element, name: str, grid: tuple[float, ...] = ()) -> None:
    one = _add(parent, "ColorSpecification", Id=name)
    tristimulus = _add(one, "TristimulusSpec")
    _add(tristimulus, "Illuminant", text="D50")
    _add(tristimulus, "Observer", text="2_Degree")
    _add(tristimulus, "Method", text="E308_1nm")
    measured = _add(one, "MeasurementSpec")
    kind = "Spectrum_Reflectance" if grid else "Colorimetric_Reflectance"
    _add(measured, "MeasurementType", text=kind)
    geometry = _add(measured, "GeometryChoice")
    _add(geometry, "UnknownGeometry", text="as the instrument has it")
    if grid:
        step = f"{grid[1] - grid[0]:g}"
        _add(measured, "WavelengthRange", StartWL=f"{grid[0]:g}", Increment=step)


def _spot_inks(root: ET.Element, pair: Pair, named: Sequence[Named]) -> None:
    """Add the characterisation of those colours whose spectrum is known: of the solid alone."""
    inks = [
        (f"c{number}", line.colour.name)
        for number, (line, _) in enumerate(named, start=1)
        if line.colour.wavelengths_nm and _is_cxf_grid(line.colour.wavelengths_nm)
    ]
    if not inks:
        return
    custom = _add(root, "CustomResources")
    for reference, name in inks:
        ink = ET.SubElement(
            custom,
            f"{{{SPOT_INK}}}SpotInkCharacterisation",
            {"SpotInkName": name, "SubstrateName": pair.stock},
        )
        measured = ET.SubElement(ink, f"{{{SPOT_INK}}}MeasurementSet", {"Background": "Substrate"})
        about = {
            "TintLevel": "100",
            "ObjectRef": reference,
            "ReflectanceSpectrumNameRef": _spectrum_name(reference),
        }
        ET.SubElement(measured, f"{{{SPOT_INK}}}Measurement", about)


def _spectrum_name(reference: str) -> str:
    return f"{reference}-spectrum"


def _is_cxf_grid(grid: tuple[float, ...]) -> bool:
    """Tell whether CxF can say at which wavelengths: whole nm, evenly spaced, from 360 to 400."""
    steps = {round(after - before, 6) for before, after in pairwise(grid)}
    whole = all(float(value).is_integer() for value in grid)
    return whole and len(steps) == 1 and 360 <= grid[0] <= 400


def _grid_name(grid: tuple[float, ...]) -> str:
    return _SPECTRAL_SPEC.format(f"{grid[0]:g}-{grid[-1]:g}-{len(grid)}")


def _add(parent: ET.Element, tag: str, text: str | None = None, **attributes: str) -> ET.Element:
    child = ET.SubElement(parent, f"{{{CORE}}}{tag}", attributes)
    child.text = text
    return child


def write_book_cgats(pair: Pair, named: Sequence[Named]) -> bytes:
    """Return a pair's colours as CGATS text (ISO 28178): builds, with aims and words of our own.

    Columns that the standard does not name are declared by KEYWORD, as it asks.
    """
    columns, rows = _rows(named)
    header = [
        "CGATS.17",
        f'ORIGINATOR "{ORIGINATOR}"',
        f'FILE_DESCRIPTOR "The studio\'s colours as builds for {pair}"',
        f'CREATED "{max(line.since for line, _ in named).date().isoformat()}"',
        *own_entry(BOOK_KEYWORD, "aims and builds; no readings"),
        *own_entry(PAIR_KEYWORD, str(pair)),
        *(f'KEYWORD "{name}"' for name in (*_OWN, *_WORDS)),
    ]
    cells = [[quoted_cell(_one_line(cell) or "-") for cell in row] for row in rows]
    return with_table(header, columns, cells).encode()


def write_book_csv(pair: Pair, named: Sequence[Named]) -> bytes:
    """Return a pair's colours as CSV in UTF-8, a colour a row, the pair in the last column."""
    columns, rows = _rows(named)
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([*columns, "PAIR"])
    writer.writerows([[*map(_harmless, row), str(pair)] for row in rows])
    return out.getvalue().encode()


def _rows(named: Sequence[Named]) -> tuple[list[str], list[list[str]]]:
    drive = named[0][1].build.drive
    columns = [SAMPLE_ID, "SAMPLE_NAME", *BUILD_COLUMNS[drive], *_OWN, *_WORDS]
    return columns, [
        [
            str(number),
            line.colour.name,
            *map(digits, found.build.values),
            *(("-",) * 3 if line.lab is None else _shown_lab(line.lab)),
            *_shown_lab(found.predicted_lab),
            *_how_near(found),
            found.evidence.value,
            line.colour.client,
            line.colour.note,
            remark_on(found),
        ]
        for number, (line, found) in enumerate(named, start=1)
    ]


def _shown_lab(lab: Lab) -> tuple[str, ...]:
    return tuple(f"{value:.2f}" for value in lab)


def _how_near(found: PairAnswer) -> tuple[str, str]:
    """Return how far off, and how sure; nothing for what is only estimated."""
    if found.evidence is Evidence.ESTIMATED:
        return "-", "-"
    off = "-" if found.delta_e_00 is None else f"{found.delta_e_00:.2f}"
    return off, f"{found.uncertainty:.2f}"


def _one_line(cell: str) -> str:
    """Return text as CGATS can hold it in quotes."""
    return " ".join(cell.replace('"', "'").split())


def _harmless(cell: str) -> str:
    """Return a cell that no spreadsheet takes for a formula."""
    risky = cell[:1] in set("=+@\t\r") or (cell[:1] == "-" and cell[1:2].isalpha())
    return f"'{cell}" if risky else cell
