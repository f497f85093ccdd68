"""The report's third part: every brand colour, its builds, and how they agree."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from inkaccord.colour.pairs import Pair
from inkaccord.knowledge.values import Translation
from inkaccord.order.model import Order
from inkaccord.report.impressions import build_sent
from inkaccord.report.screen import ScreenColour, screen_colour
from inkaccord.report.view_trades import TradeView, trade_view
from inkaccord.run.bench import Bench
from inkaccord.run.record import Run
from inkaccord.run.verdicts import ColourAgreement, agreement_of


@dataclass(frozen=True)
class Row:
    """One colour on one pair."""

    pair: str
    pieces: tuple[str, ...]
    translation: Translation
    printed: ScreenColour
    paper: ScreenColour
    before: ScreenColour | None
    """What the artwork's own build gives on this pair; None where that isn't known."""
    estimated: bool
    """Whether ``before`` is an estimate: the pair was never read."""


@dataclass(frozen=True)
class ColourView:
    """One brand colour."""

    name: str
    note: str
    aim_words: str
    aim: ScreenColour | None
    rows: tuple[Row, ...]
    waiting: tuple[str, ...]
    """Pairs on which it isn't known yet."""
    inks_unknown: tuple[str, ...]
    """Pieces that carry it, of which it isn't known in what they print."""
    agreement: ColourAgreement
    trades: TradeView | None
    """None where every pair reaches the colour."""

    @property
    def off_screen(self) -> bool:
        """Whether a colour here lies outside what a screen shows."""
        shown = [row.printed for row in self.rows] + ([self.aim] if self.aim else [])
        return any(not it.shown for it in shown)


def colour_views(run: Run, order: Order, known: Bench) -> tuple[ColourView, ...]:
    """Return every brand colour of an order as its run left it."""
    papers = {
        pair: screen_colour(known.pair(pair).model.paper_lab)
        for pair in {it.pair for it in run.translations}
    }
    return tuple(_colour_view(run, order, known, papers, name) for name in order.colours)


def _colour_view(
    run: Run,
    order: Order,
    known: Bench,
    papers: Mapping[Pair, ScreenColour],
    name: str,
) -> ColourView:
    colour = order.colours[name]
    rows: list[Row] = []
    seen: set[str] = set()
    for translation in run.translations:
        if translation.colour == name:
            pieces = tuple(
                piece.name
                for piece in run.pieces
                if name in piece.colours and piece.pair == translation.pair and piece.inks_known
            )
            rows.append(
                Row(
                    pair=str(translation.pair),
                    pieces=pieces,
                    translation=translation,
                    printed=screen_colour(translation.predicted_lab),
                    paper=papers[translation.pair],
                    before=_before(order, known, translation, pieces),
                    estimated=bool(pieces) and not known.pair(translation.pair).is_read,
                )
            )
            seen.update(pieces)
    carrying = [piece for piece in run.pieces if name in piece.colours]
    waiting = [str(it.pair) for it in carrying if it.inks_known and it.name not in seen]
    return ColourView(
        name=name,
        note=colour.note,
        aim_words=colour.aim.words,
        aim=aim_on_screen(order, run, name),
        rows=tuple(rows),
        waiting=tuple(dict.fromkeys(waiting)),
        inks_unknown=tuple(it.name for it in carrying if not it.inks_known),
        agreement=agreement_of(run, name),
        trades=trade_view(name, [it for it in run.trades if it.colour == name], order),
    )


def aim_on_screen(order: Order, run: Run, colour: str) -> ScreenColour | None:
    """Return what a colour should look like; None while that is not known."""
    aims = [it.aim_lab for it in run.translations if it.colour == colour]
    known = [lab for lab in (order.colours[colour].aim.lab, *aims) if lab is not None]
    return screen_colour(known[0]) if known else None


def _before(
    order: Order, known: Bench, translation: Translation, pieces: tuple[str, ...]
) -> ScreenColour | None:
    """Return what the artwork's own build of a colour gives on the pair of these pieces."""
    if not pieces:
        return None
    facts = known.pair(translation.pair)
    spots = known.alternates(pieces[0])
    for paint in order.colours[translation.colour].in_artwork:
        build = build_sent(paint, facts.drive, spots)
        if build is not None:
            return screen_colour(facts.model.predict_lab(np.array([build.values]))[0])
    return None
