"""The report's third part: every brand colour, its builds, and how they agree."""

from dataclasses import dataclass

import numpy as np

from inkaccord.artwork.objects.alternates import spot_alternates
from inkaccord.colour.agreement.verdicts import Verdict
from inkaccord.order.model import Order
from inkaccord.record import RecordedTranslation, Run
from inkaccord.report.agreement import ColourAgreement, agreement_of
from inkaccord.report.impressions import as_sent
from inkaccord.report.known import Known
from inkaccord.report.screen import ScreenColour, screen_colour
from inkaccord.stages.results import Trade


@dataclass(frozen=True)
class Row:
    """One colour on one pair."""

    pair: str
    pieces: tuple[str, ...]
    it: RecordedTranslation
    printed: ScreenColour
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
    agreement: ColourAgreement
    trades: tuple[Trade, ...]

    @property
    def off_screen(self) -> bool:
        """Whether a colour here lies outside what a screen shows."""
        shown = [row.printed for row in self.rows] + ([self.aim] if self.aim else [])
        return any(not it.shown for it in shown)

    @property
    def verdict(self) -> Verdict | None:
        """The verdict that says most against the colour; None where nothing is compared."""
        found = [it for it in (self.agreement.worst, self.agreement.worst_to_aim) if it]
        order = [Verdict.OUTSIDE, Verdict.UNCERTAIN, Verdict.INSIDE]
        return min((it.verdict for it in found), key=order.index, default=None)


def colour_views(run: Run, order: Order, known: Known) -> tuple[ColourView, ...]:
    """Return every brand colour of an order as its run left it."""
    return tuple(_colour_view(run, order, known, name) for name in order.colours)


def _colour_view(run: Run, order: Order, known: Known, name: str) -> ColourView:
    colour = order.colours[name]
    rows: list[Row] = []
    seen: set[str] = set()
    for it in run.translations:
        if it.colour == name:
            pieces = tuple(
                piece.name
                for piece in run.pieces
                if name in piece.colours and _is_on(order, piece.name, it)
            )
            rows.append(
                Row(
                    pair=_pair_text(it),
                    pieces=pieces,
                    it=it,
                    printed=screen_colour(it.predicted_lab),
                    before=_before(order, known, name, pieces),
                    estimated=bool(pieces) and not known.pair(order.pair_of(pieces[0])).is_read,
                )
            )
            seen.update(pieces)
    waiting = [
        str(order.pair_of(piece.name))
        for piece in run.pieces
        if name in piece.colours and piece.name not in seen
    ]
    aims = [it.aim_lab for it in run.translations if it.colour == name and it.aim_lab is not None]
    return ColourView(
        name=name,
        note=colour.note,
        aim_words=colour.aim.words,
        aim=screen_colour(aims[0]) if aims else None,
        rows=tuple(rows),
        waiting=tuple(dict.fromkeys(waiting)),
        agreement=agreement_of(run, order, name),
        trades=tuple(it for it in run.trades if it.colour == name),
    )


def _is_on(order: Order, piece: str, it: RecordedTranslation) -> bool:
    pair = order.pair_of(piece)
    return (pair.device, pair.stock, pair.setting) == (it.device, it.stock, it.setting)


def _pair_text(it: RecordedTranslation) -> str:
    return f"{it.device}@{it.stock}" + (f"/{it.setting}" if it.setting else "")


def _before(
    order: Order, known: Known, colour: str, pieces: tuple[str, ...]
) -> ScreenColour | None:
    """Return what the artwork's own build of a colour gives on the pair of these pieces."""
    if not pieces:
        return None
    facts = known.pair(order.pair_of(pieces[0]))
    spots = spot_alternates(known.artwork(pieces[0]))
    for paint in order.colours[colour].in_artwork:
        build = as_sent(paint, facts.drive, spots)
        if build is not None:
            return screen_colour(facts.model.predict_lab(np.array([build.values]))[0])
    return None
