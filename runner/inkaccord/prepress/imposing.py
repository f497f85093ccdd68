"""Pieces on sheets, one piece up on envelopes, or single pieces for the vendor to lay."""

import contextlib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Literal

from inkaccord.artwork.advice import advised
from inkaccord.artwork.inventory.edges import ink_box
from inkaccord.artwork.plates import page_inks
from inkaccord.colour.pairs import Pair
from inkaccord.diagnostics import Diagnostic, warning
from inkaccord.errors import InkaccordError
from inkaccord.knowledge.values import Translations
from inkaccord.layout.cutplan import below_least
from inkaccord.layout.feeding import beyond_printable, feed, single_feed
from inkaccord.layout.impose import impose_sheets
from inkaccord.layout.marks import MarkRules
from inkaccord.layout.model import Item
from inkaccord.layout.rules import ImposeRules
from inkaccord.layout.single import single_pieces
from inkaccord.layout.sources import Artwork
from inkaccord.order.job import Job
from inkaccord.order.model import Order
from inkaccord.order.pieces import Records
from inkaccord.order.vendors import Delivers, FilePer
from inkaccord.prepress.bleed_repair import with_bleed
from inkaccord.prepress.framing import bound_in_words, lay_pieces
from inkaccord.prepress.laying import feeding_of, folds_of, item_of, mark_rules
from inkaccord.prepress.print_files import (
    Laid,
    laid_for,
    pages_in_words,
    print_files,
    refuse_one_name_twice,
)
from inkaccord.prepress.print_runs import (
    Inked,
    located,
    sheet_runs,
    single_run,
    slug_stand_in,
    slugs,
)
from inkaccord.prepress.sheet_record import recorded_sheet
from inkaccord.run.bench import Bench
from inkaccord.run.collected import Collected
from inkaccord.run.files import OutFile
from inkaccord.run.imposed import Imposed, PrintRun, SheetRun, WeighedWays
from inkaccord.run.recoloured import Recoloured

Side = Literal[1, 2]
_ABOUT_RECORDS = {
    Records.CUT_AND_STACK: "{}: every copy is another. Print each page that shows it once, keep "
    "the sheets in order, cut them as one pile, and put the small piles on each other from left to "
    "right and from the top down, the first on top",
    Records.SHEET_BY_SHEET: "{}: every copy is another. Print each page that shows it once; every "
    "sheet bears the next few",
}


@dataclass(frozen=True)
class _Ready:
    """A piece that can be laid: its job, and its copy with the bleed that it needs.

    ``specimen`` shows a few copies that stand for all, where records are laid over an artwork.
    """

    job: Job
    data: bytes
    sides: int
    specimen: bytes | None = None

    @property
    def name(self) -> str:
        return self.job.name


@dataclass
class _Made:
    """What has been made so far."""

    files: list[OutFile] = field(default_factory=list)
    joined: dict[str, list[Laid]] = field(default_factory=dict)
    """By vendor: what goes into its one file for the order."""
    runs: list[PrintRun] = field(default_factory=list)
    sheets: list[SheetRun] = field(default_factory=list)
    notes: dict[str, list[str]] = field(default_factory=dict)
    bounds: list[str] = field(default_factory=list)
    ways: list[WeighedWays] = field(default_factory=list)
    failed: dict[str, str] = field(default_factory=dict)
    findings: list[Diagnostic] = field(default_factory=list)

    def note(self, vendor: str, line: str) -> None:
        self.notes.setdefault(vendor, []).append(line)

    def next_run(self, vendor: str) -> int:
        """Return the number of the next run of a vendor."""
        laid = [run for part in self.joined.get(vendor, ()) for run in part.runs]
        return 1 + sum(run.vendor == vendor for run in (*self.runs, *laid))


def impose_pieces(
    order: Order,
    collected: Collected,
    translations: Translations,
    recoloured: Recoloured,
    bench: Bench,
) -> Imposed:
    """Make the print files of every piece that is ready."""
    made = _Made()
    together: dict[tuple[Pair, int], list[_Ready]] = {}
    for copy in recoloured.pieces:
        job = order.jobs[copy.piece]
        with _attempting(made, [job.name]):
            data, remarks = with_bleed(copy.data, job)
            made.findings += advised(remarks, collected.of(job.name).program)
            ready = _Ready(job, data, job.piece.sides_of(collected.of(job.name).pages))
            if (records := bench.records(job.name)) is not None:
                bench.progress(f"laying the records of {job.name}")
                laid_over = records.laid_into(data, job.name)
                ready = replace(ready, data=laid_over, specimen=data)
            if job.vendor.delivers is Delivers.PIECES:
                _single(bench, ready, _builds_on(job.pair, translations), made)
            elif job.fed_singly:
                _fed(bench, ready, made)
            else:
                together.setdefault((job.pair, ready.sides), []).append(ready)
    bench.progress("laying the pieces on sheets")
    layings = (
        _laying(order, group, _builds_on(pair, translations))
        for (pair, _), group in together.items()
    )
    bench.recall.rehearse(lay_pieces, layings)
    for (pair, _), group in together.items():
        bench.progress(f"laying {', '.join(ready.name for ready in group)} on sheets")
        _together(bench, group, _builds_on(pair, translations), made)
    for laid in made.joined.values():
        with _attempting(made, [name for part in laid for name in part.pieces]):
            _join(bench, laid, made)
    return Imposed(
        files=tuple(made.files),
        runs=tuple(made.runs),
        sheets=tuple(made.sheets),
        notes={vendor: tuple(lines) for vendor, lines in made.notes.items()},
        bounds=tuple(made.bounds),
        ways=tuple(made.ways),
        failed=made.failed,
        findings=tuple(made.findings),
    )


@contextlib.contextmanager
def _attempting(made: _Made, pieces: Iterable[str]) -> Iterator[None]:
    """Let the other pieces go on when these can't be laid."""
    try:
        yield
    except InkaccordError as problem:
        made.findings += problem.findings
        why = "; ".join(it.message for it in problem.findings)
        made.failed.update(dict.fromkeys(pieces, why))


def _together(bench: Bench, group: list[_Ready], builds: list[str], made: _Made) -> None:
    """Lay pieces of one pair on sheets; one that can't be laid takes nothing from the others."""
    if len(group) == 1:
        with _attempting(made, [group[0].name]):
            _sheets(bench, group, builds, made)
        return
    try:
        _sheets(bench, group, builds, made)
    except InkaccordError as problem:
        alone = [_tried(bench, ready, builds) for ready in group]
        # What fits alone may not beside others: it is then laid on sheets of its own.
        blamed = {finding.place.field for finding in problem.findings}
        apart: list[_Ready] = []
        rest: list[_Ready] = []
        for ready, tried in zip(group, alone, strict=True):
            if tried.failed:
                made.failed.update(tried.failed)
                made.findings += tried.findings
            else:
                (apart if f"pieces.{ready.name}" in blamed else rest).append(ready)
        if len(rest) == len(group):
            apart, rest = rest, []
        for smaller in [*([ready] for ready in apart), *([rest] if rest else [])]:
            _together(bench, smaller, builds, made)


def _tried(bench: Bench, ready: _Ready, builds: list[str]) -> _Made:
    """Lay one piece alone, to see whether it can be laid at all."""
    tried = _Made()
    with _attempting(tried, [ready.name]):
        _sheets(bench, [ready], builds, tried)
    return tried


def _builds_on(pair: Pair, translations: Translations) -> list[str]:
    return [f"{it.colour} {it.build}" for it in translations.known if it.pair == pair]


def _inked(bench: Bench, ready: _Ready) -> Inked:
    # Records that are laid over an artwork print in the same inks, each of them.
    first = ready.sides if ready.job.piece.merge is not None else None
    return Inked(ready.job, bench.recall(page_inks, ready.data, first), ready.sides)


def _single(bench: Bench, ready: _Ready, builds: list[str], made: _Made) -> None:
    order, job = bench.order, ready.job
    run = single_run(_inked(bench, ready), made.next_run(job.vendor_name))
    lines = slugs(run, order, builds)
    written = bench.recall(
        single_pieces,
        ready.data,
        job.piece.trim,
        job.bleed_pt,
        marks=mark_rules(order, job, lines[0]),
        slugs=lines,
        folds=folds_of(job.piece),
        pdf_version=job.vendor.pdf.version,
        title=f"{order.order} {job.name}",
        name=job.name,
    )
    _note_records(job, made)
    _add(bench, laid_for(order, [job], written, [run]), made)


def _note_records(job: Job, made: _Made) -> None:
    if job.piece.records is not None:
        made.note(
            job.vendor_name,
            f"{job.name}: every copy has a page of its own; print each page once, in this order",
        )


def _fed(bench: Bench, ready: _Ready, made: _Made) -> None:
    job, name = ready.job, ready.name
    trim, feeding = job.piece.trim, feeding_of(job)
    fed = feed(name, trim, feeding)
    version, title = job.vendor.pdf.version, f"{bench.order.order} {name}"
    send = partial(single_feed, pdf_version=version, title=title)
    written = send(ready.data, name, trim, feeding)
    shown = written if ready.specimen is None else send(ready.specimen, name, trim, feeding)
    short = beyond_printable(name, fed, ink_box(shown.data))
    written = written.model_copy(update={"findings": (*written.findings, *short)})
    made.note(job.vendor_name, f"{name}: {fed.how}")
    _note_records(job, made)
    run = single_run(_inked(bench, ready), made.next_run(job.vendor_name))
    _add(bench, laid_for(bench.order, [job], written, [run]), made)


def _sheets(bench: Bench, group: list[_Ready], builds: list[str], made: _Made) -> None:
    order, jobs = bench.order, [ready.job for ready in group]
    printing, items, sides, marks = _laying(order, group, builds)
    imposition, findings = lay_pieces(bench.recall, printing, items, sides, marks)
    art: dict[tuple[str, int], bytes | Artwork] = {
        (ready.name, side): Artwork(data=ready.data, pages=_pages(ready.job, side, sides))
        for ready in group
        for side in _sides(sides)
    }
    first = made.next_run(printing.vendor_name)
    runs = sheet_runs(imposition, [_inked(bench, ready) for ready in group], first)
    lines = tuple(slugs(run, order, builds) for run in runs)
    drawn = ImposeRules(
        marks=marks,
        slugs=lines,
        pdf_version=printing.vendor.pdf.version,
        title=f"{order.order} {printing.pair}",
    )
    written = bench.recall(impose_sheets, art, imposition, drawn)
    laid = laid_for(order, jobs, written, runs)
    _add(bench, laid, made)
    made.findings += (*imposition.findings, *findings)
    made.findings += below_least(imposition.layouts, printing.vendor.cutter.least)
    made.bounds.append(bound_in_words(printing.pair, imposition))
    if len(imposition.ways) > 1:
        stated = printing.vendor.costs is not None
        made.ways.append(WeighedWays(pair=str(printing.pair), stated=stated, ways=imposition.ways))
    for job in jobs:
        if job.piece.records is not None:
            made.note(printing.vendor_name, _ABOUT_RECORDS[job.piece.records].format(job.name))
    made.sheets += [
        recorded_sheet(bench, run.number, printing, layout, items, laid.paths[0])
        for run, layout in zip(runs, imposition.layouts, strict=True)
    ]


def _laying(
    order: Order, group: Sequence[_Ready], builds: list[str]
) -> tuple[Job, list[Item], int, MarkRules | None]:
    """Return what is laid, and how: on whose sheets, of how many sides, with which marks."""
    printing, sides = group[0].job, group[0].sides  # of all of them
    items = [item_of(ready.job, sides) for ready in group]
    # How long a slug line comes out is not known before the sheets are.
    return (
        printing,
        items,
        sides,
        mark_rules(order, printing, slug_stand_in(order, printing, builds)),
    )


def _pages(job: Job, side: Side, sides: int) -> tuple[int, ...]:
    """Return the pages that show a side of a piece: one, or one for each record."""
    if job.piece.records is None:
        return (side - 1,)
    return tuple(range(side - 1, job.quantity * sides, sides))


def _sides(sides: int) -> tuple[Side, ...]:
    return (1, 2) if sides == 2 else (1,)


def _add(bench: Bench, laid: Laid, made: _Made) -> None:
    """Add what was laid to the vendor's files."""
    made.findings += laid.written.findings
    if laid.printing.vendor.file_per is FilePer.ORDER:
        made.joined.setdefault(laid.printing.vendor_name, []).append(laid)
        return
    files, findings = print_files(bench, [laid])
    refuse_one_name_twice([*made.files, *files])
    made.files += files
    made.runs += bench.recall(located, laid.runs, laid.written, laid.paths)
    made.findings += findings


def _join(bench: Bench, laid: list[Laid], made: _Made) -> None:
    """Make the one file of a vendor that wants one for the order."""
    vendor = laid[0].printing.vendor_name
    files, findings = print_files(bench, laid)
    made.files += files
    before = 0
    for part in laid:
        made.runs += bench.recall(located, part.runs, part.written, part.paths, before)
        before += part.written.pages
    made.findings += findings
    name = files[0].path.rpartition("/")[2]
    made.note(vendor, f"{name}, {pages_in_words(laid)}")
    wanted = [job.name for job in bench.order.jobs_of(vendor)]
    lacking = [piece for piece in wanted if piece not in files[0].pieces]
    if lacking:
        made.findings.append(
            warning(
                "file-incomplete",
                f"{name} is to hold the whole order and does not show {', '.join(lacking)} yet",
                place=bench.place("vendors", vendor),
                hint="send it when all pieces are ready",
            )
        )
