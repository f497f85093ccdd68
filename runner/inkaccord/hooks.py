"""The one seam: every place where a plugin can add to inkaccord, or take a part's place.

A plugin is an installed distribution with an entry point in the group ``inkaccord``, or a module
named with ``--plugin``. An order file can never load code. The built-in stages are plugins like
any other, registered first, so that an outside plugin is asked before them.

pluggy calls the hooks, so ``firstresult``, ``tryfirst`` and ``trylast``, wrappers and call
monitoring work as its documentation says. Every specification says who calls it, when, and what it
may raise. A plugin that raises anything but an :class:`~inkaccord.errors.InkaccordError`, or
returns something of the wrong type, becomes a finding that names it; the rest of the order goes on
where it can.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import pluggy

from inkaccord.diagnostics import Diagnostic
from inkaccord.engines import Executors
from inkaccord.knowledge.values import Translations
from inkaccord.order.job import Job
from inkaccord.order.kinds import VendorKind
from inkaccord.order.model import Order
from inkaccord.run.agreement import Agreement
from inkaccord.run.bench import Bench
from inkaccord.run.collected import Collected
from inkaccord.run.files import OutFile
from inkaccord.run.gallery import Gallery
from inkaccord.run.imposed import Imposed
from inkaccord.run.plan import SamplePlan
from inkaccord.run.recoloured import Recoloured
from inkaccord.run.record import Run
from inkaccord.sheets.model import SampleSheet
from inkaccord.sheets.reading.formats import ReadingsFormat

PROJECT = "inkaccord"
hookspec = pluggy.HookspecMarker(PROJECT)
hookimpl = pluggy.HookimplMarker(PROJECT)


@dataclass(frozen=True)
class ArtworkSubject:
    """What an artwork check looks at: one piece's own copy for its vendor.

    Attributes
    ----------
    order, job
        The order, and the piece in it with its vendor, device and stock.
    data
        The PDF's bytes, recoloured.
    """

    order: Order
    job: Job
    data: bytes


class Specifications:
    """The hooks. Arguments are given by keyword; an implementation may leave out any of them."""

    @hookspec
    def inkaccord_vendor_kinds(self) -> Sequence[VendorKind]:  # type: ignore[empty-body]
        """Offer kinds of vendor that an order can name with ``kind:``.

        Called once for each plugin, before an order is loaded and for ``schema`` and ``plugins``.
        Must not read files or need a network. Two plugins with one kind: an error naming both.
        """

    @hookspec
    def inkaccord_readings_formats(self) -> Sequence[ReadingsFormat]:  # type: ignore[empty-body]
        """Offer forms in which ``inkaccord record`` takes readings.

        Called once for each plugin by ``record``. The first format that recognises a file reads it.
        """

    @hookspec
    def inkaccord_executors(self) -> Sequence[Executors]:  # type: ignore[empty-body]
        """Offer executors on which a run's tasks are done: ``run --cluster ADDRESS``.

        Called once for each plugin by such a run. The first kind that recognises the address
        connects to it. Must not need a library or a network before it connects.
        """

    @hookspec(firstresult=True)
    def inkaccord_draw_sheet(self, sheet: SampleSheet, notes: Sequence[str]) -> bytes | None:
        """Draw a sample sheet: of a run, of a swatch set, of the controls alone. None passes on.

        Returns a PDF with a page for each of the sheet's pages, of the sheet's own size and bleed,
        in which every swatch has its place; the same bytes each time. The first of the ``notes``
        that fits stands at the foot. One that fails is named, and the next one draws.
        """

    @hookspec
    def inkaccord_check_artwork(  # type: ignore[empty-body]
        self, subject: ArtworkSubject, bench: Bench
    ) -> Sequence[Diagnostic]:
        """Look at one recoloured artwork before it is released, and say what is wrong.

        Called once for each plugin and piece, after recolouring. An error holds the piece back
        unless the order waives its code for that piece. Must not write.
        """

    @hookspec(firstresult=True)
    def inkaccord_collect(self, order: Order, bench: Bench) -> Collected | None:
        """Stage 1: find what colours every artwork holds. None passes to the next plugin.

        A piece whose artwork can't be used goes under ``failed``, with a finding. Up to recolouring
        ``order`` has only the pieces that can be made; ``bench.order`` has all.
        """

    @hookspec(firstresult=True)
    def inkaccord_translate(
        self, order: Order, collected: Collected, bench: Bench
    ) -> Translations | None:
        """Stage 2: find the build of every brand colour on every pair that carries it."""

    @hookspec(firstresult=True)
    def inkaccord_agree(
        self, order: Order, collected: Collected, translations: Translations, bench: Bench
    ) -> Agreement | None:
        """Stage 3: say how far apart each shared colour lies, and which pieces are held."""

    @hookspec(firstresult=True)
    def inkaccord_plan_samples(
        self,
        order: Order,
        collected: Collected,
        translations: Translations,
        agreement: Agreement,
        bench: Bench,
    ) -> SamplePlan | None:
        """Stage 4: decide what paper could change, what it costs, and what only a person can say.

        Must not write: the plan's sheets are put on the shelf, and withdrawn, by the pipeline.
        """

    @hookspec(firstresult=True)
    def inkaccord_recolour(
        self,
        order: Order,
        collected: Collected,
        translations: Translations,
        agreement: Agreement,
        bench: Bench,
    ) -> Recoloured | None:
        """Stage 5: make and prove each vendor's copy of the artwork."""

    @hookspec(firstresult=True)
    def inkaccord_impose(
        self,
        order: Order,
        collected: Collected,
        translations: Translations,
        recoloured: Recoloured,
        bench: Bench,
    ) -> Imposed | None:
        """Stage 6: lay the pieces on sheets, or make single pieces for the vendor to lay."""

    @hookspec
    def inkaccord_deliver(  # type: ignore[empty-body]
        self,
        order: Order,
        run: Run,
        files: Mapping[str, bytes],
        gallery: Gallery,
        bench: Bench,
    ) -> Sequence[OutFile]:
        """Add files to the out folder: order sheets, lists, reports, packages.

        Called once for each plugin, built-in ones first, with the record as it stands and the
        print files by path. ``gallery`` has a picture of every piece as it will print, at any
        size; all deliveries share it. Files are returned, never written; a path outside the out
        folder, or one that another plugin already took, is refused with a finding.
        """
