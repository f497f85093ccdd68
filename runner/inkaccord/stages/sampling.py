"""The sample sheets of a plan as files: each vendor's in the form that it takes, in a folder."""

import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import pikepdf

from inkaccord.diagnostics import Diagnostic
from inkaccord.files import safe_name
from inkaccord.order.job import Printing
from inkaccord.order.vendors import FilePer, Vendor
from inkaccord.pdf.boxes import page_boxes
from inkaccord.pdf.joining import join_pages
from inkaccord.planning.sample_pages import is_laid, laid_file
from inkaccord.prepress.finishing import made_to_standard, without_layers_and_type
from inkaccord.prepress.print_files import named_in_file, named_together
from inkaccord.run.bench import Bench
from inkaccord.run.files import KEPT_WHEN_EDITED, OutFile
from inkaccord.run.plan import SamplePlan
from inkaccord.run.record import RecordedSheet
from inkaccord.run.sampling import SamplePart, Sampling, earliest, sample_charges, sheet_dates
from inkaccord.sheets.drawing.drawn import Draw, DrawnSheet
from inkaccord.sheets.reading.cgats_written import write_cgats
from inkaccord.sheets.savings import Cost, cost_of

FOLDER = "samples"
"""Of the out folder: in it a folder for each vendor, and the tables that are to be filled in."""


@dataclass(frozen=True)
class SamplesMade:
    """What is made of a plan's sheets."""

    files: tuple[OutFile, ...] = ()
    sheets: tuple[RecordedSheet, ...] = ()
    sampling: tuple[Sampling, ...] = ()
    """What is still to be printed, by vendor."""
    findings: tuple[Diagnostic, ...] = ()


@dataclass(frozen=True)
class _Together:
    """Sheets that are printed from the same pages, and the PDF of these."""

    printing: Printing
    sheets: tuple[DrawnSheet, ...]
    pdf: bytes
    cut_out: bool = False
    name: str = ""

    @property
    def ids(self) -> tuple[str, ...]:
        return tuple(it.sheet.id for it in self.sheets)


def sampled(bench: Bench, plan: SamplePlan, draw: Draw) -> SamplesMade:
    """Return the sheets that wait as files: those to print for their vendors, each with its table.

    Sheets that are cut out of larger ones are laid on them, all of a device and stock. One that is
    printed already stands by itself, and goes to nobody.
    """
    order = bench.order
    drawn: dict[str, DrawnSheet] = {}
    for planned in plan.sheets:
        sheet = planned.sheet
        bench.progress(f"drawing sheet {sheet.id}")
        drawn[sheet.id] = DrawnSheet(sheet, draw(sheet, (planned.why,)))
    printed = [drawn[it.sheet.id] for it in plan.sheets if it.printed]
    groups = _together(bench, [drawn[it.sheet.id] for it in plan.sheets if not it.printed])
    made = [_of_vendor(bench, vendor, parts) for vendor, parts in groups.items()]
    sampling = tuple(it for one in made for it in one.sampling)
    paths = {sheet: part.path for it in sampling for part in it.parts for sheet in part.sheets}
    files = [file for one in made for file in one.files]
    for sheet, pdf in printed:
        folder = safe_name(order.on(sheet.pair).vendor_name)
        paths[sheet.id] = f"{FOLDER}/{folder}/{safe_name(sheet.id)}.pdf"
        files.append(OutFile(paths[sheet.id], pdf, "sample"))
    recorded = []
    for planned in plan.sheets:
        sheet = planned.sheet
        table = f"{FOLDER}/{safe_name(sheet.id)}.txt"
        files.append(OutFile(table, write_cgats(sheet).encode(), KEPT_WHEN_EDITED))
        dates = sheet_dates(order, sheet.pair)
        recorded.append(RecordedSheet.of(planned, path=paths[sheet.id], table=table, dates=dates))
    findings = tuple(it for one in made for it in one.findings)
    return SamplesMade(tuple(files), tuple(recorded), sampling, findings)


def _together(bench: Bench, drawn: Sequence[DrawnSheet]) -> dict[str, list[_Together]]:
    """Return what is printed together, by vendor, in the order of the plan."""
    order = bench.order
    cut_out = [it for it in drawn if is_laid(order, it.sheet)]
    groups: dict[tuple[object, ...], list[DrawnSheet]] = {}
    for one in drawn:
        key = (one.sheet.pair,) if one in cut_out else (one.sheet.pair, one.sheet.id)
        groups.setdefault(key, []).append(one)
    found: dict[str, list[_Together]] = {}
    for group in groups.values():
        printing, laid = order.on(group[0].sheet.pair), group[0] in cut_out
        pdf = laid_file(order, group, cut_out) if laid else group[0].pdf
        part = _Together(printing, tuple(group), pdf, laid)
        found.setdefault(printing.vendor_name, []).append(part)
    return {vendor: list(_named(bench, parts)) for vendor, parts in found.items()}


def _named(bench: Bench, parts: Sequence[_Together]) -> Iterator[_Together]:
    """Yield parts with the names of their files, as the vendor wants them; no name twice."""
    taken: set[str] = set()
    vendor = parts[0].printing.vendor
    whole = vendor.file_per is FilePer.ORDER
    for part in parts:
        of = parts if whole else [part]
        name = vendor.file_named(
            order=bench.order.order,
            vendor=part.printing.vendor_name,
            piece=FOLDER if whole else named_in_file(part.ids),
            device=named_together([it.printing.pair.device for it in of]),
            stock=named_together([it.printing.pair.stock for it in of]),
        )
        if name in taken and not whole:
            name = f"{name}-{safe_name(named_in_file(part.ids))}"
        taken.add(name)
        yield replace(part, name=name)


def _of_vendor(bench: Bench, vendor_name: str, parts: Sequence[_Together]) -> SamplesMade:
    """Return the files of one vendor, and what it is to print."""
    order, vendor = bench.order, parts[0].printing.vendor
    files: list[OutFile] = []
    findings: list[Diagnostic] = []
    recorded: list[SamplePart] = []
    names = dict.fromkeys(part.name for part in parts)
    for name in names:
        path = f"{FOLDER}/{safe_name(vendor_name)}/{name}.pdf"
        inside = [part for part in parts if part.name == name]
        first = 1
        for part in inside:
            recorded.append(_recorded(part, path, first))
            first += recorded[-1].pages
        pdf, said = _as_taken(bench, vendor, name, [part.pdf for part in inside])
        findings += said
        files.append(OutFile(path, pdf, "sample", vendor=vendor_name, pages=first - 1))
    copies = order.samples.copies
    sheets = [it.sheet for part in parts for it in part.sheets]
    sampling = Sampling(
        vendor=vendor_name,
        copies=copies,
        parts=tuple(recorded),
        cost=sum([cost_of(sheets)] * copies, Cost()).rounded,
        charges=sample_charges(order, vendor_name, recorded, copies),
        dates=earliest(sheet_dates(order, it.pair) for it in sheets),
    )
    return SamplesMade(tuple(files), (), (sampling,), tuple(findings))


def _as_taken(
    bench: Bench, vendor: Vendor, name: str, pdfs: Sequence[bytes]
) -> tuple[bytes, tuple[Diagnostic, ...]]:
    """Return pages as one file in the form that a vendor takes its print files in."""
    findings: tuple[Diagnostic, ...] = ()
    ready = []
    for pdf in pdfs:
        flat, said = without_layers_and_type(vendor, pdf, name)
        ready.append(flat)
        findings += said
    whole = ready[0]
    if len(ready) > 1:
        whole = join_pages(ready, pdf_version=vendor.pdf.version, title=name)
    finished, said = made_to_standard(bench, vendor, whole, name)
    return finished, (*findings, *said)


def _recorded(part: _Together, path: str, first: int) -> SamplePart:
    with pikepdf.open(io.BytesIO(part.pdf)) as pdf:
        sizes = [page_boxes(page).trim_size.in_mm for page in pdf.pages]
    return SamplePart(
        **part.printing.pair.parts,
        path=path,
        first=first,
        pages=len(sizes),
        sizes_mm=tuple(dict.fromkeys((round(width, 1), round(high, 1)) for width, high in sizes)),
        sheets=part.ids,
        cut_out=part.cut_out,
    )
