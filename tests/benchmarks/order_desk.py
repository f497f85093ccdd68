"""The desk at which a drawn order is run, round after round, until it ends."""

import copy
import datetime
from dataclasses import replace

import yaml
from drawn_orders import DATE
from judge import Judge
from simulated_person import Person

from inkaccord.builtin import PLUGINS
from inkaccord.errors import InkaccordError
from inkaccord.knowledge.holdings import gather
from inkaccord.order.loading import load_order
from inkaccord.order.vendors import Tints
from inkaccord.plugins import load_plugins
from inkaccord.recall.memory import Memory
from inkaccord.run.plan import StepKind
from inkaccord.run.recoloured import Recoloured
from inkaccord.run.record import PieceStatus
from inkaccord.sheets.savings import cost_of
from inkaccord.shelf.store import Shelf
from inkaccord.stages.release import decide
from inkaccord.units import inches
from inkaccord.workbench import Workbench

MOST_ROUNDS, MOST_RUNS = 8, 24


def _plain_tints(loaded):
    """Return an order whose tints are scaled: they take a fifth of the time and decide nothing."""
    vendors = {
        name: it.model_copy(update={"tints": Tints.SCALED})
        for name, it in loaded.order.vendors.items()
    }
    return replace(loaded, order=loaded.order.model_copy(update={"vendors": vendors}))


def paper_of(sheet):
    """Return the paper that a sheet's pages take, cm²."""
    return sheet.pages * sheet.size.width_pt * sheet.size.height_pt / inches(1 / 2.54) ** 2


class Desk:
    """An order with its shelf, its person, and the last run's results."""

    def __init__(self, drawn, folder):
        self.drawn, self.folder = drawn, folder
        moment = datetime.datetime.combine(DATE, datetime.time(), datetime.UTC)
        self.shelf = Shelf.open(folder / "shelf.sqlite", clock=lambda: moment)
        self.plugins = load_plugins(built_in=PLUGINS)
        self.kinds = self.plugins.vendor_kinds()
        self.person = Person(drawn, self.shelf)
        self.memory = Memory(folder / "memory")
        self.data, self.lines = copy.deepcopy(drawn.data), {}
        self.questions, self.needless = [], 0
        self.bench = self.translations = self.agreement = self.plan = self.standings = None

    def run(self, data, collected, lines=()):
        """Run the stages that decide about colour, and shelve what they plan."""
        loaded = _plain_tints(load_order(self.write_order(data, lines), self.kinds))
        order = loaded.order
        self.bench = bench = Workbench(
            loaded, gather(self.shelf, order, order.pairs_needed()), recall=self.memory
        )
        stages = self.plugins
        self.translations = stages.translate(order, collected, bench)
        self.agreement = stages.agree(order, collected, self.translations, bench)
        self.plan = stages.plan_samples(order, collected, self.translations, self.agreement, bench)
        self.shelf.plan((it.sheet for it in self.plan.sheets), self.plan.withdrawn)
        self.standings = decide(
            loaded.order, collected, self.translations, self.agreement, Recoloured(), {}, {}
        )

    def write_order(self, data, lines):
        """Write the order file, with the lines that were pasted at its end. Return its path."""
        path = self.folder / "order.yaml"
        text = yaml.safe_dump(data, sort_keys=False, allow_unicode=True)
        path.write_text("".join([text, *(f"{line}\n" for line in lines)]), "utf-8")
        return path

    @property
    def all_ready(self):
        ready = [it.status is PieceStatus.READY for it in self.standings.values()]
        return bool(ready) and all(ready)

    def play(self):
        """Go round until the order ends, and judge it."""
        self._earlier_order()
        rounds, why = 0, ""
        for _ in range(MOST_RUNS):
            try:
                self.run(self.data, self.drawn.collected, self.lines.values())
            except InkaccordError as problem:
                self.standings, why = {}, f"the run fails: {problem}"
                break
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
            self.needless += self._judge().is_needless(step)
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

    def _other_steps(self, visit):
        """Read and pick what is asked beside printing. Return whether anything was new."""
        new = False
        for step in self.plan.steps:
            if step.sheet is None or step.sheet not in self.person.printed:
                continue
            if self.drawn.reads and step.command.startswith("inkaccord record"):
                new |= self.person.read(step.sheet, visit)
                continue
            for colour in step.colours:
                new |= self.person.pick(step.sheet, colour, visit)
        return new

    def _counted(self, rounds, why):
        return self._spent(rounds) | self.judged() | {"ended": self.all_ready, "why": why}

    def judged(self):
        """Return what became of the pieces, by the judge."""
        ready = [name for name, it in self.standings.items() if it.status is PieceStatus.READY]
        judge = self._judge()
        return {
            "needless": self.needless,
            "still_asked": len(self.plan.steps) if self.all_ready else 0,
            "pieces": len(self.drawn.carries),
            "ready": len(ready),
            "wrong": judge.wrongly_released(ready),
            "on_trust": judge.taken_on_trust(ready),
            "wrongly_held": judge.wrongly_held(ready),
            "to_thing": judge.to_the_thing(ready),
            "bounds": judge.bounds(),
        }

    def _judge(self):
        return Judge(self.drawn, self.bench, self.translations, self.agreement)

    def _spent(self, rounds):
        cost = cost_of(self.person.printed.values())
        return {
            "number": self.drawn.number,
            "kind": self.drawn.kind,
            "rounds": rounds,
            "sheets": len(self.person.printed),
            "pages": cost.pages,
            "swatches": cost.swatches,
            "paper_cm2": round(sum(map(paper_of, self.person.printed.values())), 1),
            "area_cm2": round(cost.area_cm2, 1),
            "ink_cm2": round(cost.ink_cm2, 1),
            "questions": len(self.questions),
        }
