"""The way of an order: which stage follows which, what each needs and gives, and what is written.

Stages return values; only this module writes, at the end, and only inside the out folder. Every
file is renamed into place, the record last of all, so that a run broken off at any moment leaves
the previous state or the next one, file by file, and the next run mends the rest.
"""

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from functools import partial
from pathlib import Path

from pydantic import ValidationError

from inkaccord import __version__
from inkaccord.diagnostics import Diagnostic, warning
from inkaccord.errors import ExitCode, FileError, InkaccordError, OrderError
from inkaccord.files import inside, sha256_of, write_if_changed
from inkaccord.foresight.ahead import look_ahead
from inkaccord.knowledge.pairs import kin_of
from inkaccord.knowledge.values import Translations
from inkaccord.order.inputs import OrderInputs
from inkaccord.order.loading import LoadedOrder
from inkaccord.order.model import Order
from inkaccord.pdf.ghostscript import ghostscript_version
from inkaccord.planning.accepting import answers_without_use
from inkaccord.planning.sample_pages import laid_file
from inkaccord.plugins import Plugins
from inkaccord.recall.memory import Memory
from inkaccord.report.gallery import OrderGallery
from inkaccord.run.agreement import Acceptance
from inkaccord.run.bench import Progress
from inkaccord.run.collected import Collected
from inkaccord.run.files import OutFile
from inkaccord.run.plan import SamplePlan
from inkaccord.run.recoloured import Recoloured
from inkaccord.run.record import (
    FORMAT,
    PieceStatus,
    RecordedFile,
    RecordedPiece,
    RecordedSheet,
    Run,
)
from inkaccord.sheets.drawing.drawn import DrawnSheet
from inkaccord.shelf.store import Shelf
from inkaccord.stages.packing_up import packed_up
from inkaccord.stages.release import (
    Standing,
    check_artworks,
    decide,
    waivers_without_use,
)
from inkaccord.workbench import Workbench, silent

RECORD = "run.json"
MEMORY = ".memory.sqlite"
"""What runs computed, for the next ones. It may be deleted at any time."""
KEPT_WHEN_EDITED = "sample-table"
"""Files of this kind are filled in by people: an edited one is never overwritten or removed."""


def run_order(
    loaded: LoadedOrder,
    *,
    out: Path,
    shelf: Shelf,
    plugins: Plugins,
    progress: Progress = silent,
) -> Run:
    """Do all that can be done for an order now, and return the record of it.

    Raises
    ------
    InkaccordError
        When the order or its files are wrong; then nothing has been written to the out folder.
    """
    previous = read_record(out)
    memory = Memory(out / MEMORY, besides=ghostscript_version())
    bench = Workbench(
        loaded=loaded,
        out=out,
        shelf=shelf,
        previous=previous,
        progress=progress,
        recall=memory,
    )
    take_in_evidence(bench)
    inputs = digest_of_inputs(bench, plugins)
    if (
        previous is not None
        and memory.inputs_of(previous.as_json()) == inputs
        and _all_untouched(previous, bench)
    ):
        memory.save()
        return previous
    order = loaded.order
    ahead = look_ahead(loaded)
    # Up to the print files, an order is what can be made of it: no sheet is asked for the rest.
    collected = plugins.collect(order.only(ahead.pages), bench)
    failed = collected.failed | ahead.failed
    made = _what_can_be_made(order, failed, (*ahead.findings, *collected.findings))
    translations = plugins.translate(made, collected, bench)
    agreement = plugins.agree(made, collected, translations, bench)
    plan = plugins.plan_samples(made, collected, translations, agreement, bench)
    shelve(plan, shelf)
    recoloured = plugins.recolour(made, collected, translations, agreement, bench)
    checked = check_artworks(
        order, recoloured, partial(plugins.check_artwork, bench=bench), progress
    )
    standings = decide(order, collected, translations, agreement, recoloured, checked, failed)
    ready = {name for name, it in standings.items() if it.status is PieceStatus.READY}
    copies = Recoloured(pieces=tuple(copy for copy in recoloured.pieces if copy.piece in ready))
    imposed = plugins.impose(order, collected, translations, copies, bench)
    refuse_outside(imposed.files, bench, plugins.imposer)
    for name, why in imposed.failed.items():
        standings[name] = Standing(status=PieceStatus.FAILED, why=why)
    found = [
        *loaded.findings,
        *ahead.findings,
        *collected.findings,
        *translations.findings,
        *agreement.findings,
        *plan.findings,
        *recoloured.findings,
        *(finding for it in checked.values() for finding in it),
        *waivers_without_use(order, checked, bench),
        *answers_without_use(order, agreement, bench),
        *imposed.findings,
    ]
    files = [*sample_files(order, plan, plugins, progress), *imposed.files]
    run = Run(
        inkaccord=__version__,
        order=order.order,
        title=order.title,
        date=order.date,
        due=order.due,
        suites=order.suites,
        exit_code=_exit_code(standings, plan),
        order_sha256=loaded.sha256,
        pieces=_pieces(bench, standings, collected, recoloured, ahead.pages),
        artworks=collected.artworks,
        translations=translations.known,
        agreement=agreement.distances,
        accepted=(*agreement.accepted, *_still_accepted(bench, failed)),
        trades=translations.trades,
        steadiness=translations.steadiness,
        samples=_samples(plan),
        saved=plan.saved,
        sheets=imposed.sheets,
        bounds=imposed.bounds,
        notes=imposed.notes,
        findings=_once([*found, *plugins.findings]),
        next=plan.steps,
        files=_files(files),
        plugins=plugins.versions(),
    )
    extra, trouble = delivered(run, files, bench, plugins)
    files += extra
    files += packed_up(order, files)
    run = run.model_copy(
        update={
            "files": _files(files),
            "findings": _once([*found, *plugins.findings, *trouble]),
        }
    )
    progress("writing")
    write_run(run, files, bench)
    # The digest is made anew: the plan has put sheets on the shelf.
    memory.keep_inputs(run.as_json(), digest_of_inputs(bench, plugins))
    memory.save()
    shelf_serves(bench, translations)
    return run


def _what_can_be_made(
    order: Order, failed: Mapping[str, str], findings: Iterable[Diagnostic]
) -> Order:
    """Return an order without what fails. Raises FileError when nothing is left of it."""
    makeable = order.only(order.pieces.keys() - failed.keys())
    if not makeable.pieces:
        raise FileError(findings)
    return makeable


def _still_accepted(bench: Workbench, failed: Mapping[str, str]) -> Iterator[Acceptance]:
    """Yield what was accepted on pieces that fail now: it is known again when they are mended."""
    for it in bench.accepted_before:
        if it.piece in failed and bench.order.accepts(it.colour, it.piece):
            yield it


def read_record(out: Path) -> Run | None:
    """Return the record that an earlier run left, or None where there is none to build on."""
    try:
        run = Run.model_validate_json((out / RECORD).read_bytes())
    except (OSError, ValidationError):
        return None  # missing, or of another version: everything is made anew
    return run if run.format == FORMAT else None


def take_in_evidence(bench: Workbench) -> None:
    """Put the readings and picks that travel with the order on the shelf, once."""
    if bench.order.evidence is not None:
        bench.progress("taking in evidence")
        bench.shelf.take_in(bench.loaded.folder / bench.order.evidence)


def shelve(plan: SamplePlan, shelf: Shelf) -> None:
    """Put what a plan asks for on the shelf, to be recorded; withdraw what nobody needs."""
    shelf.plan((it.sheet for it in plan.sheets), plan.withdrawn)


def digest_of_inputs(bench: Workbench, plugins: Plugins) -> str:
    """Return a digest of everything that the results depend on."""
    digest = hashlib.sha256()

    def add(*parts: str) -> None:
        digest.update("\0".join(parts).encode() + b"\1")

    add("inkaccord", __version__, str(FORMAT), bench.loaded.sha256)
    for plugin, version in plugins.versions().items():
        add("plugin", plugin, version)
    inputs = OrderInputs.of(bench.loaded)
    for name in inputs.artworks:
        try:
            add("artwork", name, sha256_of(bench.artwork(name)))
        except InkaccordError:
            add("artwork", name, "unreadable")
    for path in inputs.profiles.values():
        add("profile", sha256_of(path.read_bytes()) if path.is_file() else "missing")
    for pair in inputs.pairs:
        add("pair", str(pair), bench.shelf.digest(pair))
        kin = kin_of(bench.shelf, pair, bench.order.device(pair.device).drive)
        if kin is not None:
            add("kin", str(kin), bench.shelf.digest(kin))
    return digest.hexdigest()


def _all_untouched(previous: Run, bench: Workbench) -> bool:
    return all(
        file.what == KEPT_WHEN_EDITED or bench.untouched(file) is not None
        for file in previous.files
    )


def sample_files(
    order: Order, plan: SamplePlan, plugins: Plugins, progress: Progress
) -> list[OutFile]:
    """Draw the sheets that wait, each with its table to be filled in.

    Those that are cut out of larger sheets are laid on them as well, all of a device and stock.
    """
    from inkaccord.sheets.reading.cgats import write_cgats  # noqa: PLC0415 - only when sheets wait

    files = []
    drawn: dict[str, list[DrawnSheet]] = {}
    for planned in plan.sheets:
        sheet = planned.sheet
        progress(f"drawing sheet {sheet.id}")
        pdf = plugins.draw_sheet(sheet, (planned.why,))
        files.append(OutFile(planned.path, pdf, "sample"))
        files.append(OutFile(planned.table, write_cgats(sheet).encode(), KEPT_WHEN_EDITED))
        if planned.laid:
            drawn.setdefault(planned.laid, []).append(DrawnSheet(sheet, pdf))
    for path, blocks in drawn.items():
        files.append(OutFile(path, laid_file(order, blocks), "sample"))
    return files


def refuse_outside(files: Iterable[OutFile], bench: Workbench, plugin: str) -> None:
    """Raise OrderError naming the plugin when a file would leave the out folder."""
    for file in files:
        try:
            inside(bench.out, file.path)
        except InkaccordError as problem:
            raise OrderError(
                [it.model_copy(update={"source": plugin}) for it in problem.findings]
            ) from problem


def delivered(
    run: Run, files: list[OutFile], bench: Workbench, plugins: Plugins
) -> tuple[list[OutFile], list[Diagnostic]]:
    """Ask every plugin for the files that it adds; refuse what is taken or leads outside."""
    taken = {file.path for file in files}
    extra: list[OutFile] = []
    trouble: list[Diagnostic] = []
    for plugin, file in plugins.deliver(
        bench.order,
        run,
        {file.path: file.data for file in files},
        OrderGallery(bench.order, run, bench),
        bench,
    ):
        try:
            inside(bench.out, file.path)
        except InkaccordError as problem:
            trouble += [it.model_copy(update={"source": plugin}) for it in problem.findings]
            continue
        if file.path in taken or file.path == RECORD:
            trouble.append(
                warning(
                    "file-taken",
                    f"the plugin '{plugin}' gives {file.path}, which another part writes already",
                    hint="the plugin should choose another name",
                ).model_copy(update={"source": plugin})
            )
            continue
        taken.add(file.path)
        extra.append(file)
    return extra, trouble


def write_run(run: Run, files: Iterable[OutFile], bench: Workbench) -> None:
    """Write what changed, remove what an earlier run left and nobody wants now, record it all."""
    known = {file.path: file for file in bench.previous.files} if bench.previous else {}
    wanted = set()
    for file in files:
        wanted.add(file.path)
        path = inside(bench.out, file.path)
        edited = file.what == KEPT_WHEN_EDITED and path.exists()
        if edited and (file.path not in known or bench.untouched(known[file.path]) is None):
            continue
        write_if_changed(path, file.data)
    write_if_changed(bench.out / RECORD, run.as_json())
    for path_text, old in known.items():
        if path_text not in wanted and bench.untouched(old) is not None:
            inside(bench.out, path_text).unlink()


def shelf_serves(bench: Workbench, translations: Translations) -> None:
    """Remember on the shelf which colours its evidence served, for its lists."""
    served: dict[object, list[str]] = {}
    for it in translations.known:
        served.setdefault(it.pair, []).append(it.colour)
    for pair in bench.order.pairs():
        if pair in served:
            bench.shelf.serve(bench.order.order, pair, served[pair])


def _exit_code(standings: dict[str, Standing], plan: SamplePlan) -> ExitCode:
    statuses = {it.status for it in standings.values()}
    if PieceStatus.FAILED in statuses:
        return ExitCode.DISAGREE
    if plan.steps or statuses != {PieceStatus.READY}:
        return ExitCode.WAITING
    return ExitCode.DONE


def _pieces(
    bench: Workbench,
    standings: dict[str, Standing],
    collected: Collected,
    recoloured: Recoloured,
    pages: Mapping[str, int],
) -> tuple[RecordedPiece, ...]:
    carried = {it.piece: it.brand_colours for it in collected.artworks}
    proofs = {copy.piece: copy.proof.lines for copy in recoloured.pieces}
    return tuple(
        RecordedPiece(
            name=name,
            status=standings[name].status,
            why=standings[name].why,
            vendor=job.vendor_name,
            **job.pair.parts,
            quantity=job.quantity,
            overs=job.overs,
            sides=pages.get(name, job.piece.sides or 1),
            trim_mm=tuple(round(side, 3) for side in job.piece.trim.in_mm),
            colours=carried.get(name, ()),
            proof=proofs.get(name, ()),
            waived=job.piece.waive,
        )
        for name, job in bench.order.jobs.items()
    )


def _samples(plan: SamplePlan) -> tuple[RecordedSheet, ...]:
    return tuple(
        RecordedSheet(
            id=it.sheet.id,
            **it.sheet.pair.parts,
            purpose=it.sheet.purpose,
            swatches=len(it.sheet.swatches),
            pages=it.sheet.pages,
            why=it.why,
            path=it.path,
            table=it.table,
            laid=it.laid,
        )
        for it in plan.sheets
    )


def _files(files: Iterable[OutFile]) -> tuple[RecordedFile, ...]:
    return tuple(
        RecordedFile(
            path=file.path,
            sha256=sha256_of(file.data),
            size=len(file.data),
            what=file.what,
            pieces=file.pieces,
            vendor=file.vendor,
        )
        for file in sorted(files, key=lambda file: file.path)
    )


def _once(findings: Iterable[Diagnostic]) -> tuple[Diagnostic, ...]:
    return tuple(dict.fromkeys(findings))
