"""The way of an order: which stage follows which, and what each needs and gives.

Stages return values, and so does the whole: from all that was read at the beginning of a run comes
all that is kept and written at its end, which :mod:`inkaccord.runs` does.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, field, replace
from functools import cached_property, partial
from pathlib import Path
from typing import Any

from inkaccord import __version__
from inkaccord.artwork.finishing.groups import INKS_NOT_KNOWN
from inkaccord.colour.pairs import Pair
from inkaccord.diagnostics import Diagnostic, Severity
from inkaccord.errors import ExitCode, FileError
from inkaccord.foresight.ahead import Foreseen, failing, foretold_of, look_ahead
from inkaccord.foresight.approved import said_of
from inkaccord.foresight.checking import Fault
from inkaccord.knowledge.holdings import Holdings
from inkaccord.knowledge.values import Translations
from inkaccord.order.approving import SignedFor, approval_now, is_held_for_approval, shown_of
from inkaccord.order.diary import SamplesPaid
from inkaccord.order.loading import LoadedOrder
from inkaccord.order.model import Order
from inkaccord.out_folder import OutFolder, run_kept
from inkaccord.planning.accepting import answers_without_use
from inkaccord.planning.control_cards import control_cards
from inkaccord.planning.waiting import left_behind
from inkaccord.plugins import Plugins
from inkaccord.recall.recall import Recall
from inkaccord.report.gallery import OrderGallery
from inkaccord.run.agreement import Acceptance
from inkaccord.run.bench import Bench, Progress
from inkaccord.run.collected import Collected
from inkaccord.run.files import KEPT_WHEN_EDITED, OutFile
from inkaccord.run.imposed import Imposed
from inkaccord.run.paying import order_charges, samples_paid
from inkaccord.run.recoloured import Recoloured
from inkaccord.run.record import (
    PieceStatus,
    RecordedFile,
    RecordedPiece,
    Run,
    Standing,
)
from inkaccord.run.sending import with_sent
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.reading.cgats_written import write_cgats
from inkaccord.shelf.state import ShelfState
from inkaccord.stages.check_artwork import checked_ahead
from inkaccord.stages.packing_up import packed_up
from inkaccord.stages.release import (
    approval_step,
    check_artworks,
    decide,
    waivers_without_use,
)
from inkaccord.stages.sampling import sampled
from inkaccord.unchanged import RunInputs
from inkaccord.workbench import Workbench, silent


@dataclass(frozen=True)
class RunStart:
    """All that a run rests on, read at its beginning.

    Attributes
    ----------
    loaded
        The order.
    inputs
        The files that it names, and its diary.
    state
        One state of the shelf, by names.
    record
        The record that an earlier run left in the out folder; None where there is none.
    out
        The out folder, which no file may leave.
    unprinted
        Of the sheets that earlier runs of the order asked for, those on no paper, with their pairs.
    holdings
        What the shelf holds in that state.
    """

    loaded: LoadedOrder
    inputs: RunInputs
    state: ShelfState
    record: bytes | None
    out: Path
    unprinted: Mapping[str, Pair] = field(default_factory=dict)
    holdings: Holdings = field(default_factory=Holdings)

    def says(self) -> tuple[Any, ...]:
        """Return what tells it from others of the same order; the state stands for the holdings."""
        digests = self.inputs.digests(self.state)
        return digests, self.inputs.diary, self.record, self.unprinted, self.loaded.findings


@dataclass(frozen=True)
class Made:
    """What is made of an order: all that is to be written, and kept on the shelf.

    Attributes
    ----------
    record
        The record of the run.
    files
        What goes into the out folder beside it.
    sheets
        What the shelf is to keep, to be recorded.
    withdrawn
        Sheets that nobody needs any more, and why, by id.
    paid
        What the order's sample sheets cost.
    served
        The colours that the evidence of each pair has translated.
    """

    record: bytes
    files: tuple[OutFile, ...]
    sheets: tuple[SampleSheet, ...]
    withdrawn: dict[str, str]
    paid: tuple[SamplesPaid, ...]
    served: dict[Pair, tuple[str, ...]]

    @cached_property
    def run(self) -> Run:
        """What the record says."""
        return Run.model_validate_json(self.record)


def make(start: RunStart, plugins: Plugins, recall: Recall, progress: Progress = silent) -> Made:
    """Make all that can be made of an order now, from values alone: nothing is written or kept.

    Raises InkaccordError when the order or its files are wrong.
    """
    loaded, inputs = start.loaded, start.inputs
    order, folder = loaded.order, OutFolder(start.out)
    bench = Workbench(
        loaded, start.holdings, run_kept(start.record), progress, recall, inputs.files
    )
    ahead = look_ahead(loaded, bench)
    collected = plugins.collect(order.only(ahead.pages.keys() | ahead.misfits), bench)
    # Up to the print files, an order is what can be made of it: no sheet is asked for the rest.
    failed = collected.failed | ahead.failed
    made = _what_can_be_made(order, failed, (*ahead.findings, *collected.findings))
    translations = plugins.translate(made, collected, bench)
    agreement = plugins.agree(made, collected, translations, bench)
    plan = plugins.plan_samples(made, collected, translations, agreement, bench)
    plan = left_behind(order, plan, start.unprinted)
    recoloured = plugins.recolour(made, collected, translations, agreement, bench)
    checked = _checked(order, recoloured, plugins, bench)
    standings = decide(order, collected, translations, agreement, recoloured, checked, failed)
    ready = {name for name, it in standings.items() if it.status is PieceStatus.READY}
    copies = Recoloured(pieces=tuple(copy for copy in recoloured.pieces if copy.piece in ready))
    imposed = plugins.impose(order, collected, translations, copies, bench)
    folder.refuse_outside(imposed.files, plugins.imposer)
    standings |= {
        name: Standing(status=PieceStatus.FAILED, why=why) for name, why in imposed.failed.items()
    }
    foretold = _foretold(order, standings, collected, ahead.misfits, bench)
    standings |= _with_why(standings, failing(foretold))
    shown = _shown(loaded, inputs)
    approval = None if shown is None else approval_now(inputs.diary.approval, shown)
    steps = (*plan.steps, *approval_step(order, approval, standings, plan))
    imposed, cards = _with_control_cards(imposed, ready, bench, plugins)

    samples = sampled(bench, plan, plugins.draw_sheet)
    found = [
        *loaded.findings,
        *ahead.findings,
        *collected.findings,
        *translations.findings,
        *agreement.findings,
        *plan.findings,
        *samples.findings,
        *recoloured.findings,
        *(finding for it in checked.values() for finding in it),
        *(it.finding for it in foretold),
        *waivers_without_use(order, checked, bench, {it.code for it in collected.findings}),
        *answers_without_use(order, agreement, bench),
        *imposed.findings,
        *said_of(order, approval),
    ]
    paid = samples_paid(inputs.diary.samples, samples.sampling, start.unprinted)
    files = [*samples.files, *imposed.files]
    unknown = collected.inks_unknown | {
        name for name, said in checked.items() if INKS_NOT_KNOWN & {it.code for it in said}
    }
    pieces = _pieces(order, standings, ahead, collected, recoloured, unknown)
    recorded = RecordedFile.of_all(files)
    run = Run(
        inkaccord=__version__,
        order=order.order,
        title=order.title,
        date=order.date,
        due=order.due,
        suites=order.suites,
        exit_code=ExitCode.DISAGREE if _cannot_go(standings, foretold) else ExitCode.DONE,
        order_sha256=loaded.sha256,
        book=loaded.book,
        shown=shown.digest if shown is not None else "",
        approval=approval,
        pieces=pieces,
        artworks=collected.artworks,
        translations=translations.known,
        agreement=tuple(it for it in agreement.distances if unknown.isdisjoint(it.between)),
        accepted=(*agreement.accepted, *_still_accepted(bench, failed)),
        trades=translations.trades,
        steadiness=translations.steadiness,
        samples=samples.sheets,
        sampling=samples.sampling,
        charges=order_charges(order, imposed.runs, paid),
        saved=plan.saved,
        runs=imposed.runs,
        sheets=imposed.sheets,
        bounds=imposed.bounds,
        ways=imposed.ways,
        notes=imposed.notes,
        findings=_recorded(loaded, [*found, *plugins.findings]),
        next=steps,
        files=recorded,
        plugins=plugins.versions(),
    )
    run = with_sent(run, inputs.diary.sendings, held=is_held_for_approval(order, approval))
    run, files = _delivered(run, files, found, bench, plugins, folder)
    return Made(
        record=run.as_json(),
        files=tuple(files),
        sheets=(*(it.sheet for it in plan.sheets), *cards),
        withdrawn=plan.withdrawn,
        paid=paid,
        served=_served(order, translations),
    )


def _pieces(
    order: Order,
    standings: Mapping[str, Standing],
    ahead: Foreseen,
    collected: Collected,
    recoloured: Recoloured,
    inks_unknown: Set[str],
) -> tuple[RecordedPiece, ...]:
    """Return what the record says of each piece."""
    carried = {artwork.piece: artwork.brand_colours for artwork in collected.artworks}
    proofs = {copy.piece: copy.proof.lines for copy in recoloured.pieces}
    return tuple(
        RecordedPiece.of(
            job,
            standings[name],
            sides=ahead.pages.get(name),
            colours=carried.get(name, ()),
            proof=proofs.get(name, ()),
            inks_known=name not in inks_unknown,
        )
        for name, job in order.jobs.items()
    )


def _delivered(
    run: Run,
    files: Sequence[OutFile],
    found: Sequence[Diagnostic],
    bench: Workbench,
    plugins: Plugins,
    folder: OutFolder,
) -> tuple[Run, list[OutFile]]:
    """Return a run with all that is delivered of it, and every file that is to be written."""
    order, loaded = bench.order, bench.loaded
    fallen = len(plugins.findings)
    by_path = {file.path: file.data for file in files}
    given = plugins.deliver(order, run, by_path, OrderGallery.drawn(order, run, bench), bench)
    extra, trouble = folder.fitting(given, files)
    undelivered = trouble or plugins.findings[fallen:]
    every = [*files, *extra]
    every += packed_up(order, every, with_job=not is_held_for_approval(order, run.approval))
    findings = [*found, *plugins.findings, *trouble]
    whole = run.model_copy(
        update={
            "files": RecordedFile.of_all(every),
            "findings": _recorded(loaded, findings),
            "exit_code": run.exit_code or (ExitCode.FILES if undelivered else ExitCode.DONE),
        }
    )
    return whole, every


def _what_can_be_made(
    order: Order, failed: Mapping[str, str], findings: Iterable[Diagnostic]
) -> Order:
    """Return an order without what fails. Raises FileError when nothing is left of it."""
    makeable = order.only(order.pieces.keys() - failed.keys())
    if not makeable.pieces:
        raise FileError(findings)
    return makeable


def _checked(
    order: Order, recoloured: Recoloured, plugins: Plugins, bench: Bench
) -> dict[str, tuple[Diagnostic, ...]]:
    """Return what all checks find wrong with the copies, by piece."""
    checked_ahead(order, recoloured, bench)
    look = partial(plugins.check_artwork, bench=bench)
    return check_artworks(order, recoloured, look, bench.progress)


def _still_accepted(bench: Workbench, failed: Mapping[str, str]) -> Iterator[Acceptance]:
    """Yield what was accepted on pieces that fail now: it is known again when they are mended."""
    for acceptance in bench.accepted_before:
        if acceptance.piece in failed and bench.order.accepts(acceptance.colour, acceptance.piece):
            yield acceptance


def _with_control_cards(
    imposed: Imposed, ready: Set[str], bench: Bench, plugins: Plugins
) -> tuple[Imposed, tuple[SampleSheet, ...]]:
    """Add the cards of controls that vendors print beside the pieces; return also their sheets.

    Each is to be recorded like any sheet, and comes with its table to be filled in.
    """
    cards, findings = control_cards(bench.order, ready - imposed.failed.keys(), bench)
    files, notes = list(imposed.files), dict(imposed.notes)
    for card in cards:
        vendor, pdf = card.printing.vendor_name, plugins.draw_sheet(card.sheet, ())
        files.append(OutFile(card.path, pdf, "controls", vendor=vendor, pages=card.sheet.pages))
        files.append(OutFile(card.table, write_cgats(card.sheet).encode(), KEPT_WHEN_EDITED))
        notes[vendor] = (*notes.get(vendor, ()), card.note)
    added = replace(
        imposed, files=tuple(files), notes=notes, findings=(*imposed.findings, *findings)
    )
    return added, tuple(card.sheet for card in cards)


def _served(order: Order, translations: Translations) -> dict[Pair, tuple[str, ...]]:
    """Return the colours that the evidence of each pair has translated."""
    served: dict[Pair, list[str]] = {}
    for translation in translations.known:
        served.setdefault(translation.pair, []).append(translation.colour)
    return {pair: tuple(served[pair]) for pair in order.pairs() if pair in served}


def _shown(loaded: LoadedOrder, inputs: RunInputs) -> SignedFor | None:
    """Return what the client's page shows; None where a file of it can't be read."""
    try:
        return shown_of(loaded, inputs.files)
    except FileError:
        return None


def _foretold(
    order: Order,
    standings: Mapping[str, Standing],
    collected: Collected,
    misfits: Set[str],
    bench: Workbench,
) -> tuple[Fault, ...]:
    """Return the errors that the checks will find on pieces whose builds are not known yet.

    Also on those whose artwork does not fit them: whoever mends that mends all at once. They are to
    be mended before the pieces can go, so better heard of before sheets are printed.
    """
    waiting = [name for name, it in standings.items() if it.status is PieceStatus.WAITING]
    return tuple(
        fault
        for fault in foretold_of(order.only([*waiting, *misfits]), collected, bench, misfits)
        if fault.finding.severity is Severity.ERROR
    )


def _with_why(standings: Mapping[str, Standing], whys: Mapping[str, str]) -> dict[str, Standing]:
    """Return the standings of some pieces with more reasons."""
    return {
        name: standings[name].model_copy(update={"why": f"{standings[name].why}; {why}"})
        for name, why in whys.items()
    }


def _cannot_go(standings: Mapping[str, Standing], foretold: Sequence[Fault]) -> bool:
    """Tell whether a piece can't go as it is; whether a person is waited for is told later."""
    return bool(foretold) or any(it.status is PieceStatus.FAILED for it in standings.values())


def _recorded(loaded: LoadedOrder, findings: Iterable[Diagnostic]) -> tuple[Diagnostic, ...]:
    """Return each finding once, as a record has it.

    The order's file goes by its name alone: a record tells nothing of the folders of the machine
    that made it, and is the same wherever the order lies.
    """
    order_file, name = loaded.source.file, loaded.path.name
    return tuple(
        dict.fromkeys(
            finding.model_copy(update={"place": finding.place.model_copy(update={"file": name})})
            if finding.place.file == order_file
            else finding
            for finding in findings
        )
    )
