"""The pieces of an order as they will print: with the artwork's own builds, and translated."""

import contextlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import partial
from typing import Self

from inkaccord.colour.pairs import Pair
from inkaccord.errors import InkaccordError
from inkaccord.knowledge.values import Translation
from inkaccord.order.model import Order
from inkaccord.pdf.joining import first_pages
from inkaccord.report.hatching import ShownFinish
from inkaccord.report.impressions import (
    BrandInk,
    Impression,
    PrintsKept,
    impression,
    translated,
    untouched,
)
from inkaccord.run.bench import Bench
from inkaccord.run.gallery import REPORT_PX, SIZES, Picture, Shown
from inkaccord.run.record import PieceStatus, Run


@dataclass
class OrderGallery:
    """The gallery of one run: :class:`inkaccord.run.gallery.Gallery`.

    A piece is recoloured for the screen once, and drawn once at each size that is asked for.
    """

    order: Order
    run: Run
    known: Bench
    _recoloured: dict[tuple[str, bool], Impression | str] = field(default_factory=dict)
    _drawn: dict[tuple[str, bool, int], Shown] = field(default_factory=dict)
    _prints: dict[Pair, PrintsKept] = field(default_factory=dict)

    def original(self, piece: str, longest_px: int) -> Shown:
        """Return a piece as its pair would print the artwork's own builds."""
        return self._shown(piece, longest_px, after=False)

    def translated(self, piece: str, longest_px: int) -> Shown:
        """Return a piece as its pair will print the translated builds."""
        return self._shown(piece, longest_px, after=True)

    def best(self, piece: str, longest_px: int) -> Shown:
        """Return the translated piece where it is known, else the original one."""
        after = self.translated(piece, longest_px)
        return after if after.pages else self.original(piece, longest_px)

    @classmethod
    def drawn(cls, order: Order, run: Run, known: Bench) -> Self:
        """Return a gallery in which is drawn what the reports and lists are going to ask for."""
        made = cls(order, run, known)
        known.recall.ahead(copy for one, _ in made._asked() for copy in one.copies)
        known.recall.ahead(made._drawings())
        return made

    def _asked(self) -> Iterator[tuple[Impression, tuple[int, ...]]]:
        """Yield what is drawn of each piece, and in which sizes."""
        for piece in self.order.pieces:
            for after, sizes in ((False, (REPORT_PX,)), (True, SIZES)):
                made = self._impression(piece, after=after)
                if isinstance(made, Impression):
                    yield made, sizes

    def _drawings(self) -> Iterator[partial[tuple[Picture, ...]]]:
        for one, sizes in self._asked():
            for longest_px in sizes:
                with contextlib.suppress(InkaccordError):  # it is said when it is asked for
                    yield one.drawing(longest_px)

    def _shown(self, piece: str, longest_px: int, *, after: bool) -> Shown:
        key = (piece, after, longest_px)
        if key not in self._drawn:
            self._drawn[key] = self._draw(piece, longest_px, after=after)
        return self._drawn[key]

    def _draw(self, piece: str, longest_px: int, *, after: bool) -> Shown:
        made = self._impression(piece, after=after)
        if isinstance(made, str):
            return Shown(why=made)
        try:
            pages = made.pages(longest_px)
        except InkaccordError as problem:
            return Shown(why=str(problem))
        estimated = not self.known.pair(self.order.jobs[piece].pair).is_read
        return Shown(pages, estimated=estimated, legend=made.legend)

    def _impression(self, piece: str, *, after: bool) -> Impression | str:
        """Return the piece recoloured for the screen, or why it can't be."""
        key = (piece, after)
        if key not in self._recoloured:
            try:
                self._recoloured[key] = self._recolour(piece, after=after)
            except InkaccordError as problem:
                self._recoloured[key] = str(problem)
        return self._recoloured[key]

    def _recolour(self, piece: str, *, after: bool) -> Impression | str:
        artwork = next((it for it in self.run.artworks if it.piece == piece), None)
        if artwork is None:
            return f"no picture: {self._fault(piece)}"
        pair = self.order.jobs[piece].pair
        facts = self.known.pair(pair)
        data = self._shown_pages(piece)
        inks: list[BrandInk] = []
        missing: list[str] = []
        if after:
            known = translations_on(self.run, self.order, pair)
            missing = [colour for colour in artwork.brand_colours if colour not in known]
            for colour, translation in known.items():
                tints = [(tint.tint, tint.build) for tint in translation.tints]
                inks += [
                    translated(paint, translation.build, tints, translation.predicted_lab)
                    for paint in self.order.colours[colour].in_artwork
                ]
        else:
            spots = self.known.alternates(piece)
            asked = [
                untouched(paint, facts.drive, spots)
                for colour in self.order.colours.values()
                for paint in colour.in_artwork
            ]
            inks += [ink for ink in asked if ink is not None]
        fault = self._fault(piece) if after else ""
        if missing or (fault and not artwork.brand_colours):
            return f"not matched: {fault}" if fault else f"waits for {', '.join(missing)}"
        return impression(
            data,
            artwork,
            drive=facts.drive,
            model=self._prints_of(pair),
            inks=inks,
            spots=self.known.alternates(piece),
            finishes=[_shown(self.order, name, pair.stock) for name in artwork.finishes],
            bare=self.order.stocks[pair.stock].bare,
            recall=facts.recall,
        )

    def _prints_of(self, pair: Pair) -> PrintsKept:
        if pair not in self._prints:
            self._prints[pair] = PrintsKept(self.known.pair(pair).model)
        return self._prints[pair]

    def _shown_pages(self, piece: str) -> bytes:
        """Return a piece's artwork; of one with records, the first."""
        data, job = self.known.artwork(piece), self.order.jobs[piece]
        return data if job.piece.records is None else first_pages(data, job.piece.sides_of(1))

    def _fault(self, piece: str) -> str:
        """Return why a piece can't be made; empty where it can."""
        return next(
            (
                recorded.why
                for recorded in self.run.pieces
                if recorded.name == piece and recorded.status is PieceStatus.FAILED
            ),
            "",
        )


def _shown(order: Order, name: str, stock: str) -> ShownFinish:
    finish = order.finishes[name]
    under = order.stocks[stock].under == name
    return ShownFinish(name, finish.finish.words, finish.plates, finish.finish.prints, under)


def translations_on(run: Run, order: Order, pair: Pair) -> dict[str, Translation]:
    """Return the translations on a pair of the order's colours, by colour."""
    return {
        translation.colour: translation
        for translation in run.translations
        if translation.pair == pair and translation.colour in order.colours
    }
