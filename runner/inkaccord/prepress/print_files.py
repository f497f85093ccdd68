"""From laid pages to a vendor's files: how many, under which names, as which standard."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from inkaccord.diagnostics import Diagnostic, Severity
from inkaccord.errors import OrderError, PieceError
from inkaccord.files import safe_name
from inkaccord.order.job import Job, Printing
from inkaccord.order.model import Order
from inkaccord.order.vendors import FilePer
from inkaccord.pdf.joining import join_pages, split_pages
from inkaccord.pdf.writing import Written
from inkaccord.prepress.finishing import made_to_standard
from inkaccord.run.bench import Bench
from inkaccord.run.files import OutFile
from inkaccord.run.imposed import PrintRun

NAMED = 3
"""With more pieces than that in a file, its name says how many."""


@dataclass(frozen=True)
class Laid:
    """Pages that were laid for one vendor.

    Attributes
    ----------
    printing
        Who prints them, and on what.
    pieces
        The pieces on them, in order.
    names
        Of the files that they go to, without ``.pdf``.
    runs
        In which they are printed, in their order.
    """

    printing: Printing
    pieces: tuple[str, ...]
    written: Written
    names: tuple[str, ...]
    runs: tuple[PrintRun, ...] = ()

    @property
    def paths(self) -> tuple[str, ...]:
        """Where the files stand in the out folder."""
        folder = safe_name(self.printing.vendor_name)
        return tuple(f"{folder}/{name}.pdf" for name in self.names)


def laid_for(order: Order, jobs: Sequence[Job], written: Written, runs: Sequence[PrintRun]) -> Laid:
    """Return what was laid of jobs of one pair, with the names of the files that it goes to."""
    vendor = jobs[0].vendor
    alike = all(job.piece.records is None for job in jobs)
    if vendor.file_per is FilePer.ORDER:
        names = [_file_name(order, order.jobs_of(jobs[0].vendor_name), label="all")]
    elif vendor.file_per is FilePer.SIDE and written.pages > 1 and alike:
        names = [_file_name(order, jobs, side=side) for side in _side_words(written.pages)]
    else:
        names = [_file_name(order, jobs)]
    return Laid(jobs[0], tuple(job.name for job in jobs), written, tuple(names), tuple(runs))


def print_files(
    bench: Bench, laid: Sequence[Laid]
) -> tuple[tuple[OutFile, ...], tuple[Diagnostic, ...]]:
    """Return the files of one vendor that hold these pages, and what is to be said of them.

    With one file for the order all that was laid for the vendor is given at once; else file by
    file. Raises FileError when the vendor's output profile can't be read, PieceError when a file
    does not become what the vendor asks for.
    """
    order, first = bench.order, laid[0]
    vendor, vendor_name = first.printing.vendor, first.printing.vendor_name
    if vendor.file_per is FilePer.ORDER:
        title = f"{order.order} {vendor_name}"
        parts = [it.written.data for it in laid]
        data = [join_pages(parts, pdf_version=vendor.pdf.version, title=title)]
    elif len(first.names) > 1:
        data = split_pages(first.written.data)
    else:
        data = [first.written.data]
    pieces = tuple(name for part in laid for name in part.pieces)
    pages = sum(part.written.pages for part in laid) // len(first.names)
    files: list[OutFile] = []
    findings: list[Diagnostic] = []
    for name, path, part in zip(first.names, first.paths, data, strict=True):
        finished, said = made_to_standard(bench, vendor, part, name)
        if any(it.severity is Severity.ERROR for it in said):
            raise PieceError(said)
        findings += said
        files.append(
            OutFile(
                path=path,
                data=finished,
                what="print",
                pieces=pieces,
                vendor=vendor_name,
                pages=pages,
            )
        )
    return tuple(files), tuple(findings)


def pages_in_words(laid: Sequence[Laid]) -> str:
    """Say which pages of a joined file show which piece."""
    said = []
    page = 1
    for part in laid:
        last = page + part.written.pages - 1
        where = f"page {page}" if page == last else f"pages {page} to {last}"
        said.append(f"{where}: {', '.join(part.pieces)}")
        page = last + 1
    return "; ".join(said)


def refuse_one_name_twice(files: Sequence[OutFile]) -> None:
    """Raise OrderError when two files would overwrite each other."""
    for path, times in Counter(file.path.lower() for file in files).items():
        if times == 1:
            continue
        alike = [file for file in files if file.path.lower() == path]
        pieces = " and ".join(dict.fromkeys(", ".join(file.pieces) for file in alike))
        raise OrderError.of(
            "file-name-twice",
            f"{alike[0].path} would be the file of {pieces}",
            hint="let the vendor's file_name tell them apart, with {piece} or {stock}",
        )


def _side_words(count: int) -> list[str]:
    """Name the pages of a file: front and back, numbered where there are several sheets."""
    if count <= 2:
        return ["front", "back"][:count]
    return [f"{('front', 'back')[at % 2]}-{at // 2 + 1}" for at in range(count)]


def _file_name(order: Order, jobs: Sequence[Job], *, side: str = "", label: str = "") -> str:
    """Return a file's name from the vendor's pattern."""
    return jobs[0].vendor.file_named(
        order=order.order,
        vendor=jobs[0].vendor_name,
        piece=label or named_in_file([job.name for job in jobs]),
        side=side,
        device=named_together([job.pair.device for job in jobs]),
        stock=named_together([job.pair.stock for job in jobs]),
    )


def named_in_file(names: Sequence[str]) -> str:
    """Return what a file's name says of the pieces or sheets in it."""
    many = len(names) > NAMED
    return f"{names[0]}-and-{len(names) - 1}-more" if many else named_together(names)


def named_together(names: Sequence[str]) -> str:
    """Return names for a file's name, each once."""
    return "-and-".join(dict.fromkeys(names))
