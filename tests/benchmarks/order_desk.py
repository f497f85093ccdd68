"""The desk at which a drawn order is run, round after round, and judged at its end."""

import copy
import datetime
from dataclasses import replace

import numpy as np
import yaml
from drawn_orders import DATE
from simulated_person import Person

from inkaccord.builtin import PLUGINS
from inkaccord.colour.agreement.verdicts import Verdict
from inkaccord.colour.builds import Build
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.colour.pairs import Pair
from inkaccord.colour.picks import fuse_picked
from inkaccord.order.loading import load_order
from inkaccord.order.vendors import Tints
from inkaccord.pipeline import shelve
from inkaccord.plugins import load_plugins
from inkaccord.record import PieceStatus
from inkaccord.sheets.savings import cost_of
from inkaccord.shelf.store import Shelf
from inkaccord.stages.bench import Bench
from inkaccord.stages.release import decide
from inkaccord.stages.results import (
    Agreement,
    Evidence,
    Recoloured,
    SamplePlan,
    StepKind,
    Translations,
)

MOST_ROUNDS, MOST_RUNS = 8, 24


def _plain_tints(loaded):
    """Return an order whose tints are scaled: they take a fifth of the time and decide nothing."""
    vendors = {
        name: it.model_copy(update={"tints": Tints.SCALED})
        for name, it in loaded.order.vendors.items()
    }
    return replace(loaded, order=loaded.order.model_copy(update={"vendors": vendors}))


class Desk:
    """An order with its shelf, its person, and the last run's results."""

    def __init__(self, drawn, folder):
        self.drawn, self.folder = drawn, folder
        moment = datetime.datetime.combine(DATE, datetime.time(), datetime.UTC)
        self.shelf = Shelf.open(folder / "shelf.sqlite", clock=lambda: moment)
        self.plugins = load_plugins(built_in=PLUGINS)
        self.kinds = self.plugins.vendor_kinds()
        self.person = Person(drawn, self.shelf)
        self.data, self.lines = copy.deepcopy(drawn.data), {}
        self.questions, self.needless = [], 0
        self.bench = self.translations = self.agreement = self.plan = self.standings = None

    def run(self, data, collected, lines=()):
        """Run the stages that decide about colour, and shelve what they plan."""
        loaded = _plain_tints(load_order(self.write_order(data, lines), self.kinds))
        self.bench = Bench(
            loaded=loaded, out=self.folder / "out", shelf=self.shelf, plugins=self.plugins
        )
        asked = {"order": loaded.order, "bench": self.bench, "collected": collected}
        first = self.plugins.first
        self.translations = first("inkaccord_translate", Translations, **asked)
        asked["translations"] = self.translations
        self.agreement = first("inkaccord_agree", Agreement, **asked)
        asked["agreement"] = self.agreement
        self.plan = first("inkaccord_plan_samples", SamplePlan, **asked)
        shelve(self.plan, self.shelf)
        self.standings = decide(
            loaded.order, collected, self.translations, self.agreement, Recoloured(), {}
        )

    def write_order(self, data, lines):
        """Write the order file, with the lines that were pasted at its end. Return its path."""
        path = self.folder / "order.yaml"
        text = yaml.safe_dump(data, sort_keys=False, allow_unicode=True)
        path.write_text("".join([text, *(f"{line}\n" for line in lines)]), "utf-8")
        return path

    @property
    def all_ready(self):
        return all(it.status is PieceStatus.READY for it in self.standings.values())

    def play(self):
        """Go round until the order ends, and judge it."""
        self._earlier_order()
        rounds, why = 0, ""
        for _ in range(MOST_RUNS):
            self.run(self.data, self.drawn.collected, self.lines.values())
            if self.all_ready:
                break
            if self._answer():
                continue
            sheets = [it.sheet for it in self.plan.sheets]
            new = [sheet for sheet in sheets if sheet.id not in self.person.printed]
            if new and rounds == MOST_ROUNDS:
                why = "rounds are used up"
                break
            rounds += bool(new)
            for sheet in new:
                self.person.print_sheet(sheet, rounds)
            if not self._other_steps(rounds) and not new:
                why = "nothing new is asked that a person could do"
                break
        else:
            why = "runs are used up"
        return self._counted(rounds, why)

    def _earlier_order(self):
        """Let a device be read for another order, 400 days ago."""
        drawn = self.drawn
        if not drawn.known_before:
            return
        pieces = {
            k: v for k, v in drawn.data["pieces"].items() if v["device"] == drawn.known_before
        }
        data = {**drawn.data, "order": "earlier", "pieces": pieces}
        data["date"] = DATE - datetime.timedelta(days=405)
        wanted = {colour for piece in pieces for colour in drawn.carries[piece]}
        # An aim that this device knows nothing of was another then; any will do.
        data["colours"] = {
            name: it | {"aim": {"lab": [50, 0, 0]} if "lab" not in it["aim"] else it["aim"]}
            for name, it in drawn.data["colours"].items()
            if name in wanted
        }
        collected = drawn.collected
        artworks = tuple(it for it in collected.artworks if it.piece in pieces)
        self.run(data, collected.model_copy(update={"artworks": artworks}))
        earlier = Person(drawn, self.shelf)
        for it in self.plan.sheets:
            earlier.print_sheet(it.sheet, "earlier", before=True)

    def _answer(self):
        """Answer every open question, by writing the lines of a choice into the order."""
        asked = [step for step in self.plan.steps if step.kind is StepKind.QUESTION]
        for step in asked:
            self.questions.append(step.text)
            self.needless += self._is_needless(step)
            choice = self.person.choose(step)
            for it in choice.answers:
                self._write(it)
        return bool(asked)

    def _write(self, it):
        """Write the line of an answer: a new one at the end, else in the place of the old one."""
        at = self.data
        for name in it.field[:-1]:
            at = at.get(name, {})
        if it.field[-1] in at:
            at[it.field[-1]] = it.value
        else:
            self.lines[it.field] = it.line

    def _is_needless(self, step):
        """Tell whether all that a question doubts is really within its limits."""
        truth = self._truth()
        mine = [
            it
            for it in self.agreement.distances
            if it.verdict is not Verdict.INSIDE
            and it.colour in step.colours
            and {it.piece, it.other} & set(step.pieces)
        ]
        apart = [self._apart(it, truth) for it in mine]
        return bool(mine) and all(
            true is not None and true <= it.tolerance for true, it in zip(apart, mine, strict=True)
        )

    def _other_steps(self, visit):
        """Read and pick what is asked beside printing. Return whether anything was new."""
        new = False
        for step in self.plan.steps:
            if step.sheet is None or step.sheet not in self.person.printed:
                continue
            if self.drawn.reads and "--pick" not in step.command:
                new |= self.person.read(step.sheet, visit)
                continue
            for colour in step.colours:
                new |= self.person.pick(step.sheet, colour, visit)
        return new

    # ----------------------------------------------------------------------------- the judge

    def _counted(self, rounds, why):
        ready = [name for name, it in self.standings.items() if it.status is PieceStatus.READY]
        truth = self._truth()
        return self._spent(rounds) | {
            "ended": self.all_ready,
            "why": why,
            "needless": self.needless,
            "still_asked": len(self.plan.steps) if self.all_ready else 0,
            "pieces": len(self.standings),
            "ready": len(ready),
            "wrong": self._wrong(ready, truth),
            "wrongly_held": self._wrongly_held(ready, truth),
            "to_thing": self._to_thing(ready, truth),
            "bounds": self._bounds(truth),
        }

    def _spent(self, rounds):
        cost = cost_of(self.person.printed.values())
        return {
            "number": self.drawn.number,
            "kind": self.drawn.kind,
            "rounds": rounds,
            "sheets": len(self.person.printed),
            "pages": cost.pages,
            "swatches": cost.swatches,
            "area_cm2": round(cost.area_cm2, 1),
            "ink_cm2": round(cost.ink_cm2, 1),
            "questions": len(self.questions),
        }

    def _bounds(self, truth):
        """Return (true error, stated bound), ΔE00, of every colour that was read."""
        return [
            (
                round(float(delta_e_2000(truth[it.colour, it.pair], it.predicted_lab)), 2),
                round(it.uncertainty, 2),
            )
            for it in self.translations.known
            if it.evidence is Evidence.READ
        ]

    def _truth(self):
        """Return (colour, pair) → the true CIELAB of its build, the device in its usual state."""
        return {
            (it.colour, it.pair): self._lab(it.pair, it.build) for it in self.translations.known
        }

    def _lab(self, pair: Pair, build: Build):
        return self.drawn.lab(pair.device, pair.stock, [build.values])[0]

    def _aim(self, colour):
        """Return the true aim: a number, what a build prints, or what was picked."""
        order = self.bench.order
        aim = order.colours[colour].aim
        if aim.build is not None:
            return self._lab(order.pair(aim.on), aim.build)
        if aim.lab is not None:
            return np.array(aim.lab)
        labs, bounds = [], []
        for pair in order.pairs_needed():
            known = self.bench.pair(pair)
            picked = known.picked(colour) if known.is_read else None
            if picked is not None:
                labs.append(self._lab(pair, picked.build))
                bounds.append(float(np.hypot(picked.bound, known.bound_of(picked.build))))
        return fuse_picked(labs, bounds).lab if labs else None

    def _apart(self, it, truth):
        """Return the true ΔE00 behind a distance of the agreement; None where it has no truth."""
        pair_of = self.bench.order.pair_of
        mine = truth[it.colour, pair_of(it.piece)]
        other = self._aim(it.colour) if it.other is None else truth[it.colour, pair_of(it.other)]
        return None if other is None else float(delta_e_2000(mine, other))

    def _wrong(self, ready, truth):
        """Name the released pieces with a distance that was 'surely inside' and is not."""
        wrong = {}
        for it in self.agreement.distances:
            if it.verdict is not Verdict.INSIDE or not {it.piece, it.other or it.piece} <= set(
                ready
            ):
                continue
            apart = self._apart(it, truth)
            if apart is not None and apart > it.tolerance:
                said = f"{it.colour} to {it.other or 'aim'}: {apart:.2f}, limit {it.tolerance:g}"
                told = f"told {it.delta_e_00:.2f} ±{it.uncertainty:.2f}"
                for piece in {it.piece, it.other} - {None}:
                    wrong.setdefault(piece, f"{piece}: {said}, {told}")
        return sorted(wrong.values())

    def _wrongly_held(self, ready, truth):
        """Name the pieces that are held although all that they carry really agrees."""
        order = self.bench.order
        unknown = {(it.colour, it.pair) for it in self.translations.unknown}
        held = []
        for piece, colours in self.drawn.carries.items():
            pair = order.pair_of(piece)
            if piece in ready or any((colour, pair) in unknown for colour in colours):
                continue
            mine = [it for it in self.agreement.distances if piece in {it.piece, it.other}]
            apart = [(self._apart(it, truth), it.tolerance) for it in mine]
            if all(true is None or true <= limit for true, limit in apart):
                held.append(f"{piece}: {self.standings[piece].why}")
        return held

    def _to_thing(self, ready, truth):
        """Return the true ΔE00 of released colours that were judged by eye from the thing."""
        order = self.bench.order
        found = []
        for piece in ready:
            for colour in self.drawn.carries[piece]:
                pair = order.pair_of(piece)
                if order.colours[colour].aim.by_eye is not None and (colour, pair) in truth:
                    thing = self.drawn.things[colour]
                    found.append(round(float(delta_e_2000(truth[colour, pair], thing)), 2))
        return found
