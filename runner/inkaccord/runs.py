"""A run from its beginning, which reads everything, to its end, which keeps and writes everything.

What lies between, :func:`inkaccord.pipeline.make`, is a function of values. So it can be done ahead
and elsewhere: what came of it holds for whoever begins with the same.
"""

from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Protocol

from inkaccord.engines import Engine
from inkaccord.files import sweep
from inkaccord.knowledge.holdings import gather
from inkaccord.order.diary import keep_samples
from inkaccord.order.loading import LoadedOrder
from inkaccord.out_folder import OutFolder
from inkaccord.pdf.ghostscript import ghostscript_version
from inkaccord.pipeline import Made, RunStart, make
from inkaccord.plugins import Plugins
from inkaccord.recall.memory import Memory
from inkaccord.recall.memory_file import KEPT_ORDERS, MemoryFile
from inkaccord.recording.from_book import uses_of
from inkaccord.run.bench import Progress
from inkaccord.run.record import Run
from inkaccord.shelf.store import Shelf
from inkaccord.unchanged import MEMORY, RunInputs
from inkaccord.workbench import silent


class Ahead(Protocol):
    """What was made ahead of a run, from what was read then."""

    start: RunStart

    def made(self, memory: Memory) -> Made | None:
        """Wait for it, and remember what was learned on the way; None where nothing came of it."""
        ...


def run_order(
    loaded: LoadedOrder,
    *,
    out: Path,
    shelf: Shelf,
    plugins: Plugins,
    progress: Progress = silent,
    remark: Progress = silent,
    engine: Engine | None = None,
    shared: Path | None = None,
    ahead: Ahead | None = None,
) -> Run:
    """Do all that can be done for an order now, and return the record of it.

    It rests on what it reads at its beginning, and on one state of the shelf: what is recorded
    while it goes on is for the next run. Whether there is anything to do says
    :func:`inkaccord.unchanged.last_run`. What takes long is done by the engine, if there is one;
    the results are the same. ``shared`` is a file in which orders that are run one after the other
    keep for each other what they computed. What was made ``ahead`` is taken where this run begins
    with the same.

    Raises
    ------
    InkaccordError
        When the order or its files are wrong. Then nothing has been written to the out folder; on
        the shelf is no more than the evidence that travels with the order.
    """
    sweep(out)
    folder = OutFolder(out)
    others = MemoryFile(shared, KEPT_ORDERS) if shared is not None else None
    with closing(Memory(out / MEMORY, ghostscript_version(), engine, others)) as memory:
        inputs = RunInputs.read(loaded, plugins)
        take_in_evidence(loaded, shelf, progress)
        before = None if ahead is None else ahead.start
        start = begin(loaded, inputs, shelf, folder, before)
        made = None
        if ahead is not None and start is before:
            progress("waiting for its worker")
            made = ahead.made(memory)
        if made is None or not folder.takes(made.files):
            made = make(start, plugins, memory, progress)
        return _end(start, made, folder, shelf, memory, progress, remark)


def begin(
    loaded: LoadedOrder,
    inputs: RunInputs,
    shelf: Shelf,
    folder: OutFolder,
    before: RunStart | None = None,
) -> RunStart:
    """Read what a run rests on. Where it is what was read ``before``, that is returned.

    Raises InkaccordError.
    """
    order = loaded.order
    with shelf.one_state():
        state = shelf.state_of(order.pairs_needed())
        unprinted = shelf.never_printed(_asked_before(inputs, folder))
        start = RunStart(loaded, inputs, state, folder.record, folder.path, unprinted)
        if before is not None and before.says() == start.says():
            return before
        return replace(start, holdings=gather(shelf, order, order.pairs_needed()))


def _asked_before(inputs: RunInputs, folder: OutFolder) -> set[str]:
    """Return the sheets that earlier runs of an order asked for, as far as they are not done."""
    last = () if folder.previous is None else folder.previous.samples
    paid = (sheet for it in inputs.diary.samples for sheet in it.sheets)
    return {*(it.id for it in last), *paid}


def take_in_evidence(loaded: LoadedOrder, shelf: Shelf, progress: Progress) -> None:
    """Put the readings and picks that travel with the order on the shelf, once."""
    if loaded.order.evidence is not None:
        progress("taking in evidence")
        shelf.copies.take_in(loaded.folder / loaded.order.evidence)


def _end(
    start: RunStart,
    made: Made,
    folder: OutFolder,
    shelf: Shelf,
    memory: Memory,
    progress: Progress,
    remark: Progress,
) -> Run:
    """Keep and write what was made, and return the record of it."""
    loaded, inputs = start.loaded, start.inputs
    kept = shelf.plan(made.sheets, made.withdrawn)
    progress("writing")
    if left := folder.write(made.record, made.files):
        remark(
            f"{', '.join(left)} in {folder.path} may be of an earlier run: no run on this computer "
            "wrote the record that says so, so nothing was removed. Remove what you don't want"
        )
    if made.paid != inputs.diary.samples:
        keep_samples(loaded.path, made.paid)
    inputs = replace(inputs, diary=inputs.diary.model_copy(update={"samples": made.paid}))
    memory.keep_inputs(made.record, inputs.digests(start.state.after(kept)))
    memory.save()
    shelf.book.use(uses_of(loaded))
    shelf.serve(loaded.order.order, made.served)
    return made.run
