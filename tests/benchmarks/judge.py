"""The judge knows what the devices really print, and compares what a run said with that."""

import numpy as np

from inkaccord.colour.agreement.verdicts import Verdict
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.picks import fuse_picked
from inkaccord.knowledge.values import Evidence


class Judge:
    """Judges one run of a drawn order; every device in its usual state."""

    def __init__(self, drawn, bench, translations, agreement):
        self.drawn, self.bench = drawn, bench
        self.translations, self.agreement = translations, agreement
        self.order = bench.order
        self._truth = {
            (it.colour, it.pair): self._lab(it.pair, it.build) for it in translations.known
        }

    def wrongly_released(self, ready):
        """Name released pieces with a distance that was 'surely inside' its limit and is not."""
        wrong = {}
        for it in self.agreement.distances:
            out = it.piece in ready and (it.other is None or it.other in ready)
            apart = self._apart(it) if out and it.verdict is Verdict.INSIDE else None
            if apart is not None and apart > it.tolerance:
                said = f"{it.colour} to {it.other or 'aim'}: {apart:.2f}, limit {it.tolerance:g}"
                told = f"told {it.delta_e_00:.2f} ±{it.uncertainty:.2f}"
                for piece in {it.piece, it.other} - {None}:
                    wrong.setdefault(piece, f"{piece}: {said}, {told}")
        return sorted(wrong.values())

    def taken_on_trust(self, ready):
        """Name released pieces that a person took as they probably are, and that are not so."""
        wrong = set()
        for it in self.agreement.distances:
            if it.accepted is None or it.verdict is not Verdict.UNCERTAIN:
                continue
            apart = self._apart(it)
            if it.accepted in ready and apart is not None and apart > it.tolerance:
                wrong.add(it.accepted)
        return sorted(wrong)

    def wrongly_held(self, ready):
        """Return the held pieces all of whose colours are known and really agree."""
        unknown = {(it.colour, it.pair) for it in self.translations.unknown}
        held = []
        for piece, colours in self.drawn.carries.items():
            pair = self.order.jobs[piece].pair
            if piece in ready or any((colour, pair) in unknown for colour in colours):
                continue
            if self._agree(it for it in self.agreement.distances if piece in {it.piece, it.other}):
                held.append(piece)
        return held

    def is_needless(self, question):
        """Tell whether all that a question doubts is really within its limits."""
        doubted = [
            it
            for it in self.agreement.distances
            if it.verdict is not Verdict.INSIDE
            and it.colour in question.colours
            and {it.piece, it.other} & set(question.pieces)
        ]
        return bool(doubted) and self._agree(doubted)

    def to_the_thing(self, ready):
        """Return how far, ΔE00, released colours that were judged by eye lie from the thing."""
        found = []
        for piece in ready:
            pair = self.order.jobs[piece].pair
            for colour in self.drawn.carries[piece]:
                if self.order.colours[colour].aim.by_eye and (colour, pair) in self._truth:
                    thing = self.drawn.things[colour]
                    apart = float(delta_e_2000(self._truth[colour, pair], thing))
                    found.append(round(apart, 2))
        return found

    def bounds(self):
        """Return (true error, stated bound), ΔE00, of every colour that was read."""
        return [
            (
                round(float(delta_e_2000(self._truth[it.colour, it.pair], it.predicted_lab)), 2),
                round(it.uncertainty, 2),
            )
            for it in self.translations.known
            if it.evidence is Evidence.READ
        ]

    def _agree(self, distances):
        """Tell whether distances are really within their limits; one without truth agrees."""
        apart = ((self._apart(it), it.tolerance) for it in distances)
        return all(true is None or true <= limit for true, limit in apart)

    def _apart(self, it):
        """Return the true ΔE00 behind a distance; None where it has no truth."""
        mine = self._truth[it.colour, self.order.jobs[it.piece].pair]
        if it.other is not None:
            other = self._truth[it.colour, self.order.jobs[it.other].pair]
        else:
            other = self._aim(it.colour)
        return None if other is None else float(delta_e_2000(mine, other))

    def _aim(self, colour):
        """Return the true aim: a number, what a build prints, or what was picked looks like."""
        aim = self.order.colours[colour].aim
        if aim.build is not None:
            return self._lab(self.order.pair(aim.on), aim.build)
        if aim.lab is not None:
            return np.array(aim.lab)
        labs, bounds = [], []
        for pair in self.order.pairs_needed():
            known = self.bench.pair(pair)
            picked = known.picked(colour) if known.is_read else None
            if picked is not None:
                labs.append(self._lab(pair, picked.build))
                bounds.append(float(np.hypot(picked.bound, known.bound_of(picked.build))))
        return fuse_picked(labs, bounds).lab if labs else None

    def _lab(self, pair, build):
        return self.drawn.lab(pair.device, pair.stock, [build.values])[0]
